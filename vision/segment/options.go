package segment

import "secondcut/vision/segment/prior"

// Options of [Cloth]. The zero value is usable.
type Options struct {
	// Strokes are the person's marks, in the order drawn: where two cross, the
	// later wins.
	Strokes []Stroke
	// NoPrior leaves the learned guess out, so that colour, texture and place
	// decide alone. For tests and comparisons. Default false.
	NoPrior bool
}

// Prepare loads the learned guess, so that the first [Cloth] of a process need
// not wait for it. It may run while other work goes on, and more than once.
func Prepare() { prior.Load() }
