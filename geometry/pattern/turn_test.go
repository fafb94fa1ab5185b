package pattern_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Turning a piece changes where it is drawn and nothing else: drafted, it is the
// turned draft, and the way back to the photo is the same.
func TestTurnedPiecesDraftAlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := one(pt(0, 0), pt(300, 0), pt(280, 400), pt(20, 420))
		p := &g.Pieces[0]
		p.Edges[1].Finish = seam(12)
		p.Grain = &geometry.Grain{Deg: 90, Sure: 1}
		p.Unsure = []geometry.Stretch{{From: pt(0, 0), To: pt(300, 0)}}
		p.Marks = []pattern.Mark{
			{ID: "g", Kind: pattern.MarkGrain, Deg: deg(90)}, {ID: "n", Kind: pattern.MarkNotch, Edge: "b", At: 0.4}, {ID: "d", Kind: pattern.MarkDrill, Points: points(pt(100, 100))},
		}
		before, err := pattern.Draft(g, 0, pattern.Options{})
		if err != nil {
			t.Fatal(err)
		}
		by := rapid.Float64Range(-7, 7).Draw(t, "by")
		turned := p.Turned(by)
		lo, _ := turned.Knots.Flatten(1e-3).Bounds()
		if lo.Dist(pt(0, 0)) > 1e-6 || math.Abs(turned.PlaneToPiece.Turn) > math.Pi+1e-9 {
			t.Fatalf("lower left at %v, turn %g", lo, turned.PlaneToPiece.Turn)
		}
		for i, k := range turned.Knots {
			if q := turned.PlaneToPiece.Inverse().Apply(k.At); q.Dist(p.Knots[i].At) > 1e-6 {
				t.Fatalf("knot %d leads to %v in the photo, want %v", i, q, p.Knots[i].At)
			}
		}
		old := *p
		g.Pieces = []pattern.Piece{turned}
		after, err := pattern.Draft(g, 0, pattern.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Mod(*after.GrainDeg-*before.GrainDeg-by*180/math.Pi, 180); math.Abs(math.Remainder(d, 180)) > 0.01 {
			t.Fatalf("the grain is off by %g degrees", d)
		}
		for i, m := range after.Marks[1:] {
			back := turned.PlaneToPiece.Inverse().Apply(m.At)
			if want := before.Marks[i+1].At; back.Dist(want) > 0.02 {
				t.Fatalf("%s at %v, want %v", m.ID, back, want)
			}
		}
		if math.Abs(after.CutLine.Area()-before.CutLine.Area()) > 1 || old.Marks[2].Points[0] != pt(100, 100) {
			t.Fatal("the cut line or the old piece changed")
		}
	})
}

// Notches lie at equal distances on both sides of a seam, through all its edges.
func TestPairNotch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := two(rapid.Float64Range(390, 410).Draw(t, "a"), 250)
		q := one(pt(0, 0), pt(90, 0), pt(90, 150), pt(0, 150)).Pieces[0]
		q.ID = "r"
		q.Marks = g.Pieces[0].Marks
		g.Pieces = append(g.Pieces, q)
		g.SeamPairs[0].B = append(g.SeamPairs[0].B, pattern.Run{Piece: "r", Edge: "b"})
		g.SeamPairs[0].ToleranceMM = 50
		mm := rapid.Float64Range(1, 380).Draw(t, "mm")
		fromEnd := rapid.Bool().Draw(t, "from the end")
		marks := len(g.Pieces[0].Marks)
		out, err := pattern.PairNotch(g, "s", mm, fromEnd, pattern.Mark{Count: 2})
		if err != nil {
			t.Fatal(err)
		}
		r, err := pattern.Check(out)
		if err != nil || len(r.Seams[0].Parts) != 2 {
			t.Fatalf("%+v, %v", r.Seams, err)
		}
		part := r.Seams[0].Parts[0]
		if fromEnd {
			part = r.Seams[0].Parts[1]
		}
		if math.Abs(part.AMM-mm) > 1e-5 || math.Abs(part.BMM-mm) > 1e-5 {
			t.Fatalf("notches %g and %g mm along, want %g", part.AMM, part.BMM, mm)
		}
		if len(g.Pieces[0].Marks) != marks {
			t.Fatal("the garment that was given changed")
		}
		again, err := pattern.PairNotch(out, "s", mm, fromEnd, pattern.Mark{Count: 2})
		if err != nil || len(again.Pieces[0].Marks) != marks+1 {
			t.Fatalf("a notch that is there is set again: %v, %v", again.Pieces[0].Marks, err)
		}
	})
}

func TestPairNotchRefuses(t *testing.T) {
	g := two(400, 300)
	for _, c := range []struct {
		pair string
		mm   float64
	}{{"nobody", 10}, {"s", 350}, {"s", -1}, {"s", math.NaN()}} {
		if _, err := pattern.PairNotch(g, c.pair, c.mm, false, pattern.Mark{}); !errors.Is(err, pattern.ErrInvalid) {
			t.Errorf("%s at %g mm: error %v, want ErrInvalid", c.pair, c.mm, err)
		}
	}
	if len(g.Pieces[0].Marks) != 1 {
		t.Error("the garment changed")
	}
}
