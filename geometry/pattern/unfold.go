package pattern

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// CodeFoldKept is the code of the finding that a piece could not be drawn whole.
const CodeFoldKept = "fold-kept"

// unfold draws a piece on the fold whole: everything is mirrored about the fold
// edge. A piece whose fold is not a straight outer edge stays a half, and a finding
// says so.
func (d *Drafted) unfold(s stitched) {
	for k, e := range s.piece.Edges {
		if e.finish().Kind != FinishFold {
			continue
		}
		line := s.edge(k)
		m := mirror{line[0].A, line[len(line)-1].D}
		stitch, okStitch := m.double(d.StitchLine)
		cut, okCut := m.double(d.CutLine)
		if !okStitch || !okCut {
			d.Findings = append(d.Findings, geometry.Finding{
				Code: CodeFoldKept, Severity: geometry.SeverityWarning, Where: &line[0].A,
				Message: fmt.Sprintf("%s is drawn as a half: %s is no straight outer edge to mirror it about.", d.Name, e.Name),
				Remedy:  "Straighten the edge, or cut the piece on the fold.",
			})
			return
		}
		d.StitchLine, d.CutLine, d.Whole = stitch, cut, true
		m.restOf(d, e.ID)
		return // one fold: a quarter on two folds is not made
	}
}

// mirror is a line through two points.
type mirror struct{ a, b geometry.Point }

// of returns the mirror image of q: q - 2((q-a).n)n.
func (m mirror) of(q geometry.Point) geometry.Point {
	n := m.b.Sub(m.a).Unit().Perp()
	return q.Add(n.Scale(-2 * q.Sub(m.a).Dot(n)))
}

func (m mirror) off(q geometry.Point) float64 {
	return math.Abs(m.b.Sub(m.a).Unit().Cross(q.Sub(m.a)))
}

// double replaces the stretch of a path that lies on the mirror by the mirror image
// of the rest. It fails when there is no such stretch, or more than one.
func (m mirror) double(p geometry.Path) (geometry.Path, bool) {
	const on = 0.05 // mm
	n := len(p)
	lies := func(j int) bool {
		s := p.Segment((j + n) % n)
		return m.off(s.A) < on && m.off(s.B) < on && m.off(s.C) < on && m.off(s.D) < on && s.A.Dist(s.D) > 0
	}
	from, runs := -1, 0
	for j := range p {
		if lies(j) && !lies(j-1) {
			from, runs = j, runs+1
		}
	}
	if runs != 1 {
		return nil, false
	}
	to := from
	for lies(to) {
		to++
	}
	// half runs from the end of the fold round to its beginning.
	var half geometry.Path
	for j := to; j <= from+n; j++ {
		half = append(half, p[j%n])
	}
	last := len(half) - 1
	half[0].In, half[last].Out = nil, nil
	out := append(geometry.Path{}, half...)
	image := half.Map(m.of)
	for j := last - 1; j > 0; j-- {
		k := image[j]
		k.In, k.Out = k.Out, k.In
		out = append(out, k)
	}
	out[last].Out, out[0].In = image[last].In, image[0].Out
	for _, j := range []int{0, last} { // where the halves meet, smooth if they do so
		k := &out[j]
		k.Corner = true
		if k.In != nil && k.Out != nil {
			in, away := k.At.Sub(*k.In).Unit(), k.Out.Sub(k.At).Unit()
			k.Corner = in.Dot(away) < 0.9999
		}
	}
	return out, true
}

// restOf mirrors what lies on the piece. The fold line itself and the grain are
// drawn once.
func (m mirror) restOf(d *Drafted, fold string) {
	for _, h := range append([]geometry.Path(nil), d.Holes...) {
		d.Holes = append(d.Holes, h.Map(m.of).Reversed())
	}
	lines := d.FoldLines
	d.FoldLines = nil
	for _, l := range lines {
		if l.Edge == fold {
			continue // nothing is folded there when it is cut whole
		}
		d.FoldLines = append(d.FoldLines, l, FoldLine{l.Edge, l.OutMM, m.points(l.Points)})
	}
	for _, k := range append([]PlacedMark(nil), d.Marks...) {
		if k.Kind == MarkGrain || k.Kind == MarkText {
			continue
		}
		k.At = m.of(k.At)
		from := k.Lines
		k.Lines = nil
		for _, l := range from {
			k.Lines = append(k.Lines, m.points(l))
		}
		d.Marks = append(d.Marks, k)
	}
}

// points mirrors a run and turns it round, so that it goes with the outline.
func (m mirror) points(run []geometry.Point) []geometry.Point {
	out := make([]geometry.Point, len(run))
	for i, q := range run {
		out[len(run)-1-i] = m.of(q)
	}
	return out
}
