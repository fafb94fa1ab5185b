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
	// SeamPairs are edges that get sewn together.
	SeamPairs []SeamPair `json:"seam_pairs,omitempty"`
	// CurvePairs are edges to lay on each other and compare, such as the front
	// and the back of a neck or a crotch.
	CurvePairs []CurvePair `json:"curve_pairs,omitempty"`
	// Cloths are what it is cut from.
	Cloths []Cloth `json:"cloths,omitempty"`
	// Measures compare the finished garment with the body.
	Measures []Measure `json:"measures,omitempty"`
	// SizeWorn is the size on the label of the old garment, SizeMeasured the one
	// that was measured on it.
	SizeWorn     string `json:"size_worn,omitempty"`
	SizeMeasured string `json:"size_measured,omitempty"`
	// Date of the pattern, YYYY-MM-DD, and its Version, as people count them.
	Date    string `json:"date,omitempty"`
	Version string `json:"version,omitempty"`
	Notes   string `json:"notes,omitempty"`
	// Swatches are the photos that Cloths refer to, as far as they are there.
	Swatches Swatches `json:"swatches,omitempty"`
}

// Meaning says what a traced outline was on the old garment.
type Meaning string

// The two meanings. A piece that does not say is a MeansCutEdge.
const (
	MeansCutEdge    Meaning = "cut-edge"
	MeansStitchLine Meaning = "stitch-line"
)

// Face is the side of the cloth that faced up in the photo.
type Face string

// The two faces.
const (
	FaceRight Face = "right"
	FaceWrong Face = "wrong"
)

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
	// OutlineMeans says what the outline was; empty = MeansCutEdge.
	OutlineMeans Meaning `json:"outline_means,omitempty"`
	// Edges cut the outline into named stretches, in the order of their knots.
	Edges []Edge `json:"edges"`
	// LostEdges found no place when the outline changed; they are kept until the
	// person says where they run, and their Knot means nothing.
	LostEdges []Edge `json:"lost_edges,omitempty"`
	// Marks are what is drawn on the piece; their order is kept.
	Marks []Mark `json:"marks,omitempty"`
	// Label is what is written on it; absent = only its name.
	Label *Label `json:"label,omitempty"`
	// Face is the side of the cloth that faced up; empty = not known.
	Face Face `json:"face,omitempty"`
	// UncertaintyMM is the distance in mm within which 95 % of the true edge is
	// expected to lie from the outline; 0 where it is not known.
	UncertaintyMM float64 `json:"uncertainty_mm"`
	// Unsure are stretches that the photo did not show well.
	Unsure []geometry.Stretch `json:"unsure,omitempty"`
	// Grain is the direction of the grain as the photo suggests it, in the piece
	// frame; absent where none could be seen.
	Grain *geometry.Grain `json:"grain,omitempty"`
	// PlaneToPiece takes positions in the plane frame of the photo to the piece
	// frame.
	PlaneToPiece geometry.Rigid `json:"plane_to_piece"`
	// Derived says how the piece was made of others; absent for one that was traced.
	Derived *Derived `json:"derived,omitempty"`
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
	// OldAllowance is what lies outside the old stitch line where the outline is
	// a cut edge; absent = unknown. It means nothing where the outline is the
	// stitch line.
	OldAllowance *OldAllowance `json:"old_allowance,omitempty"`
	// Finish is what becomes of the edge; absent = kept as it is.
	Finish *Finish `json:"finish,omitempty"`
}

// OldAllowance says how far inside a traced cut edge the old stitch line lies.
type OldAllowance struct {
	Is OldKind `json:"is"`
	// MM is the distance for OldLength, above 0 up to MaxWidthMM, else 0.
	MM float64 `json:"mm,omitempty"`
}

// OldKind is what is known of an old allowance.
type OldKind string

// OldUnknown: not known yet; OldNone: the edge is worn down to the stitch line;
// OldLength: measured.
const (
	OldUnknown OldKind = "unknown"
	OldNone    OldKind = "none"
	OldLength  OldKind = "length"
)

// Piece returns the piece with an id.
func (g Garment) Piece(id string) (Piece, bool) {
	for _, p := range g.Pieces {
		if p.ID == id {
			return p, true
		}
	}
	return Piece{}, false
}

// Edge returns the index of the edge with an id, or -1.
func (p Piece) Edge(id string) int {
	for i, e := range p.Edges {
		if e.ID == id {
			return i
		}
	}
	return -1
}

// EdgeChain returns the segments of the edge with an index, in the direction of the
// outline.
func (p Piece) EdgeChain(k int) []geometry.Segment {
	return p.Knots.Between(p.Edges[k].Knot, p.Edges[(k+1)%len(p.Edges)].Knot)
}
