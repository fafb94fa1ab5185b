package fit

import (
	"math"
	"slices"
)

// grow tries a line, a cubic, and splines with ever more breaks until no misfit
// stands out from the noise, and no further break is worth its while.
func (s *span) grow(unit float64, opt Options) bool {
	t := &s.thin
	w := slices.Clone(t.w)
	s.line = true
	// A round piece has no line: what runs once round runs nowhere.
	if s.refine(w, 4) && s.straightEnough(w, unit, opt) {
		if try, _, ok := s.better(2*earned, func(s *span) {
			s.line = false
			s.breaks = []float64{t.u[0], t.u[len(t.u)-1]}
		}, opt); ok {
			try.missed = false
			*s = *try
			return s.refine(w, 4)
		}
		return true
	}
	s.line = false
	copy(w, t.w)
	s.breaks = []float64{t.u[0], t.u[len(t.u)-1]}
	least := leastBreak * unit
	if s.ripple {
		least = waveBreak * unit
	}
	s.missed = true
	for len(s.breaks) < mostBreaks {
		if !s.refine(w, 3) {
			return false
		}
		room := func(u float64) bool {
			a, b := s.interval(u)
			return b-a >= 2*least
		}
		u, bad := s.misfit(w, unit, opt, opt.misfit(), room)
		if !bad && least > leastBreak*unit {
			if _, bad := s.misfit(w, unit, opt, opt.misfit(), nil); bad {
				least = leastBreak * unit // a bend that is no wave
				continue
			}
		}
		if !bad {
			rough := opt
			rough.Smooth = math.Min(1, opt.Smooth+1)
			_, s.missed = s.misfit(w, unit, rough, rough.misfit(), nil)
			u, found := s.misfit(w, unit, opt, 1.5, room)
			if !found {
				break
			}
			try, w2, ok := s.better(earned, func(s *span) { s.split(u, least) }, opt)
			if !ok {
				break
			}
			try.missed = s.missed
			*s, w = *try, w2
			continue
		}
		a, b := s.split(u, least)
		// What a stiffer curve took for outliers may be the shape: a redescending
		// weight never looks at it again by itself.
		for j, v := range t.u {
			if v >= a && v <= b {
				w[j] = t.w[j]
			}
		}
	}
	return s.refine(w, 4)
}

// straightEnough reports that no misfit of the line stands out from the noise.
func (s *span) straightEnough(w []float64, unit float64, opt Options) bool {
	_, bad := s.misfit(w, unit, opt, opt.misfit(), nil)
	return !bad
}

// split adds a break near u, at least least mm from those beside it, and returns
// these.
func (s *span) split(u, least float64) (a, b float64) {
	a, b = s.interval(u)
	s.insert(math.Max(a+least, math.Min(b-least, 0.5*u+0.25*(a+b))))
	return a, b
}

// better makes a copy of the span freer by change, fits it and reports whether
// the sum of squares gains by least: only then is the freedom earned.
func (s *span) better(least float64, change func(*span), opt Options) (*span, []float64, bool) {
	try := *s
	try.thin.u = slices.Clone(s.thin.u)
	change(&try)
	w := slices.Clone(s.thin.w)
	if !try.refine(w, 3) {
		return nil, nil, false
	}
	gain := s.cost() - try.cost()
	f := opt.factor()
	return &try, w, gain*s.inside*s.inside > least*f*f
}

// cost is the sum of squared residuals over the variance of the noise, as if
// its independent stretches were counted; no residual counts for more than the
// three standard deviations of an outlier.
func (s *span) cost() (sum float64) {
	t := &s.thin
	n := len(t.p)
	sd := s.level.sd
	for j, q := range t.p {
		p, d := s.at(t.u[j])
		r := math.Min(math.Abs(d.Cross(q.Sub(p)))/math.Max(d.Len(), 1e-12), 3*sd)
		sum += t.w[j] * r * r / (sd * sd)
	}
	return sum * (t.u[n-1] - t.u[0]) / float64(n) / s.level.tau
}

// pieces counts the polynomials of the span.
func (s *span) pieces() int { return len(s.breaks) - 1 }

// interval returns the breaks round u.
func (s *span) interval(u float64) (a, b float64) {
	k := 0
	for k < len(s.breaks)-2 && s.breaks[k+1] < u {
		k++
	}
	return s.breaks[k], s.breaks[k+1]
}

// misfit looks for the stretch whose mean residual stands out most from the
// noise, by more than z standard errors, over several lengths, and returns its
// middle. Only places where allowed says yes count.
func (s *span) misfit(w []float64, unit float64, opt Options, z float64, allowed func(float64) bool) (at float64, bad bool) {
	t := &s.thin
	n := len(t.p)
	sum, sw := make([]float64, n+1), make([]float64, n+1)
	// Fray is uneven over longer ways than its measured correlation shows.
	fray := 0.0
	if s.inside < 1 {
		fray = 0.4 * s.level.sd * opt.factor()
	}
	// The cubics that follow spend the other half of the tolerance.
	least := math.Max(fray, 0.5*opt.tolerance()*unit)
	// An outlier counts for little, but half a stretch of them for a misfit, also where
	// the noise is far below the tolerance.
	limit := math.Max(3*s.level.sd, 2*least)
	for j, q := range t.p {
		p, d := s.at(t.u[j])
		r := d.Cross(q.Sub(p)) / d.Len()
		if s.line || len(s.breaks) == 2 {
			r = math.Max(-4*limit, math.Min(4*limit, r))
		} else {
			r = math.Max(-limit, math.Min(limit, r))
		}
		g := t.w[j]
		if r > 0 {
			g *= s.inside
		}
		sum[j+1], sw[j+1] = sum[j]+g*r, sw[j]+g
	}
	step := (t.u[n-1] - t.u[0]) / float64(max(1, n-1))
	worst := z
	for _, b := range []float64{12, 24, 48, 96, 192} {
		m := int(b * unit / step)
		if m < 2 {
			continue
		}
		if m > n {
			break
		}
		se := s.level.sd * math.Sqrt(s.level.tau/(b*unit))
		for j := 0; j+m <= n; j += max(1, m/8) {
			g := sw[j+m] - sw[j]
			if g < 0.1*s.inside*float64(m) {
				continue
			}
			mean := math.Abs(sum[j+m]-sum[j]) / g
			if mean < least {
				continue
			}
			mid := (t.u[j] + t.u[j+m-1]) / 2
			if over := mean / se; over > worst && (allowed == nil || allowed(mid)) {
				worst, at, bad = over, mid, true
			}
		}
	}
	return at, bad
}
