package segment

import (
	"math"

	"secondcut/vision/segment/internal/cut"
)

// links holds what an edge between two neighbours costs, by the squared
// difference of their colours, in steps: full weight where they are alike,
// falling as exp(-d2 / 2 beta) (Boykov and Jolly 2001).
type links struct {
	perStep float32
	costs   [64]int32
}

// newLinks prepares the costs for a picture whose neighbours differ by beta on
// average (squared).
func newLinks(weight, beta float32) *links {
	const fine = 8 // steps to beta
	t := &links{perStep: fine / beta}
	for k := range t.costs {
		t.costs[k] = int32(float64(weight)*costUnit*math.Exp(-float64(k)/(2*fine))) + 1
	}
	return t
}

// cost is lower across corners, so that an edge costs about the same however it
// runs.
func (t *links) cost(d2 float32, direction int) int32 {
	c := t.costs[int(min(d2*t.perStep, float32(len(t.costs)-1)))]
	if direction >= cut.SouthEast {
		c = c * 7 / 10
	}
	return c
}
