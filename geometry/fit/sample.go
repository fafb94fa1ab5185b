package fit

import "secondcut/geometry"

// Sample is one point of a raw edge: a closed ring of them, in order, is what
// [Edge] fits. Positions are millimetres in the plane frame.
type Sample struct {
	At geometry.Point
	// SigmaMM is the standard uncertainty of the point across the edge, in mm,
	// as far as the photo shows: fray and ripple not counted.
	SigmaMM float64
	// BiasMM is the part of the uncertainty that neighbours share, in mm (a
	// standard deviation): a shadow beside the cloth or a blurred edge moves long
	// stretches to one side, and no fit takes that out. 0 where there is none.
	BiasMM float64
	// Weak says that the evidence for the edge was poor here.
	Weak bool
}
