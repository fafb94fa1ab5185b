package pattern

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/measure"
	"secondcut/geometry/offset"
)

// Options of drafting. The zero value is usable.
type Options struct {
	// Unit is what widths on labels are written in; empty = mm.
	Unit measure.Unit
	// Unfold draws pieces on the fold whole; else they are halves with a fold line.
	Unfold bool
	// Unwashed draws pieces larger by what their cloth shrinks, along and across the
	// grain: for cloth that is cut before it is washed. The garment stays as it is.
	Unwashed bool
}

// Drafted is a piece as it is drawn, cut and sewn, in the piece frame (mm).
type Drafted struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// StitchLine is where it is sewn, CutLine where it is cut; both run
	// counter-clockwise.
	StitchLine geometry.Path `json:"stitch_line"`
	CutLine    geometry.Path `json:"cut_line"`
	// Whole says that a piece on the fold was mirrored and is cut single.
	Whole bool `json:"whole,omitempty"`
	// Shrink says that the piece was drawn larger, and by what; absent where not.
	Shrink *Shrink `json:"shrink,omitempty"`
	// Holes are cut as they were traced.
	Holes []geometry.Path `json:"holes,omitempty"`
	// Edges are those of the piece, in their order, measured before it is unfolded.
	Edges []DraftedEdge `json:"edges"`
	// FoldLines lie across the flaps of hems and casings, and along edges on the
	// fold.
	FoldLines []FoldLine `json:"fold_lines,omitempty"`
	// Marks are those that are drawn; detached ones are reported instead.
	Marks []PlacedMark `json:"marks,omitempty"`
	// GrainDeg is the direction of the grain line, degrees counter-clockwise from
	// +x in [0, 180); absent where no mark gives it.
	GrainDeg *float64 `json:"grain_deg,omitempty"`
	// Label is what is written on it, Room the largest place for it inside the
	// stitch line along the grain; absent where there is none.
	Label    []string           `json:"label"`
	Room     *Box               `json:"room,omitempty"`
	Findings []geometry.Finding `json:"findings,omitempty"`
}

// Shrink is what cloth shrinks by along and across the grain, in per cent.
type Shrink struct {
	LengthPct float64 `json:"length_pct"`
	AcrossPct float64 `json:"across_pct"`
}

// DraftedEdge is an edge of a drafted piece. Lengths in mm.
type DraftedEdge struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Knot is the index of its first knot on the stitch line of a piece that is not
	// Whole.
	Knot int `json:"knot"`
	// LengthMM is that of its stitch line.
	LengthMM float64 `json:"length_mm"`
	// StartMM and EndMM are what lies outside the stitch line at its ends.
	StartMM float64 `json:"start_mm"`
	EndMM   float64 `json:"end_mm"`
	// Known says whether the stitch line is the true one; else it is the traced
	// edge, since the old allowance is not known.
	Known bool `json:"known"`
}

// FoldLine is a line to fold along.
type FoldLine struct {
	Edge string `json:"edge"`
	// OutMM is its distance outside the edge.
	OutMM float64 `json:"out_mm"`
	// Points are within 0.05 mm of it, in the direction of the edge.
	Points []geometry.Point `json:"points_mm"`
}

// Codes of the findings of drafting; those of the cut line are in package offset.
const (
	// CodeUndrawn: a piece cannot be drawn.
	CodeUndrawn = "piece-undrawn"
	// CodeOldUnknown: what lies outside the old stitch line is asked for.
	CodeOldUnknown = "old-allowance-unknown"
	// CodeNotchDepth: a notch was made shallower to stay clear of the stitch line.
	CodeNotchDepth = "notch-depth"
	// CodeNotchPlace: a mark cannot be drawn where it hangs.
	CodeNotchPlace = "mark-place"
	// CodeFoldBent: an edge on the fold is not straight.
	CodeFoldBent = "fold-bent"
	// CodeNoRoom: the label does not fit inside the piece.
	CodeNoRoom = "label-room"
)

// Draft returns piece i of a valid garment with its finishes applied. An edge whose
// old allowance is not known keeps its traced edge as the cut line, whatever its
// finish, and a finding asks for it: nothing is added on top of an allowance that
// may be there. It fails with ErrInvalid when the garment is not valid or there is
// no such piece, and with ErrDraft, naming the field, when a line cannot be drawn.
func Draft(g Garment, i int, opt Options) (Drafted, error) {
	if err := g.Validate(); err != nil {
		return Drafted{}, err
	}
	if i < 0 || i >= len(g.Pieces) {
		return Drafted{}, wrong("pieces", "are %d; there is no piece %d", len(g.Pieces), i)
	}
	s, err := stitch(g, i)
	if err != nil {
		return Drafted{}, err
	}
	return s.draft(g, i, opt)
}

