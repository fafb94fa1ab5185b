package lay

import (
	"cmp"
	"slices"

	"secondcut/geometry"
)

// settled returns the cloth with a remnant moved to the origin, its flaws with it, and
// as wide as the remnant.
func (c Cloth) settled() Cloth {
	if c.Remnant == nil {
		return c
	}
	lo, hi := c.Remnant.Bounds()
	move := func(q geometry.Point) geometry.Point { return geometry.Point{X: q.X - lo.X, Y: q.Y - lo.Y} }
	c.Remnant = c.Remnant.Map(move)
	flaws := c.Flaws
	c.Flaws = nil
	for _, f := range flaws {
		c.Flaws = append(c.Flaws, f.Map(move))
	}
	c.WidthMM = hi.Y - lo.Y
	if c.Spread == Lengthwise {
		c.WidthMM *= 2
	}
	return c
}

// outside returns what of the plane lies outside a simple ring, as obstacles that may
// overlap: a slab beyond each side of its convex hull, and the pockets between the hull
// and the ring.
func outside(ring geometry.Polyline) []Obstacle {
	ring = turned(ring, Placement{})
	lo, hi := ring.Bounds()
	far := 2 * lo.Dist(hi)
	corners := hull(ring)
	var out []Obstacle
	for k, i := range corners {
		j := corners[(k+1)%len(corners)]
		a, b := ring[i], ring[j]
		u := b.Sub(a).Unit()
		n := u.Perp().Scale(-far) // outwards: the ring runs counter-clockwise
		p, q := a.Add(u.Scale(-far)), b.Add(u.Scale(far))
		out = append(out, Obstacle{Outline: geometry.Polyline{p, p.Add(n), q.Add(n), q}, Edge: true})
		pocket := geometry.Polyline{a}
		for m := i; m != j; {
			m = (m + 1) % len(ring)
			pocket = append(pocket, ring[m])
		}
		slices.Reverse(pocket)
		if len(pocket) > 2 && pocket.Area() > 0 {
			out = append(out, Obstacle{Outline: pocket, Edge: true})
		}
	}
	return out
}

// hull returns the indices of the corners of the convex hull of a counter-clockwise
// ring, in its order (Andrew's monotone chain, 1979).
func hull(ring geometry.Polyline) []int {
	order := make([]int, len(ring))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(ring[i].X, ring[j].X), cmp.Compare(ring[i].Y, ring[j].Y))
	})
	half := func(order []int) []int {
		var out []int
		for _, i := range order {
			for n := len(out); n > 1 && ring[out[n-1]].Sub(ring[out[n-2]]).Cross(ring[i].Sub(ring[out[n-1]])) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, i)
		}
		return out[:len(out)-1]
	}
	lower := half(order)
	slices.Reverse(order)
	return append(lower, half(order)...)
}
