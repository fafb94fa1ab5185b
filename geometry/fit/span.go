package fit

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// span is the stretch of edge between two neighbouring corners, or the whole
// ring when there is none.
type span struct {
	spline
	lo, hi   float64 // arc length of its ends (corners)
	line     bool    // straight within its noise
	missed   bool    // even the most breaks left a large misfit
	level    level
	sigma    float64 // standard uncertainty of the samples, mm
	bias     float64 // the part of it that the whole span shares, mm
	inside   float64 // weight of what lies inside the curve: less than 1 on a frayed edge
	loss     float64 // how far the clean edge lies outside the robust centre, mm
	doubt    float64 // standard uncertainty of loss, mm
	fray     float64 // robust amplitude of what was taken off, mm
	ripple   bool
	worst    float64 // largest deviation taken off, mm
	worstAt  geometry.Point
	thin     thinned
	residual []float64 // of the ring's points, positive outwards, mm
}

// thinned is the data of a span, averaged to a few hundred points.
type thinned struct {
	p    []geometry.Point
	u, w []float64
	s    []float64 // arc lengths, from which u may differ by slackMM
}

const (
	thinPoints = 320   // per span
	earned     = 8.0   // gain in the sum of squares that earns a break
	misfitZ    = 4.2   // standard errors from which a misfit is none of the noise
	slackMM    = 0.5   // mm between the parameter of a point and its arc length
	leastBreak = 5.0   // mm between breaks
	waveBreak  = 30.0  // mm between breaks along waves, which closer ones would follow
	mostBreaks = 28    // bounds the time
	rippled    = -0.55 // autocorrelation below which residuals are waves
	overlapMM  = 40.0  // by which a ring without corners is run past its start
)

// fitSpan fits the ring from arc length lo to hi, which are corners or, for a
// closed smooth ring, one turn plus overlap.
func (r *ring) fitSpan(lo, hi, gap float64, nz noise, opt Options) (*span, bool) {
	s := &span{lo: lo, hi: hi}
	length := hi - lo
	gap = math.Min(gap, 0.2*length)
	i, j := r.index(lo+gap), r.index(hi-gap)
	if j-i < 4 {
		i, j = r.index(lo), r.index(hi)+1
	}
	if j-i < 4 {
		return nil, false
	}
	var ok bool
	if s.level, s.ripple, ok = r.levelOf(i, j, nz); !ok {
		return nil, false
	}
	s.inside = r.insideWeight(i, j, s.level.sd, s.ripple)
	s.thin = r.thinned(i, j, max(1, (j-i)/thinPoints))
	if !s.grow(r.unit, opt) {
		return nil, false
	}
	s.measure(r, i, j)
	return s, true
}

// levelOf measures the noise of the points i to j-1 by a spline with a break
// every 30 mm, which takes up any reasonable shape.
func (r *ring) levelOf(i, j int, nz noise) (l level, ripple, ok bool) {
	t := r.thinned(i, j, 1)
	n := len(t.p)
	length := t.u[n-1] - t.u[0]
	k := max(1, min(60, int(math.Round(length/(30*r.unit)))))
	sp := spline{}
	for m := range k + 1 {
		sp.breaks = append(sp.breaks, t.u[0]+length*float64(m)/float64(k))
	}
	w := slices.Clone(t.w)
	v := make([]float64, n)
	var sd float64
	for range 2 {
		if !sp.fit(t.p, t.u, w) {
			return l, false, false
		}
		for m, q := range t.p {
			p, d := sp.at(t.u[m])
			v[m] = d.Unit().Cross(q.Sub(p))
		}
		sd = math.Max(scale(v), 0.02*r.unit)
		for m := range w {
			w[m] = t.w[m] * (bisquare(v[m], sd) + 1e-3)
		}
	}
	step := length / float64(n)
	tau, trough := correlation(v, step, 3*sd, int(10*r.unit/step)+1)
	if trough < rippled {
		// Waves average out better than their correlation says.
		return level{sd, math.Min(tau, 2*r.unit)}, true, true
	}
	var local []float64
	for k := i; k < j; k += 5 {
		local = append(local, nz.local[r.wrap(k)])
	}
	if usual := quantile(local, 0.5); sd > 1.3*usual {
		// A shape that the spline can't follow is no noise.
		return level{usual, nz.tau}, false, true
	}
	tau = math.Min(tau, 3.5*r.unit)
	short := math.Min(1, 60*r.unit/length)
	return level{sd, tau}.whole(0.05+0.08*short, 0.2+0.3*short, r.unit), false, true
}

