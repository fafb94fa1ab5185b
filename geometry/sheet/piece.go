package sheet

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Errors of this package; what is returned wraps one of them.
var (
	// ErrNoPiece says that there is nothing to print.
	ErrNoPiece = errors.New("there is no piece to print")
	// ErrOutline says that a piece's outline encloses no area or is not finite.
	ErrOutline = errors.New("the outline cannot be printed")
	// ErrMargin says that a margin is out of range.
	ErrMargin = errors.New("the margin must be between 10 and 25 mm")
	// ErrPrintScale says that a printer's scale is out of range.
	ErrPrintScale = errors.New("the scales of the printer must be between 0.8 and 1.25")
	// ErrTooLarge says that the drawing needs more tiles than anybody would
	// join, or a longer page than a PDF can have.
	ErrTooLarge = errors.New("the drawing is too large for this paper; is its scale right? A larger paper needs fewer sheets")
	// ErrRoll says that a piece is wider than the roll, whichever way it lies.
	ErrRoll = errors.New("the piece is wider than the roll; choose a wider roll or sheets that are joined, such as a0")
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
	// Stitch is the line to sew along; empty where it is not known.
	Stitch geometry.Path
	// Folds are lines to fold along.
	Folds []Fold
	// Marks are drawn as they are; notches and snips begin on the outline.
	Marks []pattern.PlacedMark
	// Notes are lines of text under the name.
	Notes []string
	// Cuts say how often the piece is cut from which cloth, for the list of pieces.
	Cuts []string
	// Complete says that the notes are all that is to be written; else the size,
	// the meaning of the line and its doubt are added to them.
	Complete bool
	// GrainDeg is the direction of the grain in degrees counter-clockwise from
	// +x; nil where it is not known. The label runs along it, and where no mark
	// draws the grain, an arrow is.
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
	// size says how large the piece is, as it is given and not as it lies; small
	// that it has no room for all its words.
	size  string
	small bool
}

// Fold is a line to fold along.
type Fold struct {
	Points []geometry.Point
	// Text is written along it; may be empty.
	Text string
	// OnFold says that the piece is a half and that the fold of the cloth lies
	// here; it is not cut.
	OnFold bool
}

// Options of printing. The zero value prints tiles of A4.
type Options struct {
	// Paper of the PDF; default A4.
	Paper Paper
	// MarginMM is the empty margin round each page in mm, 10 to 25; default 10.
	// Some printers need 15 to 20.
	MarginMM float64
	// Tiles names the only tiles to print, such as "B2", in order of the
	// drawing and without page one; empty for all. Not for a single page.
	Tiles []string
	// PrintScale is how large the printer prints what should be 1, across and up
	// the paper as it is fed, each 0.8 to 1.25; the PDF is corrected by it. 0 = 1.
	PrintScale [2]float64
	// PxPerMM is the resolution of a PNG in pixels a millimetre; default: 4, or
	// less where the picture would pass 9 megapixels.
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
	for i, f := range o.PrintScale {
		if f == 0 {
			o.PrintScale[i] = 1
		} else if !(f >= 0.8 && f <= 1.25) {
			return o, fmt.Errorf("sheet: %g: %w", f, ErrPrintScale)
		}
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
		if err := p.finite(); err != nil {
			return nil, fmt.Errorf("sheet: %s: %w: %w", p.Name, ErrOutline, err)
		}
		// A square millimetre is less than any cloth.
		if a := p.Outline.Area(); a < 1 && a > -1 {
			return nil, fmt.Errorf("sheet: %s: %w: it encloses no area", p.Name, ErrOutline)
		}
		p.size = p.sizeText()
		p.small = newPlan(p, p.art(), nil).short
		out[i] = p
	}
	return out, nil
}

// finite reports a coordinate that is no number.
func (p Piece) finite() error {
	for _, path := range append(p.paths(), p.Stitch) {
		for _, s := range path.Segments() {
			if !(s.A.IsFinite() && s.B.IsFinite() && s.C.IsFinite()) {
				return geometry.ErrNotFinite
			}
		}
	}
	for _, l := range p.details() {
		if slices.ContainsFunc(l, func(q geometry.Point) bool { return !q.IsFinite() }) {
			return geometry.ErrNotFinite
		}
	}
	return nil
}

// paths returns outline and holes.
func (p Piece) paths() []geometry.Path {
	return append([]geometry.Path{p.Outline}, p.Holes...)
}

