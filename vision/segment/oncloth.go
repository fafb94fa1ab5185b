package segment

import (
	"secondcut/geometry"
	"secondcut/vision/calib"
)

// When a stretch of edge along a card's rim is taken for the rim of a card that
// lies on the cloth, in mm; set on composites with cards on and beside the cloth.
const (
	rimMM    = 4.0 // a card this near outside the edge is followed
	rimGapMM = 12  // along the edge: the card's corners
	dipMM    = 5.0 // into the cloth: a card that only touches leaves the edge where it is
)

// doubtCards marks the stretches where the edge makes way for a card, as it does
// where the card lies on the cloth: the edge under it is not seen.
func (r *refiner) doubtCards(c *Contour) {
	n := len(c.Points)
	rim := make([]bool, n)
	start := -1
	for i := range n {
		rim[i] = r.cardBeyond(c.Points, i)
		if !rim[i] && start < 0 {
			start = i
		}
	}
	if start < 0 {
		return
	}
	for i := start; i < start+n; i++ {
		if !rim[i%n] {
			continue
		}
		first, last := i, i
		for ; i < start+n && i-last <= rimGapMM/spacing; i++ {
			if rim[i%n] {
				last = i
			}
		}
		if dip(c.Points, first, last) > dipMM {
			for k := first; k <= last; k++ {
				c.Doubt[k%n], c.Why[k%n] = 1, whyOnCloth
			}
		}
	}
}

// cardBeyond reports whether a card lies just outside the contour's point i.
func (r *refiner) cardBeyond(ring geometry.Polyline, i int) bool {
	n := len(ring)
	out := ring[(i+3)%n].Sub(ring[(i+n-3)%n]).Unit().Perp().Scale(-rimMM)
	x, y := r.pl.Pixel(ring[i].Add(out))
	u, v := int(x+0.5), int(y+0.5)
	return u >= 0 && v >= 0 && u < r.pl.Width && v < r.pl.Height && r.pl.Known[v*r.pl.Width+u] == calib.KnownCard
}

// dip returns how far in mm the ring strays from the chord between its points
// first and last to the left, which is inwards.
func dip(ring geometry.Polyline, first, last int) (most float64) {
	n := len(ring)
	a := ring[first%n]
	u := ring[last%n].Sub(a).Unit()
	for k := first; k <= last; k++ {
		most = max(most, u.Cross(ring[k%n].Sub(a)))
	}
	return most
}