// insideWeight says how much the inner side of a frayed edge counts: ragged loss
// is uneven along the edge, but ends where the cloth was cut, so that the outer
// side is the better guide to the shape (an expectile instead of a mean; Newey
// and Powell, Econometrica 55 (1987) 819). Clean and rippled edges count evenly.
func (r *ring) insideWeight(i, j int, sd float64, ripple bool) float64 {
	if ripple {
		return 1
	}
	var sigma []float64
	for k := i; k < j; k += 5 {
		sigma = append(sigma, r.sigma[r.wrap(k)])
	}
	floor := math.Max(quantile(sigma, 0.5), 0.05*r.unit)
	excess := math.Sqrt(math.Max(0, sd*sd-1.5*floor*floor))
	return math.Max(0.25, 1/(1+(excess*excess)/(0.2*0.2)))
}

// thinned averages each m of the points i to j-1.
func (r *ring) thinned(i, j, m int) (t thinned) {
	for ; i < j; i += m {
		e := min(i+m, j)
		o := r.p[r.wrap(i)]
		var v geometry.Vec
		var w, u float64
		for k := i; k < e; k++ {
			g := r.w[r.wrap(k)] + 1e-3
			w += g
			u += g * r.arc(k)
			v = v.Add(r.p[r.wrap(k)].Sub(o).Scale(g))
		}
		t.p = append(t.p, o.Add(v.Scale(1/w)))
		t.u = append(t.u, u/w)
		t.s = append(t.s, u/w)
		t.w = append(t.w, w/float64(e-i))
	}
	return t
}

// refine alternates the least squares fit with new weights (bisquare), which it
// leaves in w, and new parameters (the foot of each point). These stay close to
// the arc lengths: left free, they drift towards the middle round by round.
func (s *span) refine(w []float64, rounds int) bool {
	t := &s.thin
	r := make([]float64, len(t.p))
	for round := range rounds {
		ok := false
		if s.line {
			ok = s.straight(t.p, t.u, w)
		} else {
			ok = s.fit(t.p, t.u, w)
		}
		if !ok {
			return false
		}
		for j, q := range t.p {
			p, d := s.at(t.u[j])
			e := q.Sub(p)
			l2 := d.Dot(d)
			if l2 < 1e-12 {
				return false
			}
			r[j] = d.Cross(e) / math.Sqrt(l2)
			if !s.line && round < rounds-1 {
				t.u[j] = t.s[j] + math.Max(-slackMM, math.Min(slackMM, t.u[j]-t.s[j]+d.Dot(e)/l2))
			}
		}
		sd := math.Max(scale(r), 0.6*s.level.sd)
		for j := range w {
			w[j] = t.w[j] * (bisquare(r[j], sd) + 1e-6)
			if r[j] > 0 { // to the left: inside
				w[j] *= s.inside
			}
		}
	}
	return true
}

// measure looks at what the fit took off: fray, ripple, the worst place.
func (s *span) measure(r *ring, i, j int) {
	var sigma, bias []float64
	for k := i; k < j; k++ {
		if r.w[r.wrap(k)] == 0 {
			continue
		}
		p, d := s.at(r.arc(k))
		l := d.Len()
		if l == 0 {
			continue
		}
		e := -d.Cross(r.p[r.wrap(k)].Sub(p)) / l // positive: right of the way, out of the cloth
		s.residual = append(s.residual, e)
		sigma, bias = append(sigma, r.sigma[r.wrap(k)]), append(bias, r.bias[r.wrap(k)])
		if math.Abs(e) > s.worst {
			s.worst, s.worstAt = math.Abs(e), r.p[r.wrap(k)]
		}
	}
	step := r.total / float64(r.n())
	s.sigma, s.bias = quantile(sigma, 0.5), rms(bias)
	s.fraying(step, r.unit)
}

// fraying measures what was taken off. A ripple is even on both sides of the
// clean edge; what fray has cost, [span.wear] finds.
func (s *span) fraying(step, unit float64) {
	v := slices.Clone(s.residual)
	if len(v) < 8 {
		return
	}
	sd := math.Max(scale(v), 1e-3)
	_, trough := correlation(v, step, 3*sd, int(12*unit/step))
	slices.Sort(v)
	mid, low := quantile(v, 0.5), quantile(v, 0.1)
	// Threads that were not bridged reach further out than loss reaches in.
	threads, _ := slices.BinarySearch(v, mid+2.2*(mid-low))
	high := quantile(v[:threads], 0.9)
	s.fray = (high - low) / 2
	s.ripple = trough < rippled && sd > 0.2
	s.loss = mid
	if s.ripple {
		s.loss = (low + high) / 2
	}
}