// details returns the open lines of marks and folds.
func (p Piece) details() [][]geometry.Point {
	var out [][]geometry.Point
	for _, f := range p.Folds {
		out = append(out, f.Points)
	}
	for _, m := range p.Marks {
		out = append(out, m.Lines...)
		if len(m.Lines) == 0 {
			out = append(out, []geometry.Point{m.At})
		}
	}
	return out
}

// hasGrainMark reports whether a mark draws the grain.
func (p Piece) hasGrainMark() bool {
	return slices.ContainsFunc(p.Marks, func(m pattern.PlacedMark) bool { return m.Kind == pattern.MarkGrain && len(m.Lines) > 0 })
}

// rings returns outline and holes as dense polylines.
func (p Piece) rings() []geometry.Polyline {
	var out []geometry.Polyline
	for _, path := range p.paths() {
		out = append(out, path.Flatten(flat))
	}
	return out
}

// coarse returns paths as polylines within half a millimetre or so, with no two
// points closer than that, to find room on: their number depends on the size of
// the piece and not on how densely it was traced.
func coarse(paths ...geometry.Path) []geometry.Polyline {
	const apart = 0.75
	var out []geometry.Polyline
	for _, path := range paths {
		var ring geometry.Polyline
		for _, q := range path.Flatten(0.3) {
			if n := len(ring); n == 0 || q.Dist(ring[n-1]) >= apart {
				ring = append(ring, q)
			}
		}
		out = append(out, ring)
	}
	return out
}

// bounds returns the smallest upright rectangle round the outline.
func (p Piece) bounds() box { return boundsOf(p.Outline.Flatten(flat)) }

// reach returns the smallest upright rectangle round all that is drawn, notches
// that stand out included.
func (p Piece) reach() box { return boundsOf(append(p.details(), p.Outline.Flatten(flat))...) }

// mapped returns the piece under a rigid map that turns it by deg degrees.
func (p Piece) mapped(f func(geometry.Point) geometry.Point, deg float64) Piece {
	points := func(line []geometry.Point) []geometry.Point {
		out := make([]geometry.Point, len(line))
		for i, q := range line {
			out[i] = f(q)
		}
		return out
	}
	p.Outline, p.Stitch = p.Outline.Map(f), p.Stitch.Map(f)
	p.Holes = slices.Clone(p.Holes)
	for i, h := range p.Holes {
		p.Holes[i] = h.Map(f)
	}
	p.Folds = slices.Clone(p.Folds)
	for i, l := range p.Folds {
		p.Folds[i].Points = points(l.Points)
	}
	p.Marks = slices.Clone(p.Marks)
	for i, m := range p.Marks {
		p.Marks[i].At = f(m.At)
		p.Marks[i].Lines = make([][]geometry.Point, len(m.Lines))
		for j, l := range m.Lines {
			p.Marks[i].Lines[j] = points(l)
		}
	}
	p.Unsure = slices.Clone(p.Unsure)
	for i, s := range p.Unsure {
		p.Unsure[i].From, p.Unsure[i].To = f(s.From), f(s.To)
	}
	if p.GrainDeg != nil {
		turned := *p.GrainDeg + deg
		p.GrainDeg = &turned
	}
	return p
}

// moved returns the piece shifted by v.
func (p Piece) moved(v geometry.Vec) Piece {
	return p.mapped(func(q geometry.Point) geometry.Point { return q.Add(v) }, 0)
}

// quartered returns the piece turned counter-clockwise by quarters of a turn,
// without rounding.
func (p Piece) quartered(quarters int) Piece {
	return p.mapped(func(q geometry.Point) geometry.Point {
		for range quarters & 3 {
			q = geometry.Point{X: -q.Y, Y: q.X}
		}
		return q
	}, 90*float64(quarters&3))
}

// sizeText says how large the piece is over all.
func (p Piece) sizeText() string {
	b := p.bounds()
	w, h := b.width(), b.height()
	text := fmt.Sprintf("%.1f_×_%.1f_mm (%.2f_×_%.2f_in)", w, h, w/inch, h/inch)
	return strings.ReplaceAll(text, "_", "\u00a0") // not broken over two lines
}

// sureText says how far the line can be trusted.
func (p Piece) sureText() string {
	if p.UncertaintyMM <= 0 {
		return "Traced from a photograph; how far the line may be off is not known."
	}
	return fmt.Sprintf("Traced from a photograph; 95 %% of the true edge is expected within %.1f mm of the line.", math.Max(p.UncertaintyMM, 0.1))
}
