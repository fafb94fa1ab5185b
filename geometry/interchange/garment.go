package interchange

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Codes of the findings of a pattern that is taken in.
const (
	// CodeLeft: something was not taken.
	CodeLeft = "import-left"
	// CodeAllowance: the old allowance of edges is not known.
	CodeAllowance = "import-allowance"
	// CodeClosed: a line was closed.
	CodeClosed = "import-closed"
	// CodeUnit: lengths were taken to be in a unit that the file only implies.
	CodeUnit = "import-unit"
)

// ErrTooMany says that a file has more pieces than a garment may have.
var ErrTooMany = errors.New("the file has more pieces than any garment")

// maxPieces is the largest number of pieces taken in.
const maxPieces = 500

// Garment makes a garment of a pattern: each cut line is an outline, turned to its grain,
// with notches hung on its edges, an old allowance for each edge that its sewing line
// follows at one distance, and the rest as marks. The findings say what was not taken. It
// fails with ErrTooMany, and with pattern.ErrInvalid where an outline cannot be a piece.
func Garment(name string, p Pattern) (pattern.Garment, []geometry.Finding, error) {
	g := pattern.Garment{Format: pattern.Format, Name: name, SizeMeasured: short(p.Size)}
	if g.Name == "" {
		g.Name = short(p.Name)
	}
	if g.Name == "" {
		g.Name = "Garment"
	}
	findings, err := Add(&g, p)
	return g, findings, err
}

// Add adds the pieces of a pattern to a garment, and fails as Garment does.
func Add(g *pattern.Garment, p Pattern) ([]geometry.Finding, error) {
	if len(p.Pieces)+len(g.Pieces) > maxPieces {
		return nil, fmt.Errorf("%d pieces: %w", len(p.Pieces), ErrTooMany)
	}
	findings := slices.Clone(p.Findings)
	for _, q := range p.Pieces {
		in, err := newIntake(g, q)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", q.Name, err)
		}
		in.take(q)
		g.Pieces = append(g.Pieces, in.piece)
		findings = append(findings, in.findings...)
	}
	return append(findings, left(p.Skipped)...), nil
}

// left says what a reader could not use.
func left(skipped map[string]int) []geometry.Finding {
	var kinds []string
	for kind, n := range skipped {
		kinds = append(kinds, fmt.Sprintf("%d of %s", n, kind))
	}
	if len(kinds) == 0 {
		return nil
	}
	slices.Sort(kinds)
	return []geometry.Finding{{
		Code: CodeLeft, Severity: geometry.SeverityInfo, Message: "Not taken from the file: " + strings.Join(kinds, ", ") + ".",
		Remedy: "Compare the pieces with the original; what is missing can be marked here.",
	}}
}

// intake is a piece that is being taken in.
type intake struct {
	garment  *pattern.Garment
	piece    pattern.Piece
	to       func(geometry.Point) geometry.Point
	edges    [][]geometry.Segment // the stitch line, edge by edge
	findings []geometry.Finding
	shapes   int // notches that became slits
	unheld   int // marks that were left
}

// newIntake begins a piece with its outline, finishes and old allowances.
func newIntake(g *pattern.Garment, q Piece) (*intake, error) {
	t := pattern.Traced{Outline: q.Cut, Holes: q.CutOuts}
	if q.Grain != nil && q.Grain[0] != q.Grain[1] {
		along := q.Grain[1].Sub(q.Grain[0])
		t.Grain = &geometry.Grain{Deg: math.Mod(math.Atan2(along.Y, along.X)*180/math.Pi+360, 180), Sure: 1}
	}
	name := short(q.Name)
	if name == "" {
		name = fmt.Sprintf("Piece %d", len(g.Pieces)+1)
	}
	piece, found, err := pattern.NewPiece(fmt.Sprintf("p%d", len(g.Pieces)+1), name, t)
	if err != nil {
		return nil, err
	}
	in := &intake{garment: g, piece: piece, to: piece.PlaneToPiece.Apply, findings: found}
	for i := range in.findings {
		if in.findings[i].Code == pattern.CodeGrain {
			in.findings[i].Message = name + " has no grain line in the file."
		}
	}
	in.label(q)
	in.folds(q)
	if len(q.Sew) > 0 {
		in.allowances(q.Sew.Map(in.to))
	}
	in.stitch()
	return in, nil
}

// stitch finds the stitch line that notches are measured along. Where none can be drawn,
// the widest allowances are not kept: those of hems, whose flaps have edges of their own.
func (in *intake) stitch() {
	var dropped []string
	for range len(in.piece.Edges) + 1 {
		all, err := pattern.Stitchings(pattern.Garment{Format: pattern.Format, Name: "x", Pieces: []pattern.Piece{in.piece}, Cloths: in.garment.Cloths})
		if err == nil && all[0].Err == nil {
			in.edges = all[0].Edges
			break
		}
		widest := 0
		for k, e := range in.piece.Edges {
			if width(e) > width(in.piece.Edges[widest]) {
				widest = k
			}
		}
		if width(in.piece.Edges[widest]) == 0 {
			break
		}
		in.piece.Edges[widest].OldAllowance = nil
		dropped = append(dropped, in.piece.Edges[widest].Name)
	}
	if in.edges == nil {
		for k := range in.piece.Edges {
			in.edges = append(in.edges, in.piece.EdgeChain(k))
		}
	}
	if len(dropped) > 0 {
		in.say(CodeAllowance, fmt.Sprintf("%s: what lies outside the sewing line at %s cannot be one allowance of that edge (a hem that is folded up has short edges at its ends), so it is not known.", in.piece.Name, strings.Join(dropped, ", ")),
			"The outline is as in the file; for a hem of another depth, draw the edge anew along the sewing line.")
	}
}

