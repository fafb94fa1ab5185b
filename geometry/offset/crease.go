package offset

import (
	"math"

	"secondcut/geometry"
)

// place is a foot point on a fold, with the unit normal out of the garment.
type place struct {
	at     geometry.Point
	out    geometry.Vec
	height float64 // of the point looked at, into the garment
}

// crease is a folded edge as a frame: foot points along it, heights square to it.
// Beyond both ends it runs on straight.
type crease struct {
	stitch   []geometry.Segment
	from, to geometry.Vec
	straight bool
}

func newCrease(e *edgeLine) crease {
	c := crease{stitch: e.stitch, from: e.from, to: e.to, straight: true}
	for _, s := range e.stitch {
		c.straight = c.straight && !s.Curved && math.Abs(startDir(s).Cross(e.from)) < 1e-9
	}
	return c
}

// place returns the foot of q, the nearest point of the fold or what it runs on
// to.
func (c crease) place(q geometry.Point) place {
	var best place
	bestD := math.Inf(1)
	try := func(at geometry.Point, tan geometry.Vec) {
		if d := q.Dist(at); d < bestD {
			bestD = d
			best = place{at: at, out: right(tan), height: -q.Sub(at).Dot(right(tan))}
		}
	}
	n := len(c.stitch) - 1
	if on := q.Sub(c.stitch[0].A).Dot(c.from); on < 0 || c.straight {
		try(c.stitch[0].A.Add(c.from.Scale(on)), c.from)
	}
	if c.straight {
		return best
	}
	if on := q.Sub(c.stitch[n].D).Dot(c.to); on > 0 {
		try(c.stitch[n].D.Add(c.to.Scale(on)), c.to)
	}
	for _, s := range c.stitch {
		t, _ := s.Nearest(q)
		switch {
		case t <= 0:
			try(s.A, startDir(s))
		case t >= 1:
			try(s.D, endDir(s))
		default:
			try(s.At(t), s.Deriv(t).Unit())
		}
	}
	return best
}

// unfolded returns where the material lies, spread out, that is at q once folded:
// out of the fold by c + s times the height of q.
func (c crease) unfolded(q geometry.Point, off, sign float64) geometry.Point {
	p := c.place(q)
	return p.at.Add(p.out.Scale(off + sign*p.height))
}

// creased returns which of two edges is a flap beside a crease of the cloth, and the
// end of the flap there, on what the crease runs on to. There is no end where there is
// no such corner.
func (w *work) creased(before, after int) (fold int, end flapEnd) {
	a, b := &w.edges[before], &w.edges[after]
	e, fold, n, along := a, before, right(a.to), b.from.Scale(-1)
	if a.Crease {
		e, fold, n, along = b, after, right(b.from), a.to
	}
	steep := along.Dot(n)
	if len(e.Folds) == 0 || a.Crease == b.Crease || steep < 0.1 {
		return fold, nil
	}
	depth, k := 0.0, b.stitch[0].A
	for _, d := range append([]float64{0}, e.Folds...) {
		depth += d
		end = append(end, place{at: k.Add(along.Scale(depth / steep)).Add(n.Scale(-depth)), out: n})
	}
	return fold, end
}
