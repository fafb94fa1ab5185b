package sheet

import (
	"math"

	"secondcut/geometry"
)

// box is an upright rectangle in mm.
type box struct{ lo, hi geometry.Point }

func (b box) width() float64  { return b.hi.X - b.lo.X }
func (b box) height() float64 { return b.hi.Y - b.lo.Y }

func (b box) centre() geometry.Point { return b.lo.Lerp(b.hi, 0.5) }

// grown returns the box with d mm added on every side.
func (b box) grown(d float64) box {
	v := geometry.Vec{X: d, Y: d}
	return box{b.lo.Add(v.Scale(-1)), b.hi.Add(v)}
}

func (b box) moved(v geometry.Vec) box { return box{b.lo.Add(v), b.hi.Add(v)} }

// around returns the box of the given size about a centre.
func around(c geometry.Point, width, height float64) box {
	v := geometry.Vec{X: width / 2, Y: height / 2}
	return box{c.Add(v.Scale(-1)), c.Add(v)}
}

// boundsOf returns the smallest box round the points of all lines.
func boundsOf(lines ...[]geometry.Point) box {
	var all geometry.Polyline
	for _, l := range lines {
		all = append(all, l...)
	}
	lo, hi := all.Bounds()
	return box{lo, hi}
}

// gap returns the distance between two boxes, negative by the depth of the
// overlap when they overlap.
func (b box) gap(c box) float64 {
	dx := math.Max(c.lo.X-b.hi.X, b.lo.X-c.hi.X)
	dy := math.Max(c.lo.Y-b.hi.Y, b.lo.Y-c.hi.Y)
	if dx > 0 && dy > 0 {
		return math.Hypot(dx, dy)
	}
	return math.Max(dx, dy)
}

// inside returns by how much b lies within c; negative when it sticks out.
func (b box) inside(c box) float64 {
	return min(b.lo.X-c.lo.X, b.lo.Y-c.lo.Y, c.hi.X-b.hi.X, c.hi.Y-b.hi.Y)
}

// crosses reports whether the straight line from p to q touches the box (Liang
// and Barsky 1984: the parameters at which it enters and leaves).
func (b box) crosses(p, q geometry.Point) bool {
	from, to := 0.0, 1.0
	d := q.Sub(p)
	clip := func(step, room float64) bool {
		switch {
		case step == 0:
			return room >= 0
		case step < 0:
			from = math.Max(from, room/step)
		default:
			to = math.Min(to, room/step)
		}
		return from <= to
	}
	return clip(-d.X, p.X-b.lo.X) && clip(d.X, b.hi.X-p.X) && clip(-d.Y, p.Y-b.lo.Y) && clip(d.Y, b.hi.Y-p.Y)
}

// touched reports whether any side of the rings passes through the box.
func (b box) touched(rings []geometry.Polyline) bool {
	for _, r := range rings {
		for i, p := range r {
			if b.crosses(p, r[(i+1)%len(r)]) {
				return true
			}
		}
	}
	return false
}

// within reports whether a point lies in the first ring and in none of the
// others.
func within(rings []geometry.Polyline, q geometry.Point) bool {
	for i, r := range rings {
		if r.Contains(q) != (i == 0) {
			return false
		}
	}
	return len(rings) > 0
}
