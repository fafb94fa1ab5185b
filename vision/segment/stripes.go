package segment

import (
	"math"
	"slices"

	"secondcut/vision/calib"
)

// Stripes and figures of the floor's own colour that end at the edge leave
// notches in it. Set on composites of striped and printed cloth.
const (
	stripeMM   = 20.0 // widest notch that is closed
	eitherMost = 2.0  // of the local looks' log ratio against cloth, where the colour may be either's
)

// closeStripes fills narrow notches in the edge of cloth of two colours where the
// floor has one of them, and what fills them could be either.
func (r *refiner) closeStripes() {
	w, h := r.pl.Width, r.pl.Height
	twofold := make([]bool, len(r.scene.feat))
	for c, s := range r.sure {
		twofold[c] = s == 0 && r.looks[0][c].n > 0 && r.looks[1][c].n > 0 && r.looks[0][c].twofold()
	}
	if !slices.Contains(twofold, true) {
		return
	}
	reach := max(1, int(math.Round(stripeMM*r.pl.PxPerMM/2)))
	closed := shrink(grow(r.mask, w, h, reach), w, h, reach)
	for i, in := range closed {
		if !in || r.mask[i] || r.pl.Known[i] != calib.KnownScene {
			continue
		}
		c := r.cellOf(i)
		if !twofold[c] || r.hard != nil && r.hard[i] < 0 {
			continue
		}
		colour := r.tables.fromBGR(r.pl.BGR[3*i : 3*i+3])
		if r.looks[0][c].logDensity(colour)-r.looks[1][c].logDensity(colour) > -eitherMost {
			r.mask[i] = true
		}
	}
}
