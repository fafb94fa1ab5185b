package pattern_test

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// half is half a back with its centre (edge d) on the fold: curved neck (c) that
// meets the fold squarely, slanted side (b), hem (a).
func half(lean float64) pattern.Garment {
	g := one(pt(0, 0), pt(250, 0), pt(250-lean, 400), pt(0, 420))
	out, in := pt(200-lean, 430), pt(60, 420)
	p := &g.Pieces[0]
	p.Knots[2].Out, p.Knots[3].In = &out, &in
	p.Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishHem, DepthMM: 30, Turns: 1}
	p.Edges[1].Finish = seam(15)
	p.Edges[2].Finish = seam(6)
	p.Edges[3].Finish = &pattern.Finish{Kind: pattern.FinishFold}
	p.Marks = []pattern.Mark{{ID: "g", Kind: pattern.MarkGrain, Edge: "d"}, {ID: "n", Kind: pattern.MarkNotch, Edge: "b", At: 0.5}, {ID: "d", Kind: pattern.MarkDrill, Points: points(pt(80, 90))}}
	p.Label = &pattern.Label{Cuts: []pattern.Cut{{Count: 1}}}
	return g
}

// A piece drawn whole is twice the half, symmetric, and says that it is cut single.
func TestUnfold(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := half(rapid.Float64Range(-40, 60).Draw(t, "lean"))
		by := rapid.Float64Range(-3, 3).Draw(t, "turned")
		g.Pieces[0] = g.Pieces[0].Turned(by)
		h, err := pattern.Draft(g, 0, pattern.Options{})
		if err != nil {
			t.Fatal(err)
		}
		w, err := pattern.Draft(g, 0, pattern.Options{Unfold: true})
		if err != nil {
			t.Fatal(err)
		}
		if !w.Whole || h.Whole {
			t.Fatalf("whole: %v and %v; findings %v", w.Whole, h.Whole, w.Findings)
		}
		for _, c := range []struct{ half, whole geometry.Path }{{h.StitchLine, w.StitchLine}, {h.CutLine, w.CutLine}} {
			if d := c.whole.Area() - 2*c.half.Area(); math.Abs(d) > 0.1 {
				t.Fatalf("the whole has %g mm² more than two halves", d)
			}
			fold := h.FoldLines[len(h.FoldLines)-1]
			if fold.Edge != "d" {
				t.Fatalf("the last fold line is of %s", fold.Edge)
			}
		}
		// The neck meets the fold squarely, so that the whole is smooth there.
		smooth := 0
		for _, k := range w.CutLine {
			if !k.Corner && k.In != nil && k.Out != nil && k.In.Dist(*k.Out) > 20 {
				smooth++
			}
		}
		if smooth == 0 {
			t.Fatal("no smooth knot where the neck crosses the centre")
		}
		if len(w.Marks) != 5 || len(w.FoldLines) != 2 {
			t.Fatalf("%d marks, %d fold lines; want 5 and 2", len(w.Marks), len(w.FoldLines))
		}
		if text := strings.Join(h.Label, "\n"); !strings.Contains(text, "cut 1 on the fold") || !strings.Contains(text, "on the fold, no allowance") {
			t.Fatalf("half: %s", text)
		}
		if text := strings.Join(w.Label, "\n"); strings.Contains(text, "fold,") || !strings.Contains(text, "cut 1\n") {
			t.Fatalf("whole: %s", text)
		}
	})
}

// Cloth folds straight on: where the hem does not meet the fold squarely, its flap
// still ends on the fold, which it would leave if it mirrored the edge above. So the
// half lies on one side of the fold, and the whole does not cross itself.
func TestFlapsEndOnTheFold(t *testing.T) {
	for _, rise := range []float64{-20, -3, 0, 3, 20} {
		g := half(20)
		p := &g.Pieces[0]
		p.Knots[1].At.Y = rise
		p.Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishHem, DepthMM: 30, Turns: 2, TurnUnderMM: 10}
		d := drafted(t, g)
		// 40 mm square to the hem, along the fold.
		deep := -40 * math.Hypot(250, rise) / 250
		lowest := 0.0
		for _, q := range d.CutLine.Flatten(0.01) {
			if q.X < -1e-6 {
				t.Errorf("hem rises %g mm: the cut line runs to %.3f, beyond the fold", rise, q)
			}
			if q.X < 1e-6 {
				lowest = math.Min(lowest, q.Y)
			}
		}
		if !near(lowest, deep) {
			t.Errorf("hem rises %g mm: the fold ends at %.3f mm, want %.3f", rise, lowest, deep)
		}
		for _, f := range d.FoldLines {
			if f.Edge == "a" && !near(f.Points[0].X, 0) {
				t.Errorf("hem rises %g mm: the fold line %g mm out begins at %.3f, not on the fold", rise, f.OutMM, f.Points[0])
			}
		}
		w, err := pattern.Draft(g, 0, pattern.Options{Unfold: true})
		if err != nil || !w.Whole || math.Abs(w.CutLine.Area()-2*d.CutLine.Area()) > 0.1 {
			t.Errorf("hem rises %g mm: whole %v of %.1f mm², half %.1f mm², error %v", rise, w.Whole, w.CutLine.Area(), d.CutLine.Area(), err)
		}
	}
}

func TestBentFoldIsReported(t *testing.T) {
	g := half(20)
	out, in := pt(-20, 300), pt(-20, 100)
	g.Pieces[0].Knots[3].Out, g.Pieces[0].Knots[0].In = &out, &in
	d, err := pattern.Draft(g, 0, pattern.Options{Unfold: true})
	if err != nil || d.Whole || !strings.Contains(codes(d.Findings), pattern.CodeFoldBent) || !strings.Contains(codes(d.Findings), pattern.CodeFoldKept) {
		t.Errorf("whole %v, findings %q, error %v", d.Whole, codes(d.Findings), err)
	}
}

// FuzzDraft: what can be read can be drafted and checked, or is refused by name;
// nothing that is drawn is not a number.
func FuzzDraft(f *testing.F) {
	f.Add(written(f, full(f)))
	f.Add(written(f, half(20)))
	f.Add(written(f, two(400, 410)))
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := pattern.Read(bytes.NewReader(data))
		if err != nil {
			return
		}
		knots := 0
		for _, p := range g.Pieces {
			knots += len(p.Knots)
		}
		if knots > 200 {
			return
		}
		drafts, err := pattern.DraftAll(g, pattern.Options{Unfold: true})
		if err != nil {
			if !errors.Is(err, pattern.ErrDraft) {
				t.Fatalf("%v is not ErrDraft", err)
			}
			return
		}
		for _, d := range drafts {
			for _, path := range []geometry.Path{d.StitchLine, d.CutLine} {
				if math.IsNaN(path.Area()) || math.IsInf(path.Area(), 0) {
					t.Fatalf("%s: a line that is not a number", d.Name)
				}
			}
			for _, m := range d.Marks {
				if !m.At.IsFinite() {
					t.Fatalf("%s: mark %s at %v", d.Name, m.ID, m.At)
				}
			}
		}
		if err := pattern.WriteDraft(&bytes.Buffer{}, g.Name, drafts); err != nil {
			t.Fatal(err)
		}
		if _, err := pattern.Check(g); err != nil {
			t.Fatalf("drafted, but not checked: %v", err)
		}
	})
}
