package sheet

import (
	"math"
	"slices"
	"strings"

	"secondcut/geometry/pattern"
)

// seams is the seam table.
func (b maker) seams() []MakingSeam {
	var out []MakingSeam
	for i, s := range b.g.SeamPairs {
		row := b.report.Seams[i]
		out = append(out, MakingSeam{
			Name: s.Name, A: b.runs(s.A), B: b.runs(s.B), AMM: tenth(row.AMM), BMM: tenth(row.BMM), EaseMM: s.EaseMM,
			AllowanceA: b.allowances(s.A), AllowanceB: b.allowances(s.B), Notches: max(0, len(row.Parts)-1),
		})
	}
	return out
}

func tenth(mm float64) float64 { return math.Round(10*mm) / 10 }

func (b maker) runs(runs []pattern.Run) string {
	var out []string
	for _, r := range runs {
		p, e := b.edge(r)
		out = append(out, p.Name+" "+e.Name)
	}
	return strings.Join(out, " + ")
}

func (b maker) edge(r pattern.Run) (pattern.Piece, pattern.Edge) {
	p, _ := b.g.Piece(r.Piece)
	return p, p.Edges[p.Edge(r.Edge)]
}

// allowances says what is sewn off along the runs of one side.
func (b maker) allowances(runs []pattern.Run) string {
	var out []string
	for _, r := range runs {
		i := slices.IndexFunc(b.g.Pieces, func(p pattern.Piece) bool { return p.ID == r.Piece })
		text := "not known"
		if d := b.drafts[i]; d.Drawn() {
			e := d.Edges[b.g.Pieces[i].Edge(r.Edge)]
			from, to := e.StartMM, e.EndMM
			if r.Reverse {
				from, to = to, from
			}
			switch {
			case !e.Known:
			case from == to:
				text = b.length(from)
			default:
				text = b.length(from) + " to " + b.length(to)
			}
		}
		if !slices.Contains(out, text) {
			out = append(out, text)
		}
	}
	return strings.Join(out, ", ")
}

// edges lists what is finished outside the seams.
func (b maker) edges() []MakingEdge {
	var out []MakingEdge
	for _, p := range b.g.Pieces {
		for _, e := range p.Edges {
			if !b.sewn(p.ID, e.ID) {
				out = append(out, MakingEdge{p.Name, e.Name, p.EdgeText(e, b.unit)})
			}
		}
	}
	return out
}

// sewn reports whether an edge is in a seam.
func (b maker) sewn(piece, edge string) bool {
	return slices.ContainsFunc(b.g.SeamPairs, func(s pattern.SeamPair) bool {
		return slices.ContainsFunc(slices.Concat(s.A, s.B), func(r pattern.Run) bool { return r.Piece == piece && r.Edge == edge })
	})
}
