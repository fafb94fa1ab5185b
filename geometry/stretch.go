package geometry

// Stretch is a part of an outline or hole, from one point on it to another in
// the direction of its knots, and why it is named.
type Stretch struct {
	From Point  `json:"from_mm"`
	To   Point  `json:"to_mm"`
	Why  string `json:"why,omitempty"`
	// UncertaintyMM is the distance in mm within which 95 % of the true edge is
	// expected to lie from this stretch; 0 = not said.
	UncertaintyMM float64 `json:"uncertainty_mm,omitempty"`
}

// Grain is a direction in degrees counter-clockwise from +x, in [0, 180), with a
// certainty from 0 to 1.
type Grain struct {
	Deg  float64 `json:"deg"`
	Sure float64 `json:"sure"`
}

// NotchCut is a cut into a traced edge that looks as if somebody made it: a notch
// that can be offered as one.
type NotchCut struct {
	// At is its middle, a point of the clean outline or hole.
	At Point `json:"at_mm"`
	// DepthMM is how far it goes in from the clean edge, WidthMM how wide its mouth is.
	DepthMM float64 `json:"depth_mm"`
	WidthMM float64 `json:"width_mm"`
	// Sure is the certainty, 0.5..1; what is less sure is not given.
	Sure float64 `json:"sure"`
}
