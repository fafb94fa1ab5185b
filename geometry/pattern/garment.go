package pattern

import "secondcut/geometry"

// Format names the version of the garment file that this package reads and
// writes.
const Format = "secondcut-garment/1"

// Garment is what a garment file holds.
type Garment struct {
	Format string  `json:"format"`
	Name   string  `json:"name"`
	Pieces []Piece `json:"pieces"`
}

// Piece is one pattern piece in the piece frame: mm, y up, drawn as seen in its
// photo.
type Piece struct {
	// ID names the piece within its garment and never changes.
	ID string `json:"id"`
	// Name is what people call it.
	Name string `json:"name"`
	// Knots is the outer outline, counter-clockwise.
	Knots geometry.Path `json:"knots"`
	// Holes run clockwise.
	Holes []geometry.Path `json:"holes,omitempty"`
	// Edges cut the outline into named stretches, in the order of their knots.
	Edges []Edge `json:"edges"`
	// UncertaintyMM is the distance in mm within which 95 % of the true edge is
	// expected to lie from the outline; 0 where it is not known.
	UncertaintyMM float64 `json:"uncertainty_mm"`
	// Unsure are stretches that the photo did not show well.
	Unsure []Stretch `json:"unsure,omitempty"`
	// Grain is the direction of the grain as the photo suggests it, in the piece
	// frame; absent where none could be seen.
	Grain *Grain `json:"grain,omitempty"`
	// PlaneToPiece takes positions in the plane frame of the photo to the piece
	// frame.
	PlaneToPiece geometry.Rigid `json:"plane_to_piece"`
}

// Edge is a stretch of the outline: from its first knot up to the first knot of
// the next edge, the last one round to the first.
type Edge struct {
	// ID names the edge within its piece and never changes.
	ID string `json:"id"`
	// Name says where it lies (top, right, bottom, left) until the person names
	// it.
	Name string `json:"name"`
	// Knot is the index of its first knot.
	Knot int `json:"knot"`
}

// Stretch is a part of an outline or hole from one point on it to another, in
// the direction of its knots, and why it is named.
type Stretch struct {
	From geometry.Point `json:"from_mm"`
	To   geometry.Point `json:"to_mm"`
	Why  string         `json:"why,omitempty"`
}

// Grain is a direction in degrees counter-clockwise from +x, in [0, 180), with a
// certainty from 0 to 1.
type Grain struct {
	Deg  float64 `json:"deg"`
	Sure float64 `json:"sure"`
}
