package proof

import (
	"math"

	"secondcut/geometry"
)

// grid finds the place of a ring that is nearest to a point without looking at all of it.
type grid struct {
	ring  geometry.Polyline
	cells map[[2]int][]int
	side  float64
}

func newGrid(ring geometry.Polyline) grid {
	lo, hi := ring.Bounds()
	g := grid{ring: ring, cells: map[[2]int][]int{}, side: math.Max(lo.Dist(hi)/40, 1)}
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		n := int(a.Dist(b)/g.side*2) + 1
		for j := range n + 1 {
			c := g.cell(a.Lerp(b, float64(j)/float64(n)))
			if list := g.cells[c]; len(list) == 0 || list[len(list)-1] != i {
				g.cells[c] = append(list, i)
			}
		}
	}
	return g
}

func (g grid) cell(p geometry.Point) [2]int {
	return [2]int{int(math.Floor(p.X / g.side)), int(math.Floor(p.Y / g.side))}
}

// nearest returns the place: cells are looked at in growing squares until none can hold a
// nearer one. Far away, all sides are looked at.
func (g grid) nearest(p geometry.Point) geometry.Point {
	const farthest = 12
	c := g.cell(p)
	best, at := math.Inf(1), g.ring[0]
	try := func(i int) {
		q := onStretch(g.ring[i], g.ring[(i+1)%len(g.ring)], p)
		if d := q.Dist(p); d < best {
			best, at = d, q
		}
	}
	for r := range farthest {
		if best < float64(r-1)*g.side {
			return at
		}
		for dx := -r; dx <= r; dx++ {
			for dy := -r; dy <= r; dy++ {
				if max(dx, -dx) == r || max(dy, -dy) == r {
					for _, i := range g.cells[[2]int{c[0] + dx, c[1] + dy}] {
						try(i)
					}
				}
			}
		}
	}
	for i := range g.ring {
		try(i)
	}
	return at
}
