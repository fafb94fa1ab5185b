package fit

import "math"

// noise is what is left of the ring when its local course is taken away.
type noise struct {
	local []float64 // robust standard deviation round each point, mm
	waves []float64 // that of waves along the edge, where there are some, else 0
	tau   float64   // correlation length of the whole ring, mm
	res   []float64 // the residuals themselves
	grow  float64   // by which their standard deviation is too small
}

// level is the noise of one stretch: standard deviation and correlation length,
// both in mm. The mean over a length l has the standard error sd sqrt(tau/l).
type level struct{ sd, tau float64 }

// whole makes up for the slow part of the noise, which the local course took
// with it: bySD and byAll are the relative growths of the standard deviation and
// of sd sqrt(tau) per mm of correlation beyond the step. They were found by
// simulation of exponentially correlated noise of 0 to 4 mm range.
func (l level) whole(bySD, byAll, unit float64) level {
	x := math.Max(0, l.tau/unit-stepMM)
	sd := 1 + bySD*x
	all := (1 + byAll*x) / sd
	return level{l.sd * sd, l.tau * all * all}
}

// measureNoise looks at the residuals from the local parabola over 20 mm, Where waves run along the edge they are noise, too, though
// a parabola follows them: there the one over 30 mm counts.
func (r *ring) measureNoise() noise {
	n := r.n()
	step := r.total / float64(n)
	res := r.residuals(10)
	wide := r.residuals(15)
	half := min(max(5, int(50*r.unit/step)), (n-1)/2)
	out := noise{local: make([]float64, n), waves: make([]float64, n), res: res}
	stride := max(1, half/8)
	for i := 0; i < n; i += stride {
		sd, _ := r.spread(res, i, half)
		sd = math.Max(sd, 0.02*r.unit)
		if sd2, even := r.spread(wide, i, half); even > 1.15 && sd2 > 1.3*sd && r.waves(wide, i, half, sd2) {
			sd = sd2
			out.waves[i] = sd
		}
		for k := i; k < min(i+stride, n); k++ {
			out.local[k], out.waves[k] = sd, out.waves[i]
		}
	}
	// A middling one of many stretches: corners spoil some.
	var taus []float64
	long := max(8, min(n, int(50*r.unit/step)))
	for i := 0; i+long <= n; i += long / 2 {
		tau, _ := correlation(res[i:i+long], step, 3*out.local[i+long/2], int(10*r.unit/step)+1)
		taus = append(taus, tau)
	}
	tau := math.Max(step, math.Min(1.8*r.unit, quantile(taus, 0.4)))
	all := level{1, tau}.whole(0.35, 1.2, r.unit)
	out.tau, out.grow = all.tau, all.sd
	for i := range out.local {
		out.local[i] *= all.sd
	}
	return out
}

// residuals returns how far the points lie to the left of the local parabola
// over half mm on either side.
func (r *ring) residuals(half float64) []float64 {
	n := r.n()
	base := r.baseline(max(2, int(half*r.unit/r.total*float64(n))))
	res := make([]float64, n)
	for i := range n {
		t := base[(i+1)%n].Sub(base[(i+n-1)%n]).Unit()
		res[i] = t.Cross(r.p[i].Sub(base[i]))
	}
	return res
}

// spread returns the robust standard deviation of the residuals round i, and its
// ratio to the plain one: 1 for normal noise, less round a corner, 1.5 for waves.
func (r *ring) spread(res []float64, i, half int) (sd, even float64) {
	win := make([]float64, 0, 2*half/3+2)
	var sum float64
	for k := -half; k <= half; k += 3 {
		x := math.Abs(res[r.wrap(i+k)])
		win = append(win, x)
		sum += x * x
	}
	sd = madToSigma * quantile(win, 0.5)
	return sd, sd / math.Max(math.Sqrt(sum/float64(len(win))), 1e-12)
}

// waves reports whether the residuals round i swing evenly.
func (r *ring) waves(res []float64, i, half int, sd float64) bool {
	v := make([]float64, 0, 2*half+1)
	for k := -half; k <= half; k++ {
		v = append(v, res[r.wrap(i+k)])
	}
	step := r.total / float64(r.n())
	_, trough := correlation(v, step, 3*sd, int(12*r.unit/step))
	return trough < rippled
}
