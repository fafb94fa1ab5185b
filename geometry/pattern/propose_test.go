package pattern_test

import (
	"math"
	"testing"

	"secondcut/geometry/pattern"
)

// seamOfTwo are two panels sewn along their right sides, the second walked the other way.
func seamOfTwo(h float64) pattern.Garment {
	g := one(pt(0, 0), pt(300, 0), pt(300, h), pt(0, h))
	q := g.Pieces[0]
	q.ID = "q"
	g.Pieces = append(g.Pieces, q)
	g.SeamPairs = []pattern.SeamPair{{ID: "s", Name: "side", A: []pattern.Run{{Piece: "p", Edge: "b"}}, B: []pattern.Run{{Piece: "q", Edge: "b", Reverse: true}}}}
	return g
}

func proposals(t *testing.T, g pattern.Garment) []pattern.NotchProposal {
	t.Helper()
	r, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	return r.Notches
}

// accept adds what was proposed.
func accept(g pattern.Garment, all []pattern.NotchProposal) pattern.Garment {
	for _, n := range all {
		for _, m := range n.Marks {
			for i := range g.Pieces {
				if g.Pieces[i].ID == m.Piece {
					g.Pieces[i].Marks = append(g.Pieces[i].Marks, m.Mark)
				}
			}
		}
	}
	return g
}

// What is proposed lies at the same distance on both sides, can be taken as it is, and
// is not proposed again.
func TestNotchProposals(t *testing.T) {
	for _, c := range []struct {
		name  string
		g     pattern.Garment
		at    []float64
		marks int
	}{
		{"short", seamOfTwo(140), nil, 0},
		{"middling", seamOfTwo(400), []float64{160}, 2},
		{"long", seamOfTwo(900), []float64{300, 675}, 4},
		{"one side has it", withMark(seamOfTwo(400), pattern.Mark{ID: "n", Kind: pattern.MarkNotch, Edge: "b", At: 0.3, Count: 2}), []float64{120}, 1},
	} {
		got := proposals(t, c.g)
		if len(got) != len(c.at) {
			t.Errorf("%s: %+v, want %v", c.name, got, c.at)
			continue
		}
		marks := 0
		for i, n := range got {
			if math.Abs(n.AtMM-c.at[i]) > 1e-6 || n.Why == "" {
				t.Errorf("%s: %+v, want %g mm", c.name, n, c.at[i])
			}
			marks += len(n.Marks)
		}
		if marks != c.marks {
			t.Errorf("%s: %d marks, want %d", c.name, marks, c.marks)
		}
		g := accept(c.g, got)
		if err := g.Validate(); err != nil {
			t.Errorf("%s: taken as proposed: %v", c.name, err)
		}
		if again := proposals(t, g); len(again) > 0 {
			t.Errorf("%s: proposed again: %+v", c.name, again)
		}
		r, err := pattern.Check(g)
		if err != nil || !r.OK() || len(c.at) > 0 && len(r.Seams[0].Parts) != len(c.at)+1 {
			t.Errorf("%s: walked with them: %+v, %v", c.name, r.Seams, err)
		}
	}
}

// Nothing is offered where the stitch lines are not known.
func TestNoProposalInTheDark(t *testing.T) {
	g := seamOfTwo(400)
	g.Pieces[0].Edges[1].OldAllowance = nil
	if got := proposals(t, g); len(got) > 0 {
		t.Errorf("%+v", got)
	}
}

func withMark(g pattern.Garment, m pattern.Mark) pattern.Garment {
	g.Pieces[0].Marks = append(g.Pieces[0].Marks, m)
	return g
}
