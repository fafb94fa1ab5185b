package geometry

// Stretch is a part of an outline or hole, from one point on it to another in
// the direction of its knots, and why it is named.
type Stretch struct {
	From Point  `json:"from_mm"`
	To   Point  `json:"to_mm"`
	Why  string `json:"why,omitempty"`
}

// Grain is a direction in degrees counter-clockwise from +x, in [0, 180), with a
// certainty from 0 to 1.
type Grain struct {
	Deg  float64 `json:"deg"`
	Sure float64 `json:"sure"`
}
