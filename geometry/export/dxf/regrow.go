package dxf

import (
	"math"

	"secondcut/geometry"
)

const (
	// nearMM is how near to a vertex a marked point is the same.
	nearMM = 0.02
	// fitMM is how far a curve may run from the points that it stands for.
	fitMM = 0.02
	// bend is the turn from which a vertex is a corner where none is marked.
	bend = 30 * math.Pi / 180
	// closeMM is how near the ends of a line must be for it to be closed.
	closeMM = 0.01
)

// marked are the points on the layers of turn and of curve points, by cells of 0.01 mm.
type marked struct{ turn, curve map[cell]bool }

type cell struct{ x, y int }

func cellOf(p geometry.Point) cell {
	return cell{int(math.Round(p.X / (nearMM / 2))), int(math.Round(p.Y / (nearMM / 2)))}
}

func (m *marked) add(layer string, p geometry.Point) {
	if m.turn == nil {
		m.turn, m.curve = map[cell]bool{}, map[cell]bool{}
	}
	switch layer {
	case layerTurn:
		m.turn[cellOf(p)] = true
	case layerCurve:
		m.curve[cellOf(p)] = true
	}
}

// has reports whether one of the points of a set lies at p.
func has(set map[cell]bool, p geometry.Point) bool {
	c := cellOf(p)
	for dx := -1; dx <= 1; dx++ {
		for dy := -1; dy <= 1; dy++ {
			if set[cell{c.x + dx, c.y + dy}] {
				return true
			}
		}
	}
	return false
}

// run returns the points of a polyline, arcs as short lines, and whether it is closed:
// said to be, or with its ends on each other.
func (b *reader) run(e entity) ([]geometry.Point, bool) {
	var out []geometry.Point
	n := len(e.points)
	for i, p := range e.points {
		out = b.push(out, p)
		if i+1 < n || e.closed {
			for _, q := range arc(p, e.points[(i+1)%n], e.bulges[i]) {
				out = b.push(out, q)
			}
		}
	}
	last := len(out) - 1
	if closed := last > 2 && out[0].Dist(out[last]) < closeMM; closed {
		return out[:last], true
	}
	return out, e.closed && len(out) > 2
}

// push adds a point that is not where the last one is.
func (b *reader) push(out []geometry.Point, p geometry.Point) []geometry.Point {
	p = b.at(p)
	if n := len(out); n > 0 && out[n-1].Dist(p) < 1e-6 {
		return out
	}
	return append(out, p)
}

// arc returns the points between two of a polyline along its arc; a bulge is the tangent
// of a quarter of the angle, positive where it runs counter-clockwise.
func arc(a, d geometry.Point, bulge float64) []geometry.Point {
	if bulge == 0 || a == d || math.Abs(bulge) > 1e3 {
		return nil
	}
	angle := 4 * math.Atan(bulge)
	chord := d.Sub(a)
	centre := a.Lerp(d, 0.5).Add(chord.Perp().Scale((1 - bulge*bulge) / (4 * bulge)))
	from := a.Sub(centre)
	n := int(math.Ceil(math.Abs(angle) / (math.Pi / 90)))
	var out []geometry.Point
	for i := 1; i < n; i++ {
		s, c := math.Sincos(angle * float64(i) / float64(n))
		out = append(out, centre.Add(geometry.Vec{X: c*from.X - s*from.Y, Y: s*from.X + c*from.Y}))
	}
	return out
}

// regrow makes a path of a ring of points: knots where points are marked, a curve
// between two of them where one fits.
func regrow(points []geometry.Point, set marked) geometry.Path {
	var at []int
	all := make(geometry.Path, len(points))
	for i, p := range points {
		all[i] = geometry.Knot{At: p, Corner: has(set.turn, p) || len(set.turn)+len(set.curve) == 0 && bends(points, i)}
		if has(set.turn, p) || has(set.curve, p) {
			at = append(at, i)
		}
	}
	if len(at) < 2 {
		return all
	}
	var out geometry.Path
	var in *geometry.Point
	for j, from := range at {
		to := at[(j+1)%len(at)]
		if to <= from {
			to += len(points)
		}
		between := make([]geometry.Point, 0, to-from+1)
		for i := from; i <= to; i++ {
			between = append(between, points[i%len(points)])
		}
		k := all[from]
		k.In, in = in, nil
		if s, ok := cubic(between); ok {
			k.Out, in = &s.B, &s.C
			out = append(out, k)
			continue
		}
		out = append(out, k)
		for _, p := range between[1 : len(between)-1] {
			out = append(out, geometry.Knot{At: p})
		}
	}
	out[0].In = in
	return out
}

func bends(points []geometry.Point, i int) bool {
	n := len(points)
	u, v := points[i].Sub(points[(i+n-1)%n]), points[(i+1)%n].Sub(points[i])
	return math.Abs(math.Atan2(u.Cross(v), u.Dot(v))) > bend
}

// cubic returns the curve that takes the points at equal steps of its parameter, by
// least squares for its two handles, and whether it runs through them.
func cubic(points []geometry.Point) (geometry.Segment, bool) {
	n := len(points) - 1
	if n < 3 {
		return geometry.Segment{}, false
	}
	s := geometry.Segment{A: points[0], D: points[n], Curved: true}
	var bb, bc, cc float64
	var rb, rc geometry.Vec
	for i := 1; i < n; i++ {
		t := float64(i) / float64(n)
		u := 1 - t
		b, c := 3*u*u*t, 3*u*t*t
		r := geometry.Vec(points[i]).Add(geometry.Vec(s.A).Scale(-u * u * u)).Add(geometry.Vec(s.D).Scale(-t * t * t))
		bb, bc, cc = bb+b*b, bc+b*c, cc+c*c
		rb, rc = rb.Add(r.Scale(b)), rc.Add(r.Scale(c))
	}
	det := bb*cc - bc*bc
	s.B = geometry.Point(rb.Scale(cc / det).Add(rc.Scale(-bc / det)))
	s.C = geometry.Point(rc.Scale(bb / det).Add(rb.Scale(-bc / det)))
	for i, p := range points {
		if !(s.At(float64(i)/float64(n)).Dist(p) <= fitMM) {
			return s, false
		}
	}
	return s, true
}