// DraftAll drafts all pieces, each in its place. One that cannot be drawn is not Drawn
// and says why. It fails with ErrInvalid when the garment is not valid.
func DraftAll(g Garment, opt Options) ([]Drafted, error) {
	all, err := stitchAll(g)
	if err != nil {
		return nil, err
	}
	return draftAll(g, all, opt), nil
}

// Review drafts and checks a garment, with the work that both have in common done
// once. It fails as DraftAll does.
func Review(g Garment, opt Options) ([]Drafted, Report, error) {
	all, err := stitchAll(g)
	if err != nil {
		return nil, Report{}, err
	}
	return draftAll(g, all, opt), check(g, all), nil
}

func draftAll(g Garment, all []stitched, opt Options) []Drafted {
	out := make([]Drafted, len(all))
	for i, s := range all {
		err := s.err
		if err == nil {
			out[i], err = s.draft(g, i, opt)
		}
		if err != nil {
			out[i] = undrawn(g.Pieces[i], err)
		}
	}
	return out
}

// undrawn is what there is of a piece that cannot be drawn.
func undrawn(p Piece, err error) Drafted {
	return Drafted{
		ID: p.ID, Name: p.Name, StitchLine: geometry.Path{}, CutLine: geometry.Path{}, Edges: []DraftedEdge{}, Label: []string{},
		Findings: []geometry.Finding{pieceFinding(CodeUndrawn, p, err)},
	}
}

// Drawn reports whether there is anything to draw; else the findings say why not.
func (d Drafted) Drawn() bool { return len(d.CutLine) > 0 }

func (s stitched) draft(g Garment, i int, opt Options) (Drafted, error) {
	p := s.piece
	d := Drafted{ID: p.ID, Name: p.Name, StitchLine: s.path, Holes: p.Holes, Findings: slices.Clone(s.findings)}
	d.listEdges(s)
	cut, err := s.cutLine()
	if err != nil {
		return Drafted{}, undrawable(wideField(err, fmt.Sprintf("pieces[%d]", i), ".finish"), p, err)
	}
	d.CutLine = cut.Path
	for _, f := range cut.Findings {
		f.Message = p.Name + ": " + sentence(f.Message)
		f.Remedy = sentence(f.Remedy)
		d.Findings = append(d.Findings, f)
	}
	d.addFolds(s, cut)
	d.placeMarks(s, cut)
	if opt.Unfold {
		d.unfold(s)
	}
	if opt.Unwashed {
		d.enlarge(g, p)
	}
	d.Label = append(labelLines(g, p, opt.Unit, d.Whole), d.Shrink.text()...)
	d.findRoom()
	for j := range d.Findings {
		d.Findings[j].Piece = p.ID
	}
	return d, nil
}

// sentence ends a text with a full stop and begins it with a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + strings.TrimSuffix(s[1:], ".") + "."
}

// widths returns what lies outside the stitch line of edge k when it is cut, and
// the folds in it.
func (s stitched) widths(k int) (start, end float64, folds []float64) {
	f := s.piece.Edges[k].finish()
	if f.Kind == FinishKeep || !s.known[k] {
		return s.old[k], s.old[k], nil
	}
	start, end = f.Widths()
	return start, end, f.Folds()
}

// cutLine returns the line to cut along. Where every edge stays as it was traced,
// it is the traced outline itself, knot by knot.
func (s stitched) cutLine() (offset.Result, error) {
	kept := true
	var edges []offset.Edge
	var at []int // the edge of the piece of each
	for k, e := range s.piece.Edges {
		start, end, folds := s.widths(k)
		same := folds == nil && start == s.old[k] && end == s.old[k]
		kept = kept && same
		if folds != nil {
			start, end = 0, 0
		}
		parts := []strip{{k, s.first[k], start, end}}
		if same { // out again by what it was moved in
			parts = s.stripsOf(k)
		}
		for _, r := range parts {
			edges, at = append(edges, offset.Edge{
				Name: e.Name, Knot: r.first, StartMM: r.start, EndMM: r.end, Folds: folds, Crease: e.finish().Kind == FinishFold,
			}), append(at, k)
		}
	}
	edges, at = fromLowest(edges, at)
	if kept {
		return offset.Result{Path: s.piece.Knots}, nil
	}
	res, err := offset.CutLine(s.path, edges, offset.Options{})
	var wide *offset.TooWideError
	if errors.As(err, &wide) && wide.Edge >= 0 && wide.Edge < len(at) {
		there := *wide
		there.Edge = at[wide.Edge]
		return res, &there
	}
	for j := range res.EdgeOf {
		res.EdgeOf[j] = at[res.EdgeOf[j]]
	}
	for j := range res.Folds {
		res.Folds[j].Edge = at[res.Folds[j].Edge]
	}
	return res, err
}

