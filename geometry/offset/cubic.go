package offset

import (
	"math"

	"secondcut/geometry"
)

// curve gives a point and the derivative by the parameter.
type curve func(t float64) (geometry.Point, geometry.Vec)

const (
	// maxHalvings bounds the work on curves that no cubic follows (cusps).
	maxHalvings = 9
	// fitSamples is the number of points inside a stretch that a cubic is
	// fitted to. It must come within fitShare of the tolerance there and within
	// checkShare of it between them, which leaves room for what lies between
	// those (tuned on random cubics, widths up to 40 mm: 0.63 of the tolerance is the
	// worst seen).
	fitSamples = 9
	fitShare   = 0.6
	checkShare = 0.7
)

// fitCubics appends cubics that follow f from t0 to t1 within tol mm; a straight
// line where halving the stretch again and again has not helped.
func fitCubics(f curve, t0, t1, tol float64, halvings int, out []geometry.Segment) []geometry.Segment {
	seg, worst := fitCubic(f, t0, t1, fitShare*tol)
	if worst <= fitShare*tol && between(f, t0, t1, seg) <= checkShare*tol {
		return append(out, seg)
	}
	if halvings == 0 {
		return append(out, line(seg.A, seg.D))
	}
	m := (t0 + t1) / 2
	out = fitCubics(f, t0, m, tol, halvings-1, out)
	return fitCubics(f, m, t1, tol, halvings-1, out)
}

// fitCubic fits one cubic with the end points and end tangents of f: the handles
// by least squares, starting from those of the Hermite cubic, parameters improved
// by Newton steps (Schneider 1990). It returns the greatest distance of the
// samples in mm; one that is within good ends the search.
func fitCubic(f curve, t0, t1, good float64) (geometry.Segment, float64) {
	a, va := f(t0)
	d, vd := f(t1)
	ea, ed := endTangent(f, va, t0, t1), endTangent(f, vd, t1, t0)
	var p [fitSamples]geometry.Point
	var u [fitSamples]float64
	for i := range p {
		u[i] = float64(i+1) / (fitSamples + 1)
		p[i], _ = f(t0 + (t1-t0)*u[i])
	}
	h, most := (t1-t0)/3, a.Dist(p[fitSamples/2])+d.Dist(p[fitSamples/2])
	la, ld := math.Min(va.Len()*h, most), math.Min(vd.Len()*h, most)
	seg := geometry.Segment{A: a, B: a.Add(ea.Scale(la)), C: d.Add(ed.Scale(-ld)), D: d, Curved: true}
	best, bestErr := seg, math.Inf(1)
	for round := range 4 {
		if round > 0 {
			seg = handles(seg, ea, ed, p[:], u[:])
		}
		worst := 0.0
		for i := range p {
			worst = math.Max(worst, foot(seg, p[i], &u[i]))
		}
		if worst < bestErr {
			best, bestErr = seg, worst
		} else if round > 1 {
			break
		}
		if bestErr <= good {
			break
		}
	}
	return best, bestErr
}

// between returns the greatest distance from seg of points of f between those that
// it was fitted to, mm.
func between(f curve, t0, t1 float64, seg geometry.Segment) float64 {
	worst := 0.0
	for i := range fitSamples + 1 {
		u := (float64(i) + 0.5) / (fitSamples + 1)
		p, _ := f(t0 + (t1-t0)*u)
		worst = math.Max(worst, foot(seg, p, &u))
	}
	return worst
}

// endTangent returns the unit tangent at t as the end of the stretch towards
// other: just inside it where the derivative vanishes, as at a cusp.
func endTangent(f curve, v geometry.Vec, t, other float64) geometry.Vec {
	in := t + (other-t)*1e-3
	_, w := f(in)
	if v.Len() > 1e-3*w.Len() {
		return v.Unit()
	}
	return w.Unit()
}

// handles sets the handle lengths along the given tangents by least squares.
// Where the solution would turn a handle round, it keeps what was there.
func handles(s geometry.Segment, ea, ed geometry.Vec, p []geometry.Point, u []float64) geometry.Segment {
	var m00, m01, m11, x0, x1 float64
	for i, q := range p {
		t, v := u[i], 1-u[i]
		f1, f2 := 3*v*v*t, 3*v*t*t
		e := q.Sub(s.A.Lerp(s.D, f2+t*t*t))
		g0, g1 := ea.Scale(f1), ed.Scale(-f2)
		m00, m01, m11 = m00+g0.Dot(g0), m01+g0.Dot(g1), m11+g1.Dot(g1)
		x0, x1 = x0+g0.Dot(e), x1+g1.Dot(e)
	}
	det := m00*m11 - m01*m01
	if !(det > 1e-9*m00*m11) {
		return s
	}
	la, ld := (x0*m11-x1*m01)/det, (x1*m00-x0*m01)/det
	if most := s.A.Dist(p[len(p)/2]) + s.D.Dist(p[len(p)/2]); la > 0 && ld > 0 && la < most && ld < most {
		s.B, s.C = s.A.Add(ea.Scale(la)), s.D.Add(ed.Scale(-ld))
	}
	return s
}

// foot moves u towards the foot of q on s and returns the distance there.
func foot(s geometry.Segment, q geometry.Point, u *float64) float64 {
	for range 2 {
		v := s.Deriv(*u)
		if l2 := v.Dot(v); l2 > 1e-18 {
			*u = math.Min(math.Max(*u+q.Sub(s.At(*u)).Dot(v)/l2, 0), 1)
		}
	}
	return q.Dist(s.At(*u))
}
