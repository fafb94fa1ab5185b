package outline

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// ink knows where the scale cards are printed: their black pattern says nothing
// about where the cloth ends, while their white paper is ground like any other.
type ink []placed

// placed is a card on the plane: its centre and the direction of its x axis.
type placed struct {
	centre   geometry.Point
	cos, sin float64
}

// newInk places the cards of a photo.
func newInk(cards []vision.CardReport) ink {
	out := make(ink, 0, len(cards))
	for _, c := range cards {
		s, co := math.Sincos(c.TurnDeg * math.Pi / 180)
		out = append(out, placed{c.Centre, co, s})
	}
	return out
}

// near returns the cards that reach within r millimetres of p.
func (k ink) near(p geometry.Point, r float64) ink {
	var out ink
	for _, c := range k {
		if c.centre.Dist(p) < card.SideMM/math.Sqrt2+r {
			out = append(out, c)
		}
	}
	return out
}

// covers reports whether p lies on the print of one of the cards, or within the
// millimetre about it that blur reaches.
func (k ink) covers(p geometry.Point) bool {
	const blur = 1.0
	for _, c := range k {
		d := p.Sub(c.centre)
		x, y := math.Abs(c.cos*d.X+c.sin*d.Y), math.Abs(c.cos*d.Y-c.sin*d.X)
		tag := math.Max(x, y) < card.TagMM/2+blur
		saddle := math.Max(math.Abs(x-card.SaddleMM), math.Abs(y-card.SaddleMM)) < card.SquareMM+blur
		if tag || saddle {
			return true
		}
	}
	return false
}