// stripsOf returns the parts of edge k with what it was moved in by.
func (s stitched) stripsOf(k int) []strip {
	var out []strip
	for _, r := range s.strips {
		if r.edge == k {
			out = append(out, r)
		}
	}
	if out == nil {
		out = []strip{{k, s.first[k], s.old[k], s.old[k]}}
	}
	return out
}

// fromLowest turns the lists so that they begin with the lowest knot: the cut line
// wants edges in the order of their knots.
func fromLowest(edges []offset.Edge, at []int) ([]offset.Edge, []int) {
	best := 0
	for j, e := range edges {
		if e.Knot < edges[best].Knot {
			best = j
		}
	}
	return slices.Concat(edges[best:], edges[:best]), slices.Concat(at[best:], at[:best])
}

func (d *Drafted) listEdges(s stitched) {
	for k, e := range s.piece.Edges {
		start, end, _ := s.widths(k)
		d.Edges = append(d.Edges, DraftedEdge{
			ID: e.ID, Name: e.Name, Knot: s.first[k], LengthMM: rounded(geometry.ChainLength(s.edge(k))),
			StartMM: start, EndMM: end, Known: s.known[k],
		})
		if !s.known[k] && e.finish().Kind != FinishKeep {
			d.Findings = append(d.Findings, s.askOld(k, "it cannot be given its new finish and stays as it was traced"))
		}
	}
}

// askOld asks for the old allowance of an edge.
func (s stitched) askOld(k int, so string) geometry.Finding {
	mid, _ := at(s.edge(k), 0.5)
	return geometry.Finding{
		Code: CodeOldUnknown, Severity: geometry.SeverityError, Piece: s.piece.ID, Where: &mid,
		Message: fmt.Sprintf("%s, %s: how much allowance the old edge had is not known, so %s.", s.piece.Name, s.piece.Edges[k].Name, so),
		Remedy:  "Measure from the edge to the old stitch holes, on the cloth or in the photo, and enter it; or say that it is worn to the stitch line.",
	}
}

// addFolds lists the lines to fold along.
func (d *Drafted) addFolds(s stitched, cut offset.Result) {
	for _, f := range cut.Folds {
		for n, l := range f.Lines {
			if n < len(f.Lines)-1 { // the last one is cut
				d.FoldLines = append(d.FoldLines, FoldLine{s.piece.Edges[f.Edge].ID, l.OutMM, points(l.Line)})
			}
		}
	}
	for k, e := range s.piece.Edges {
		if e.finish().Kind != FinishFold {
			continue
		}
		line := points(s.edge(k))
		d.FoldLines = append(d.FoldLines, FoldLine{e.ID, 0, line})
		const straight = 0.5
		if depth, where := depthOf(line); depth > straight {
			d.Findings = append(d.Findings, geometry.Finding{
				Code: CodeFoldBent, Severity: geometry.SeverityWarning, Where: &where, Amount: depth, Limit: straight,
				Message: fmt.Sprintf("%s, %s lies on the fold but bends by %.1f mm; cloth folds only along a straight line.", d.Name, e.Name, depth),
				Remedy:  "Straighten the edge.",
			})
		}
	}
}

// points returns a chain as points within 0.05 mm of it.
func points(line []geometry.Segment) []geometry.Point {
	var out []geometry.Point
	for _, s := range line {
		out = append(out, openFlat(s)...)
	}
	if n := len(line); n > 0 {
		out = append(out, line[n-1].D)
	}
	return out
}

// openFlat flattens one segment without its end.
func openFlat(s geometry.Segment) []geometry.Point {
	if !s.Curved {
		return []geometry.Point{s.A}
	}
	two := geometry.Path{{At: s.A, Out: &s.B}, {At: s.D, In: &s.C}}
	ring := two.Flatten(0.05)
	return ring[:len(ring)-1] // without the end, with which the closing line begins
}

// depthOf returns the greatest distance of a line from the chord between its ends,
// and where.
func depthOf(line []geometry.Point) (float64, geometry.Point) {
	a, b := line[0], line[len(line)-1]
	dir := b.Sub(a).Unit()
	depth, where := 0.0, a
	for _, q := range line {
		if h := math.Abs(dir.Cross(q.Sub(a))); h > depth {
			depth, where = h, q
		}
	}
	return depth, where
}

// rounded rounds to a ten-thousandth of a millimetre, as points are written.
func rounded(mm float64) float64 { return math.Round(mm*1e4) / 1e4 }
