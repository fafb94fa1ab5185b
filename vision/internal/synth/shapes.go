package synth

import (
	"math"

	"secondcut/geometry"
)

// outlineOf returns a piece of one of many kinds, about long mm from end to end:
// with sharp, blunt, inward and rounded corners, straight and curved edges.
func (r *dice) outlineOf(long float64) geometry.Path {
	w := long * r.between(0.35, 0.8)
	switch r.IntN(6) {
	case 0:
		return pocket(w, long)
	case 1:
		return tab(math.Min(w, 0.5*long), long)
	case 2:
		return vented(w, long)
	case 3:
		return trouser(w, long)
	case 4:
		return collar(math.Min(w, 0.4*long), long)
	default:
		p := r.shape()
		lo, hi := p.Flatten(1).Bounds()
		f := long / math.Max(hi.X-lo.X, hi.Y-lo.Y)
		return p.Map(func(q geometry.Point) geometry.Point { return geometry.Point{X: q.X * f, Y: q.Y * f} })
	}
}

// pocket has a pointed bottom and sides that lean.
func pocket(w, h float64) geometry.Path {
	p := NewPen(geometry.Point{X: -0.46 * w, Y: 0.2 * h})
	p.Line(geometry.Point{})
	p.Line(geometry.Point{X: 0.46 * w, Y: 0.2 * h})
	p.Line(geometry.Point{X: 0.5 * w, Y: h})
	p.Line(geometry.Point{X: -0.5 * w, Y: h})
	return p.Close()
}

// tab has one half round end.
func tab(w, h float64) geometry.Path {
	const k = 0.5519150244935106 // best handle length for a quarter circle, from memory
	a := w / 2
	p := NewPen(geometry.Point{X: -a, Y: 0})
	p.Line(geometry.Point{X: a, Y: 0})
	p.Line(geometry.Point{X: a, Y: h - a})
	p.Curve(geometry.Point{X: a, Y: h - a + k*a}, geometry.Point{X: k * a, Y: h}, geometry.Point{Y: h})
	p.Curve(geometry.Point{X: -k * a, Y: h}, geometry.Point{X: -a, Y: h - a + k*a}, geometry.Point{X: -a, Y: h - a})
	return p.Close()
}

// vented is a skirt half with the step of a vent: one corner points inward.
func vented(w, h float64) geometry.Path {
	v := math.Min(45, 0.2*w)
	p := NewPen(geometry.Point{X: -0.5 * w, Y: 0})
	p.Curve(geometry.Point{X: -0.2 * w, Y: -0.02 * h}, geometry.Point{X: 0.2 * w, Y: -0.02 * h}, geometry.Point{X: 0.5 * w, Y: 0})
	p.Line(geometry.Point{X: 0.5 * w, Y: 0.35 * h})
	p.Line(geometry.Point{X: 0.5*w - v, Y: 0.4 * h})
	p.Line(geometry.Point{X: 0.5*w - v, Y: h})
	p.Curve(geometry.Point{X: 0.1 * w, Y: 0.98 * h}, geometry.Point{X: -0.2 * w, Y: h}, geometry.Point{X: -0.36 * w, Y: 1.01 * h})
	p.Curve(geometry.Point{X: -0.47 * w, Y: 0.75 * h}, geometry.Point{X: -0.5 * w, Y: 0.6 * h}, geometry.Point{X: -0.5 * w, Y: 0})
	return p.Close()
}

// trouser has a hollow crotch curve with a sharp point and an S-shaped side.
func trouser(w, h float64) geometry.Path {
	p := NewPen(geometry.Point{X: -0.32 * w, Y: 0})
	p.Line(geometry.Point{X: 0.3 * w, Y: 0})
	p.Curve(geometry.Point{X: 0.32 * w, Y: 0.3 * h}, geometry.Point{X: 0.36 * w, Y: 0.5 * h}, geometry.Point{X: 0.5 * w, Y: 0.68 * h})
	p.Curve(geometry.Point{X: 0.36 * w, Y: 0.69 * h}, geometry.Point{X: 0.28 * w, Y: 0.74 * h}, geometry.Point{X: 0.26 * w, Y: 0.86 * h})
	p.Line(geometry.Point{X: 0.22 * w, Y: h})
	p.Line(geometry.Point{X: -0.38 * w, Y: 0.98 * h})
	p.Curve(geometry.Point{X: -0.52 * w, Y: 0.75 * h}, geometry.Point{X: -0.34 * w, Y: 0.3 * h}, geometry.Point{X: -0.32 * w, Y: 0})
	return p.Close()
}

// collar is a curved band with pointed ends.
func collar(w, l float64) geometry.Path {
	p := NewPen(geometry.Point{X: -0.44 * l, Y: 0.12 * w})
	p.Curve(geometry.Point{X: -0.2 * l, Y: -0.05 * w}, geometry.Point{X: 0.2 * l, Y: -0.05 * w}, geometry.Point{X: 0.44 * l, Y: 0.12 * w})
	p.Line(geometry.Point{X: 0.5 * l, Y: w})
	p.Curve(geometry.Point{X: 0.2 * l, Y: 0.82 * w}, geometry.Point{X: -0.2 * l, Y: 0.82 * w}, geometry.Point{X: -0.5 * l, Y: w})
	return p.Close()
}

// oval returns an ellipse about a point with half axes a across and b up,
// clockwise as a hole must run.
func oval(at geometry.Point, a, b float64) geometry.Path {
	const k = 0.5519150244935106 // best handle length for a quarter circle, from memory
	var p geometry.Path
	for i := range 4 {
		sin, cos := math.Sincos(-float64(i) * math.Pi / 2)
		in := geometry.Point{X: at.X + a*(cos-k*sin), Y: at.Y + b*(sin+k*cos)}
		out := geometry.Point{X: at.X + a*(cos+k*sin), Y: at.Y + b*(sin-k*cos)}
		p = append(p, geometry.Knot{At: geometry.Point{X: at.X + a*cos, Y: at.Y + b*sin}, In: &in, Out: &out})
	}
	return p
}

// strand returns the outline of a loose thread that lies from a on, long mm.
func (r *dice) strand(a geometry.Point, long float64) geometry.Path {
	heading, curl := r.between(0, 2*math.Pi), r.between(-0.06, 0.06)
	var left, right geometry.Path
	for done := 0.0; done < long; done += 3 {
		sin, cos := math.Sincos(heading)
		n := geometry.Vec{X: -sin, Y: cos}.Scale(0.16)
		left = append(left, geometry.Knot{At: a.Add(n)})
		right = append(right, geometry.Knot{At: a.Add(n.Scale(-1))})
		a = geometry.Point{X: a.X + 3*cos, Y: a.Y + 3*sin}
		heading += curl*3 + 0.08*r.NormFloat64()
	}
	for i := len(left) - 1; i >= 0; i-- {
		right = append(right, left[i])
	}
	return right
}

// snippet returns a cut-off scrap of cloth about long mm wide.
func (r *dice) snippet(a geometry.Point, long float64) geometry.Path {
	var p geometry.Path
	n := 3 + r.IntN(3)
	for i := range n {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + r.between(-0.3, 0.3)) / float64(n))
		d := long * r.between(0.3, 0.6)
		p = append(p, geometry.Knot{At: geometry.Point{X: a.X + d*cos, Y: a.Y + d*sin}, Corner: true})
	}
	return p
}