// width returns the old allowance of an edge as far as it is known.
func width(e pattern.Edge) float64 {
	if e.OldAllowance == nil {
		return 0
	}
	return e.OldAllowance.MM
}

// take takes what is drawn and written on the piece.
func (in *intake) take(q Piece) {
	in.notches(q.Notches)
	for _, d := range q.Drills {
		in.mark(pattern.Mark{Kind: pattern.MarkDrill, Points: []geometry.Point{d}})
	}
	if q.Grain != nil && q.Grain[0] != q.Grain[1] {
		in.mark(pattern.Mark{Kind: pattern.MarkGrain, Points: q.Grain[:]})
	}
	for _, l := range q.Lines {
		if l.Kind == LineMirror && in.foldEdge(l) >= 0 {
			continue // it is the edge
		}
		in.line(l)
	}
	in.words(q.Notes)
	if in.unheld > 0 {
		in.say(CodeLeft, fmt.Sprintf("%s: %d lines or words were not taken: they lie too far from it, or have no length.", in.piece.Name, in.unheld), "Draw by hand what is missing.")
	}
	if in.shapes > 0 {
		in.say(CodeLeft, fmt.Sprintf("%s: %d notches have a shape that is not drawn here, and became slits.", in.piece.Name, in.shapes), "Choose V or T where it matters.")
	}
}

func (in *intake) say(code, message, remedy string) {
	in.findings = append(in.findings, geometry.Finding{Code: code, Severity: geometry.SeverityInfo, Piece: in.piece.ID, Message: message, Remedy: remedy})
}

// mark adds a mark whose points are those of the file, unless no garment may hold it: one
// that lies far off every table, say.
func (in *intake) mark(m pattern.Mark) {
	m.ID = fmt.Sprintf("m%d", len(in.piece.Marks)+1)
	points := m.Points
	m.Points = nil
	for _, p := range points {
		m.Points = append(m.Points, in.to(p))
	}
	alone := in.piece
	alone.Marks = []pattern.Mark{m}
	if alone.ValidateParts() != nil {
		in.unheld++
		return
	}
	in.piece.Marks = append(in.piece.Marks, m)
}

// line adds a line as marks; a long one in parts.
func (in *intake) line(l Line) {
	const most = 1000 // points of a mark
	kind := map[LineKind]pattern.MarkKind{LineSew: pattern.MarkStitchLine, LineFold: pattern.MarkFoldLine, LineMirror: pattern.MarkFoldLine}[l.Kind]
	if kind == "" {
		kind = pattern.MarkLine
	}
	for from := 0; from+1 < len(l.Points); from += most - 1 {
		in.mark(pattern.Mark{Kind: kind, Points: l.Points[from:min(from+most, len(l.Points))]})
	}
}

// words adds notes where they stand, less those that a label has of itself.
func (in *intake) words(notes []Note) {
	own := pattern.LabelLines(*in.garment, in.piece, "")
	for _, n := range notes {
		text := short(n.Text)
		if text == "" || slices.Contains(own, n.Text) {
			continue
		}
		in.mark(pattern.Mark{Kind: pattern.MarkText, Points: []geometry.Point{n.At}, Text: text})
	}
}

// label says how often the piece is cut, and from what.
func (in *intake) label(q Piece) {
	cloth := ""
	if name := short(q.Material); name != "" {
		cloth = clothOf(in.garment, name)
	}
	if q.Quantity <= 0 {
		return
	}
	var cuts []pattern.Cut
	if pairs := 2 * min(q.Mirrored, q.Quantity-q.Mirrored); pairs > 0 {
		cuts = append(cuts, pattern.Cut{Cloth: cloth, Count: min(pairs, 100), Mirrored: true})
		q.Quantity -= pairs
	}
	if q.Quantity > 0 {
		cuts = append(cuts, pattern.Cut{Cloth: cloth, Count: min(q.Quantity, 100)})
	}
	in.piece.Label = &pattern.Label{Cuts: cuts}
}

// clothOf returns the id of the garment's cloth of a name, which it adds if need be.
func clothOf(g *pattern.Garment, name string) string {
	for _, c := range g.Cloths {
		if c.Name == name {
			return c.ID
		}
	}
	c := pattern.Cloth{ID: fmt.Sprintf("cloth-%d", len(g.Cloths)+1), Name: name, Use: pattern.ClothOther}
	if len(g.Cloths) == 0 {
		c.Use = pattern.ClothMain
	}
	g.Cloths = append(g.Cloths, c)
	return c.ID
}

// short returns a text that a garment file may hold.
func short(s string) string {
	const most = 200
	s = strings.Join(strings.Fields(strings.ToValidUTF8(s, "?")), " ")
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	return string([]rune(s)[:most])
}
