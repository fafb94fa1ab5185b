package segment

// Options of [Cloth]. The zero value is usable.
type Options struct {
	// Strokes are the person's marks, in the order drawn: where two cross, the
	// later wins.
	Strokes []Stroke
	// NoPrior leaves the learned guess out, so that colour, texture and place
	// decide alone. For tests and comparisons. Default false.
	NoPrior bool
}
