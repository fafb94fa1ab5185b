package fit

import (
	"math"

	"secondcut/geometry"
)

// What a cut must be like to pass for a notch that somebody made. Notches of
// patterns are 3 to 6 mm deep (common practice, no source); a tear leans, and on
// an edge that is worn a cut may be the wear itself.
const (
	notchLeast, notchMost = 2.7, 6.5 // depth, mm
	notchLean             = 0.13     // of its mouth
	notchNoise            = 0.12     // of its depth
)

// notch returns how sure it is, 0.5..1, that the excursion is a notch; ok is false
// where it does not look like one.
func (e *excursion) notch() (sure float64, ok bool) {
	if !e.inward || e.depth < notchLeast || e.depth > notchMost || e.lean >= notchLean || e.noise >= notchNoise*e.depth {
		return 0, false
	}
	return 1 - 0.5*math.Max(e.lean/notchLean, e.noise/(notchNoise*e.depth)), true
}

// notches returns the cuts that look like notches, each with its place on the path.
func notches(cuts []excursion, r *ring, path geometry.Path) (out []geometry.NotchCut) {
	in, thick := inward(cuts, r)
	if thick {
		return nil
	}
	outline := path.Flatten(0.02)
	for _, e := range in {
		if sure, ok := e.notch(); ok {
			at, _ := outline.Nearest(e.at)
			out = append(out, geometry.NotchCut{At: at, DepthMM: e.depth, WidthMM: e.width, Sure: sure})
		}
	}
	return out
}
