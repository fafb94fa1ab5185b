package sheet

import (
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Drafts returns what is printed of the drafted pieces of a garment: all lines,
// marks and words of each draft, with the doubt and the unsure stretches of the
// piece it was made from. A piece that could not be drawn is left out.
func Drafts(g pattern.Garment, drafts []pattern.Drafted) []Piece {
	var out []Piece
	for _, d := range drafts {
		if !d.Drawn() {
			continue
		}
		p, _ := g.Piece(d.ID)
		next := Piece{
			Name: d.Name, Outline: d.CutLine, Holes: d.Holes, Marks: d.Marks, GrainDeg: d.GrainDeg,
			Complete: true, UncertaintyMM: p.UncertaintyMM, Unsure: p.Unsure,
		}
		if len(d.Label) > 1 {
			next.Notes = d.Label[1:]
			for _, note := range next.Notes {
				if strings.HasPrefix(note, "cut ") {
					next.Cuts = append(next.Cuts, note)
				}
			}
		}
		if !sameLine(d.StitchLine, d.CutLine) {
			next.Stitch = d.StitchLine
		}
		for _, f := range d.FoldLines {
			next.Folds = append(next.Folds, fold(p, f))
		}
		out = append(out, next)
	}
	return out
}

// fold says what a fold line of a piece is.
func fold(p pattern.Piece, f pattern.FoldLine) Fold {
	out := Fold{Points: f.Points}
	var finish pattern.Finish
	if k := p.Edge(f.Edge); k >= 0 && p.Edges[k].Finish != nil {
		finish = *p.Edges[k].Finish
	}
	switch {
	case finish.Kind == pattern.FinishFold:
		out.OnFold, out.Text = true, "place on the fold of the cloth"
	case f.OutMM > 0:
		out.Text = "turn under"
	case finish.Kind == pattern.FinishHem:
		out.Text = "fold the hem"
	case finish.Kind == pattern.FinishCasing:
		out.Text = "fold the casing"
	}
	return out
}

// sameLine reports whether two paths have the same knots and handles.
func sameLine(a, b geometry.Path) bool {
	same := func(p, q *geometry.Point) bool { return p == q || p != nil && q != nil && *p == *q }
	return slices.EqualFunc(a, b, func(k, l geometry.Knot) bool {
		return k.At == l.At && same(k.In, l.In) && same(k.Out, l.Out)
	})
}
