package fit

import "secondcut/geometry"

// Sample is one point of a raw edge: a closed ring of them, in order, is what
// [Edge] fits. Positions are millimetres in the plane frame.
type Sample struct {
	At geometry.Point
	// SigmaMM is the standard uncertainty of the point across the edge, in mm,
	// as far as the photo shows: fray and ripple not counted.
	SigmaMM float64
	// Weak says that the evidence for the edge was poor here.
	Weak bool
}
