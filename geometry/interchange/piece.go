package interchange

import (
	"math"

	"secondcut/geometry"
)

// Pattern is what a file holds.
type Pattern struct {
	// Name is that of the garment, Size its size as people write it.
	Name, Size string
	Pieces     []Piece
	// Skipped counts what a reader could not use, by the name that the format has for it.
	Skipped map[string]int
	// Findings are what else a reader has to say.
	Findings []geometry.Finding
}

// Piece is one piece, mm, y up, in any frame.
type Piece struct {
	Name string
	// Quantity is how often it is cut, Mirrored how many of these are mirror images; 0 =
	// not said.
	Quantity, Mirrored int
	Material           string
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
	Notes   []Note
}

// LineKind says what a line is.
type LineKind string

// The kinds of lines: drawn on the cloth, sewn along, folded along, and the line that a half
// is mirrored about. A format that has no lines to fold draws them.
const (
	LineInternal LineKind = "internal"
	LineSew      LineKind = "sew"
	LineFold     LineKind = "fold"
	LineMirror   LineKind = "mirror"
)

// Line is an open line through its points.
type Line struct {
	Kind   LineKind
	Points []geometry.Point
}

// NotchShape is the shape of a notch; the zero value is a slit.
type NotchShape string

// The shapes: a cut, a wedge, a cut with a bar across its end, and one of the shapes of
// other programs, which are cut as slits here.
const (
	NotchSlit  NotchShape = ""
	NotchV     NotchShape = "v"
	NotchT     NotchShape = "t"
	NotchOther NotchShape = "other"
)

// Notch is a notch in the cut line.
type Notch struct {
	// At is where it begins, on the cut line.
	At geometry.Point
	// Turn is the direction that it runs in, in radians counter-clockwise from +x.
	Turn float64
	// DepthMM is how far it runs; 0 = not said.
	DepthMM float64
	Shape   NotchShape
}

// Note is a line of words, and where it begins.
type Note struct {
	At   geometry.Point
	Text string
}

// Wound returns a path that runs so that its area has a sign: 1 counter-clockwise, -1
// clockwise. It begins where p does.
func Wound(p geometry.Path, sign float64) geometry.Path {
	if p.Area()*sign > 0 {
		return p
	}
	out := make(geometry.Path, len(p))
	for i, k := range p {
		out[(len(p)-i)%len(p)] = geometry.Knot{At: k.At, In: k.Out, Out: k.In, Corner: k.Corner}
	}
	return out
}

// Finite reports whether every coordinate is a finite number.
func (q Piece) Finite() bool {
	all := append([]geometry.Point{}, q.Drills...)
	for _, r := range append([]geometry.Path{q.Cut, q.Sew}, q.CutOuts...) {
		for _, s := range r.Segments() {
			all = append(all, s.A, s.B, s.C)
		}
	}
	for _, l := range q.Lines {
		all = append(all, l.Points...)
	}
	for _, n := range q.Notches {
		all = append(all, n.At, geometry.Point{X: n.Turn, Y: n.DepthMM})
	}
	for _, n := range q.Notes {
		all = append(all, n.At)
	}
	if q.Grain != nil {
		all = append(all, q.Grain[:]...)
	}
	for _, a := range all {
		if !a.IsFinite() {
			return false
		}
	}
	return true
}

// SideBySide returns the moves that lay pieces in a row, a distance in mm apart, with
// their lower edges on y = 0.
func SideBySide(pieces []Piece, apart float64) []geometry.Vec {
	out := make([]geometry.Vec, len(pieces))
	x := 0.0
	for i, q := range pieces {
		lo, hi := q.Bounds()
		out[i] = geometry.Vec{X: x - lo.X, Y: -lo.Y}
		x += hi.X - lo.X + apart
	}
	return out
}

// Bounds returns the corners of the cut line's bounds.
func (q Piece) Bounds() (lo, hi geometry.Point) {
	const chord = 0.005
	return q.Cut.Flatten(chord).Bounds()
}

// Moved returns the piece moved.
func (q Piece) Moved(by geometry.Vec) Piece {
	move := func(p geometry.Point) geometry.Point { return p.Add(by) }
	all := func(in []geometry.Point) []geometry.Point {
		out := make([]geometry.Point, len(in))
		for i, p := range in {
			out[i] = move(p)
		}
		return out
	}
	out := q
	out.Cut, out.Sew, out.Drills = q.Cut.Map(move), q.Sew.Map(move), all(q.Drills)
	out.CutOuts, out.Lines, out.Notches, out.Notes = nil, nil, nil, nil
	for _, h := range q.CutOuts {
		out.CutOuts = append(out.CutOuts, h.Map(move))
	}
	for _, l := range q.Lines {
		out.Lines = append(out.Lines, Line{l.Kind, all(l.Points)})
	}
	for _, n := range q.Notches {
		n.At = move(n.At)
		out.Notches = append(out.Notches, n)
	}
	for _, n := range q.Notes {
		out.Notes = append(out.Notes, Note{move(n.At), n.Text})
	}
	if q.Grain != nil {
		out.Grain = &[2]geometry.Point{move(q.Grain[0]), move(q.Grain[1])}
	}
	return out
}

// towards returns the direction of a turn.
func towards(turn float64) geometry.Vec {
	s, c := math.Sincos(turn)
	return geometry.Vec{X: c, Y: s}
}
