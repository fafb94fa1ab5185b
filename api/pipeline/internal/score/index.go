package score

import (
	"math"

	"secondcut/geometry"
)

// index finds the nearest point on a ring.
type index struct{ parts []part }

// part is a run of up to 16 edges and a circle round them.
type part struct {
	edges  []edge
	middle geometry.Point
	reach  float64
}

type edge struct{ a, b geometry.Point }

func newIndex(ring geometry.Polyline) *index {
	ix := &index{}
	const run = 16
	for i := 0; i < len(ring); i += run {
		var p part
		for k := i; k < min(i+run, len(ring)); k++ {
			if a, b := ring[k], ring[(k+1)%len(ring)]; a != b {
				p.edges = append(p.edges, edge{a, b})
			}
		}
		if len(p.edges) == 0 {
			continue
		}
		p.middle = p.edges[0].a.Lerp(p.edges[len(p.edges)-1].b, 0.5)
		for _, e := range p.edges {
			p.reach = math.Max(p.reach, math.Max(p.middle.Dist(e.a), p.middle.Dist(e.b)))
		}
		ix.parts = append(ix.parts, p)
	}
	return ix
}

// foot returns the point of the ring nearest to q and the unit normal of the edge
// there.
func (ix *index) foot(q geometry.Point) (foot geometry.Point, normal geometry.Vec) {
	best := math.Inf(1)
	for i := range ix.parts {
		p := &ix.parts[i]
		if p.middle.Dist(q)-p.reach > best {
			continue
		}
		for _, e := range p.edges {
			d := e.b.Sub(e.a)
			t := math.Min(math.Max(q.Sub(e.a).Dot(d)/d.Dot(d), 0), 1)
			if f := e.a.Lerp(e.b, t); q.Dist(f) < best {
				best, foot, normal = q.Dist(f), f, d.Perp().Unit()
			}
		}
	}
	return foot, normal
}
