package sheet

import (
	"errors"
	"fmt"

	"secondcut/geometry"
)

// Errors of this package; what is returned wraps one of them.
var (
	// ErrNoPiece says that there is nothing to print.
	ErrNoPiece = errors.New("there is no piece to print")
	// ErrOutline says that a piece's outline encloses no area or is not finite.
	ErrOutline = errors.New("the outline cannot be printed")
	// ErrMargin says that a margin is out of range.
	ErrMargin = errors.New("the margin must be between 10 and 25 mm")
	// ErrTooLarge says that the drawing needs more tiles than anybody would
	// join.
	ErrTooLarge = errors.New("too many sheets; is the scale right? A larger paper needs fewer")
	// ErrNoTile says that a tile that was asked for does not exist.
	ErrNoTile = errors.New("there is no such sheet")
)

// Piece is what is printed of one pattern piece, in mm, y up, in any frame.
type Piece struct {
	// Name is printed large; "Piece 1", "Piece 2" ... where it is empty.
	Name string
	// Outline is the line to cut along.
	Outline geometry.Path
	// Holes are cut out.
	Holes []geometry.Path
	// Notes are lines of text under the name.
	Notes []string
	// GrainDeg is the direction of the grain in degrees counter-clockwise from
	// +x; nil where it is not known, and then no arrow is drawn.
	GrainDeg *float64
	// UncertaintyMM is the distance in mm within which 95 % of the true edge is
	// expected to lie from the outline; 0 where it is not known, and then the
	// print says so.
	UncertaintyMM float64
	// Unsure are the stretches that the photo did not show well.
	Unsure []geometry.Stretch
	// Meaning says what the outline is. Default: the edge of the cloth as
	// photographed, with nothing added.
	Meaning string
}

// Options of printing. The zero value prints tiles of A4.
type Options struct {
	// Paper of the PDF; default A4.
	Paper Paper
	// MarginMM is the empty margin round each page in mm, 10 to 25; default 10.
	// Some printers need 15 to 20.
	MarginMM float64
	// Tiles names the only tiles to print, such as "B2", in order of the
	// drawing and without page one; empty for all. Not for [One].
	Tiles []string
	// PxPerMM is the resolution of a PNG in pixels a millimetre; default: 4, or
	// less where the picture would pass 16 megapixels.
	PxPerMM float64
}

const (
	defaultMargin = 10.0
	maxMargin     = 25.0
	plainMeaning  = "The line is the edge of the cloth as photographed. Nothing is added to it."
	// flat is the chord error in mm of outlines that are only measured against,
	// not drawn.
	flat = 0.02
)

// withDefaults fills in what was left open and checks the rest.
func (o Options) withDefaults() (Options, error) {
	if o.Paper == (Paper{}) {
		o.Paper = A4
	}
	if o.MarginMM == 0 {
		o.MarginMM = defaultMargin
	}
	if !(o.MarginMM >= defaultMargin && o.MarginMM <= maxMargin) {
		return o, fmt.Errorf("sheet: %g mm: %w", o.MarginMM, ErrMargin)
	}
	return o, nil
}

// checked returns copies of the pieces with names and meanings filled in.
func checked(pieces []Piece) ([]Piece, error) {
	if len(pieces) == 0 {
		return nil, fmt.Errorf("sheet: %w", ErrNoPiece)
	}
	out := make([]Piece, len(pieces))
	for i, p := range pieces {
		if p.Name == "" {
			p.Name = fmt.Sprintf("Piece %d", i+1)
		}
		if p.Meaning == "" {
			p.Meaning = plainMeaning
		}
		for _, path := range p.paths() {
			for _, s := range path.Segments() {
				if !(s.A.IsFinite() && s.B.IsFinite() && s.C.IsFinite()) {
					return nil, fmt.Errorf("sheet: %s: %w: %w", p.Name, ErrOutline, geometry.ErrNotFinite)
				}
			}
		}
		// A square millimetre is less than any cloth.
		if a := p.Outline.Area(); a < 1 && a > -1 {
			return nil, fmt.Errorf("sheet: %s: %w: it encloses no area", p.Name, ErrOutline)
		}
		out[i] = p
	}
	return out, nil
}

// paths returns outline and holes.
func (p Piece) paths() []geometry.Path {
	return append([]geometry.Path{p.Outline}, p.Holes...)
}

// rings returns outline and holes as dense polylines.
func (p Piece) rings() []geometry.Polyline {
	var out []geometry.Polyline
	for _, path := range p.paths() {
		out = append(out, path.Flatten(flat))
	}
	return out
}

// coarse returns outline and holes as polylines within half a millimetre or so,
// with no two points closer than that, to find room for words: their number
// depends on the size of the piece and not on how densely it was traced.
func (p Piece) coarse() []geometry.Polyline {
	const apart = 0.75
	var out []geometry.Polyline
	for _, path := range p.paths() {
		var ring geometry.Polyline
		for _, q := range path.Flatten(0.5) {
			if n := len(ring); n == 0 || q.Dist(ring[n-1]) >= apart {
				ring = append(ring, q)
			}
		}
		out = append(out, ring)
	}
	return out
}

// moved returns the piece shifted by v.
func (p Piece) moved(v geometry.Vec) Piece {
	shift := func(q geometry.Point) geometry.Point { return q.Add(v) }
	p.Outline = p.Outline.Map(shift)
	holes := make([]geometry.Path, len(p.Holes))
	for i, h := range p.Holes {
		holes[i] = h.Map(shift)
	}
	p.Holes = holes
	unsure := make([]geometry.Stretch, len(p.Unsure))
	for i, s := range p.Unsure {
		unsure[i] = geometry.Stretch{From: shift(s.From), To: shift(s.To), Why: s.Why}
	}
	p.Unsure = unsure
	return p
}

// bounds returns the smallest upright rectangle round the outline.
func (p Piece) bounds() (lo, hi geometry.Point) { return p.Outline.Flatten(flat).Bounds() }

// sizeText says how large the piece is over all.
func (p Piece) sizeText() string {
	lo, hi := p.bounds()
	w, h := hi.X-lo.X, hi.Y-lo.Y
	return fmt.Sprintf("%.1f × %.1f mm (%.2f × %.2f in)", w, h, w/inch, h/inch)
}

// sureText says how far the line can be trusted.
func (p Piece) sureText() string {
	if p.UncertaintyMM <= 0 {
		return "Traced from a photograph; how far the line may be off is not known."
	}
	return fmt.Sprintf("Traced from a photograph; 95 %% of the true edge is expected within %.1f mm of the line.", max(p.UncertaintyMM, 0.1))
}
