package dxf

import (
	"errors"

	"secondcut/geometry"
)

// Errors of this package; what is returned wraps one of them.
var (
	// ErrNotDXF says that a file is no DXF in text, or is damaged.
	ErrNotDXF = errors.New("this is not a DXF file in text form")
	// ErrNoPiece says that there is no closed outline to write, or none in a file.
	ErrNoPiece = errors.New("there is no closed outline")
	// ErrTooLarge says that a file holds more than any pattern does.
	ErrTooLarge = errors.New("the file is larger than any pattern")
)

// Layers of ASTM D6673, as far as they are written and read here. Layer 12 is blank in
// the standard and means something else in its predecessor, so it is never written.
const (
	layerCut      = "1"
	layerTurn     = "2"
	layerCurve    = "3"
	layerNotch    = "4"
	layerMirror   = "6"
	layerGrain    = "7"
	layerInternal = "8"
	layerCutOut   = "11"
	layerDrill    = "13"
	layerSew      = "14"
	layerText     = "15"
	layerTNotch   = "80"
)

// Pattern is what a file holds.
type Pattern struct {
	// Name is that of the garment, Size its size as people write it.
	Name, Size string
	Pieces     []Piece
	// Skipped counts the entities that Read could not use, by their DXF name.
	Skipped map[string]int
}

// Piece is one piece, mm, y up, in any frame.
type Piece struct {
	Name string
	// Quantity is how often it is cut; 0 = not said.
	Quantity int
	Material string
	// Cut is the line to cut along, counter-clockwise; CutOuts run clockwise.
	Cut     geometry.Path
	CutOuts []geometry.Path
	// Sew is the line to sew along; empty where there is none.
	Sew geometry.Path
	// Lines are drawn and not cut.
	Lines []Line
	// Grain has two ends; nil where it is not known.
	Grain   *[2]geometry.Point
	Notches []Notch
	Drills  []geometry.Point
	// Notes are written on the piece, one below the other.
	Notes []string
}

// LineKind says what a line is.
type LineKind string

// The kinds of lines: drawn on the cloth, sewn along, and the line that a half is
// mirrored about.
const (
	LineInternal LineKind = layerInternal
	LineSew      LineKind = layerSew
	LineMirror   LineKind = layerMirror
)

// Line is an open line through its points.
type Line struct {
	Kind   LineKind
	Points []geometry.Point
}

// Notch is a notch in the cut line.
type Notch struct {
	// At is where it begins, on the cut line.
	At geometry.Point
	// Turn is the direction that it runs in, in radians counter-clockwise from +x.
	Turn float64
	// DepthMM is how far it runs; 0 = not said.
	DepthMM float64
	// T says that it has a bar across its end.
	T bool
}
