package lay

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

// region is where one shape must not lie: the displacements (position of the
// second less that of the first) at which two shapes overlap, as convex sets that
// cover it. It is the no-fit polygon of the two (Bennell and Oliveira, The
// geometry of nesting problems, 2008), left in parts: each is the Minkowski sum
// of a part of the first and a mirrored part of the second.
type region struct {
	loX, loY, hiX, hiY float64
	parts              []convexSet
}

// convexSet is where nx x + ny y < c holds for every plane, within its bounds.
type convexSet struct {
	loX, loY, hiX, hiY float64
	planes             []plane
}

// plane is a half-plane with a unit normal that points out.
type plane struct{ nx, ny, c float64 }

// depth returns how far the displacement lies inside the region: 0 outside; at
// most, and near the region's border usually exactly, the way that the second
// shape would have to move to come free.
func (r *region) depth(dx, dy float64) float64 {
	if dx <= r.loX || dx >= r.hiX || dy <= r.loY || dy >= r.hiY {
		return 0
	}
	best := 0.0
	for i := range r.parts {
		p := &r.parts[i]
		if dx <= p.loX || dx >= p.hiX || dy <= p.loY || dy >= p.hiY {
			continue
		}
		least := min(dx-p.loX, p.hiX-dx, dy-p.loY, p.hiY-dy)
		if least <= best {
			continue
		}
		for k := range p.planes {
			h := &p.planes[k]
			if d := h.c - h.nx*dx - h.ny*dy; d < least {
				if least = d; least <= best {
					break
				}
			}
		}
		if least > best {
			best = least
		}
	}
	return best
}

// newRegion returns the region of shapes made of convex parts, grown by gap mm
// all round (corners are cut off square to the axes, where they would spike).
func newRegion(first, second []geometry.Polyline, gap float64) region {
	var sums []sum
	for _, a := range first {
		for _, b := range second {
			sums = append(sums, sum{a, b})
		}
	}
	r := region{loX: math.Inf(1), loY: math.Inf(1), hiX: math.Inf(-1), hiY: math.Inf(-1)}
	for _, s := range sums {
		r.parts = append(r.parts, s.set(gap))
	}
	r.parts = pruned(sums, r.parts, gap)
	// The roomiest first: where one is deep, the others need not be looked into.
	slices.SortStableFunc(r.parts, func(p, q convexSet) int { return cmp.Compare(q.narrow(), p.narrow()) })
	for _, p := range r.parts {
		r.loX, r.loY = math.Min(r.loX, p.loX), math.Min(r.loY, p.loY)
		r.hiX, r.hiY = math.Max(r.hiX, p.hiX), math.Max(r.hiY, p.hiY)
	}
	return r
}

// narrow is the shorter side of the set's bounds.
func (c *convexSet) narrow() float64 { return min(c.hiX-c.loX, c.hiY-c.loY) }

// negated returns the region with the two shapes exchanged.
func (r region) negated() region {
	out := region{loX: -r.hiX, loY: -r.hiY, hiX: -r.loX, hiY: -r.loY, parts: make([]convexSet, len(r.parts))}
	for i, p := range r.parts {
		q := convexSet{loX: -p.hiX, loY: -p.hiY, hiX: -p.loX, hiY: -p.loY, planes: make([]plane, len(p.planes))}
		for k, h := range p.planes {
			q.planes[k] = plane{-h.nx, -h.ny, h.c}
		}
		out.parts[i] = q
	}
	return out
}

// sum is the Minkowski sum of a and -b, both convex.
type sum struct{ a, b geometry.Polyline }

// support returns how far the sum reaches in the direction n.
func (s sum) support(nx, ny float64) float64 {
	a, b := math.Inf(-1), math.Inf(-1)
	for _, q := range s.a {
		a = math.Max(a, nx*q.X+ny*q.Y)
	}
	for _, q := range s.b {
		b = math.Max(b, -nx*q.X-ny*q.Y)
	}
	return a + b
}

// set returns the sum as its bounds and half-planes, one for each edge of either ring
// that is not parallel to an axis. What cuts most off the bounds comes first, since
// most points fall to it.
func (s sum) set(gap float64) convexSet {
	out := convexSet{
		loX: -s.support(-1, 0) - gap, loY: -s.support(0, -1) - gap,
		hiX: s.support(1, 0) + gap, hiY: s.support(0, 1) + gap,
	}
	add := func(nx, ny float64) {
		if math.Abs(nx) < 1e-12 || math.Abs(ny) < 1e-12 {
			return
		}
		for _, h := range out.planes {
			if math.Abs(h.nx-nx) < 1e-12 && math.Abs(h.ny-ny) < 1e-12 {
				return
			}
		}
		out.planes = append(out.planes, plane{nx, ny, s.support(nx, ny) + gap})
	}
	for i := range s.a {
		if e := after(s.a, i).Sub(s.a[i]).Unit(); e != (geometry.Vec{}) {
			add(e.Y, -e.X)
		}
	}
	for i := range s.b {
		if e := after(s.b, i).Sub(s.b[i]).Unit(); e != (geometry.Vec{}) {
			add(-e.Y, e.X)
		}
	}
	slices.SortStableFunc(out.planes, func(p, q plane) int { return cmp.Compare(out.cutBy(q), out.cutBy(p)) })
	return out
}

// cutBy returns how far the bounds reach beyond a plane.
func (c *convexSet) cutBy(h plane) float64 {
	return max(h.nx*c.loX, h.nx*c.hiX) + max(h.ny*c.loY, h.ny*c.hiY) - h.c
}

// pruned drops the sets that lie inside another one.
func pruned(sums []sum, sets []convexSet, gap float64) []convexSet {
	var out []convexSet
	gone := make([]bool, len(sets))
	for i := range sets {
		for j := range sets {
			if i != j && !gone[j] && within(sums[i], sets[j], gap) {
				gone[i] = true
				break
			}
		}
		if !gone[i] {
			out = append(out, sets[i])
		}
	}
	return out
}

// within reports whether a sum, grown by gap, lies in a set.
func within(s sum, in convexSet, gap float64) bool {
	for _, h := range append([]plane{{1, 0, in.hiX}, {-1, 0, -in.loX}, {0, 1, in.hiY}, {0, -1, -in.loY}}, in.planes...) {
		if s.support(h.nx, h.ny)+gap > h.c+1e-12*math.Abs(h.c) {
			return false
		}
	}
	return true
}
