package pipeline

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision/segment"
)

// kept says how much of what a former Trace found of a piece still holds.
type kept int

const (
	keptNothing kept = iota
	keptGrain
	keptAll
)

const (
	// sameMM is how far two contours of one edge may lie apart: both lead the
	// search for the edge, which reaches over 4 mm, to the same place.
	sameMM = 2.0
	// grainShare is how much of a piece's contour must be as before for its grain
	// to hold, which is read from samples all over the piece.
	grainShare = 0.75
)

// former returns what is known of a region from the edges of the Trace before.
func former(before []edges, r segment.Region) (edges, kept) {
	best, share := -1, 0.0
	for i := range before {
		if v := alike(before[i].region.Outer.Points, r.Outer.Points); v > share {
			best, share = i, v
		}
	}
	if best < 0 || share < grainShare {
		return edges{region: r}, keptNothing
	}
	e := &before[best]
	if share == 1 && sameHoles(e.region.Holes, r.Holes) {
		return *e, keptAll
	}
	return edges{region: r, grain: e.grain}, keptGrain
}

func sameHoles(a, b []segment.Contour) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if alike(a[i].Points, b[i].Points) < 1 {
			return false
		}
	}
	return true
}

// alike returns the share of points of two contours, a millimetre apart, that lie
// within sameMM of the other contour; the lesser of the two shares.
func alike(a, b geometry.Polyline) float64 {
	return min(within(a, b), within(b, a))
}

// within returns the share of points of a that lie within sameMM of a point of b.
func within(a, b geometry.Polyline) float64 {
	type cell [2]int32
	at := func(p geometry.Point) cell {
		return cell{int32(math.Floor(p.X / sameMM)), int32(math.Floor(p.Y / sameMM))}
	}
	points := make(map[cell][]geometry.Point, len(b))
	for _, p := range b {
		points[at(p)] = append(points[at(p)], p)
	}
	near := func(p geometry.Point) bool {
		c := at(p)
		for x := c[0] - 1; x <= c[0]+1; x++ {
			for y := c[1] - 1; y <= c[1]+1; y++ {
				for _, q := range points[cell{x, y}] {
					if p.Dist(q) <= sameMM {
						return true
					}
				}
			}
		}
		return false
	}
	n := 0
	for _, p := range a {
		if near(p) {
			n++
		}
	}
	return float64(n) / float64(max(len(a), 1))
}
