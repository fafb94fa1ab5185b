package fit

import (
	"math"

	"secondcut/geometry"
)

// parabola is a robust fit of one stretch of edge in its own frame: at u mm
// along dir from o it lies a + b u + c u^2 to the left.
type parabola struct {
	o        geometry.Point
	dir      geometry.Vec
	a, b, c  float64
	lo, hi   float64 // range of u
	rms      float64 // robust, mm
	slopeErr float64 // standard error of the slope at the end next to the corner
}

// arm fits the stretch from s+from to s+to (to may be smaller). It takes the
// longest arm whose parabola fits as well as the noise allows.
func (r *ring) arm(s, from, to float64, lv level) (parabola, bool) {
	lo, hi := math.Min(from, to), math.Max(from, to)
	length := hi - lo
	least := shortArmMM * r.unit
	if length < 0.5*least {
		return parabola{}, false
	}
	var best parabola
	found := false
	for {
		a, b := lo, lo+length
		if from < 0 {
			a, b = hi-length, hi
		}
		q, ok := r.parabola(s+a, s+b, lv)
		if !ok {
			return best, found
		}
		best, found = q, true
		if q.rms <= 1.35*lv.sd+0.02*r.unit || length*0.65 < least {
			return best, true
		}
		length *= 0.65
	}
}

// parabola fits the ring from arc length a to b.
func (r *ring) parabola(a, b float64, lv level) (q parabola, ok bool) {
	i, j := r.index(a), r.index(b)
	if j-i < 5 {
		return q, false
	}
	stride := max(1, (j-i)/60)
	var us, vs, ws []float64
	p0, p1 := r.p[r.wrap(i)], r.p[r.wrap(j)]
	// The frame: along the line between the means of the two halves.
	h := (i + j) / 2
	m0, m1 := r.mean(i, h), r.mean(h, j)
	q.o, q.dir = m0.Lerp(m1, 0.5), m1.Sub(m0).Unit()
	if q.dir.Len() == 0 {
		return q, false
	}
	for k := i; k < j; k += stride {
		d := r.p[r.wrap(k)].Sub(q.o)
		us, vs, ws = append(us, q.dir.Dot(d)), append(vs, q.dir.Cross(d)), append(ws, r.w[r.wrap(k)]+1e-3)
	}
	q.lo, q.hi = q.dir.Dot(p0.Sub(q.o)), q.dir.Dot(p1.Sub(q.o))
	span := math.Abs(q.hi - q.lo)
	tau := math.Max(lv.tau, span/float64(len(us)))
	res := make([]float64, len(us))
	g := append([]float64{}, ws...)
	deg := 2
	for round := range 4 {
		if !q.solve(us, vs, g, deg) {
			return q, false
		}
		for k := range us {
			res[k] = vs[k] - (q.a + us[k]*(q.b+us[k]*q.c))
		}
		q.rms = scale(res)
		for k := range us {
			g[k] = ws[k] * (bisquare(res[k], math.Max(q.rms, 0.5*lv.sd)) + 1e-4)
		}
		// A bend that is not three times its standard error is none.
		spread := math.Max(q.rms, 0.3*lv.sd) * math.Sqrt(tau/span)
		if round == 1 && deg == 2 && math.Abs(q.c)*span*span < 3*13.4*spread {
			deg = 1
		}
		q.slopeErr = spread * 3.5 / span
		if deg == 2 {
			q.slopeErr = spread * 14 / span
		}
	}
	return q, true
}

// mean returns the mean of the points i to j-1.
func (r *ring) mean(i, j int) geometry.Point {
	o := r.p[r.wrap(i)]
	var sum geometry.Vec
	for k := i; k < j; k++ {
		sum = sum.Add(r.p[r.wrap(k)].Sub(o))
	}
	return o.Add(sum.Scale(1 / float64(max(1, j-i))))
}

// solve sets a, b and (deg 2) c to the weighted least squares fit.
func (q *parabola) solve(us, vs, ws []float64, deg int) bool {
	m := deg + 1
	a := make([][]float64, m)
	for i := range a {
		a[i] = make([]float64, m)
	}
	b := make([]float64, m)
	for k, u := range us {
		f := [3]float64{1, u, u * u}
		for i := range m {
			b[i] += ws[k] * f[i] * vs[k]
			for j := range i + 1 {
				a[i][j] += ws[k] * f[i] * f[j]
			}
		}
	}
	if !solve(a, b) {
		return false
	}
	q.a, q.b, q.c = b[0], b[1], 0
	if deg == 2 {
		q.c = b[2]
	}
	return true
}

// clampU returns where p lies along the parabola, held to its range and a
// little beyond.
func (q *parabola) clampU(p geometry.Point) float64 {
	more := 0.3 * (q.hi - q.lo)
	return math.Max(q.lo-more, math.Min(q.hi+more, q.dir.Dot(p.Sub(q.o))))
}

func (q *parabola) foot(p geometry.Point) geometry.Point {
	u := q.clampU(p)
	return q.o.Add(q.dir.Scale(u)).Add(q.dir.Perp().Scale(q.a + u*(q.b+u*q.c)))
}

// tangent returns the tangent line of the parabola beside p.
func (q *parabola) tangent(p geometry.Point) (geometry.Point, geometry.Vec) {
	u := q.clampU(p)
	d := q.dir.Add(q.dir.Perp().Scale(q.b + 2*u*q.c))
	return q.foot(p), d.Unit()
}
