package pattern_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// twoPieces are a sound panel and one whose outline is what is given, sewn together
// and measured.
func twoPieces(knots geometry.Path) pattern.Garment {
	g := square(200)
	bad := g.Pieces[0]
	bad.ID, bad.Name, bad.Knots = "bad", "Bad panel", knots
	bad.Edges = slices.Clone(bad.Edges)
	g.Pieces = append(g.Pieces, bad)
	first := g.Pieces[0].ID
	run := func(p, e string) []pattern.Run { return []pattern.Run{{Piece: p, Edge: e}} }
	g.SeamPairs = []pattern.SeamPair{{ID: "s", Name: "side", A: run(first, "a"), B: run("bad", "b")}, {ID: "t", Name: "top", A: run(first, "a"), B: run(first, "c")}}
	g.CurvePairs = []pattern.CurvePair{{ID: "c", Name: "neck", A: run(first, "a")[0], B: run("bad", "a")[0]}}
	g.Measures = []pattern.Measure{{ID: "m", Name: "hem", Parts: []pattern.Part{{Piece: "bad", Edge: "a"}}}, {ID: "n", Name: "chest", Parts: []pattern.Part{{Piece: first, Edge: "a"}}}}
	return g
}

// A piece that cannot be drawn does not take the others with it.
func TestOneBadPieceLeavesTheOthers(t *testing.T) {
	for name, knots := range map[string]geometry.Path{
		"crossing": corners(pt(0, 0), pt(300, 0), pt(300, 200), pt(100, 250), pt(200, -50), pt(0, 200)),
		"3 mm":     corners(pt(0, 0), pt(3, 0), pt(3, 200), pt(0, 200)),
		"5 m":      corners(pt(0, 0), pt(5000, 0), pt(5000, 200), pt(0, 200)),
	} {
		drafts, report, err := pattern.Review(twoPieces(knots), pattern.Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(drafts) != 2 || !drafts[0].Drawn() || drafts[1].Drawn() {
			t.Fatalf("%s: %d drafts, the wrong one is drawn", name, len(drafts))
		}
		f := drafts[1].Findings
		if len(f) != 1 || f[0].Code != pattern.CodeUndrawn || f[0].Severity != geometry.SeverityError || f[0].Piece != "bad" || f[0].Field != "pieces[1].knots" || f[0].Remedy == "" || !strings.Contains(f[0].Message, "Bad panel") {
			t.Errorf("%s: finding %+v", name, f)
		}
		if report.OK() || report.Seams[0].OK || report.Seams[0].Known || !report.Seams[1].OK {
			t.Errorf("%s: seams %+v; want the first not known, the second checked", name, report.Seams)
		}
		if len(report.Curves) != 0 || len(report.Measures) != 1 || report.Measures[0].Name != "chest" {
			t.Errorf("%s: curves %v, measures %v", name, report.Curves, report.Measures)
		}
		unmeasured := 0
		for _, f := range report.Findings {
			if f.Code == pattern.CodeUnmeasured {
				unmeasured++
			}
		}
		if unmeasured != 3 {
			t.Errorf("%s: %d things are reported as not measured, want seam, curves and measure", name, unmeasured)
		}
	}
}

func TestUndrawnSaysWhatToDo(t *testing.T) {
	slot := one(pt(0, 0), pt(200, 0), pt(200, 200), pt(110, 200), pt(110, 100), pt(90, 100), pt(90, 200), pt(0, 200))
	for k := range slot.Pieces[0].Edges {
		slot = withEdge(slot, k, none(), seam(15))
	}
	for name, c := range map[string]struct {
		g             pattern.Garment
		field, remedy string
	}{
		"finishes that close a slot": {slot, "pieces[0].edges", "narrower finish"},
		"old allowance":              {withEdge(square(50), 0, length(60), nil), "pieces[0].edges", "old allowance"},
	} {
		drafts, err := pattern.DraftAll(c.g, pattern.Options{})
		if err != nil {
			t.Fatal(err)
		}
		d := drafts[0]
		if d.Drawn() || !strings.HasPrefix(d.Findings[0].Field, c.field) || !strings.Contains(d.Findings[0].Remedy, c.remedy) {
			t.Errorf("%s: drawn %v, finding %+v", name, d.Drawn(), d.Findings)
		}
	}
}

// Sound leaves out what is broken, and only that.
func TestSound(t *testing.T) {
	g := twoPieces(corners(pt(0, 0), pt(0, 200), pt(200, 200), pt(200, 0))) // the wrong way round
	first := g.Pieces[0].ID
	g.Cloths = []pattern.Cloth{{ID: "linen", Name: "linen", Use: pattern.ClothMain}}
	g.Pieces[0].Label = &pattern.Label{Cuts: []pattern.Cut{{Cloth: "linen", Count: 1}, {Cloth: "silk", Count: 2}}}
	g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{ID: "u", Name: "gone edge", A: []pattern.Run{{Piece: first, Edge: "zz"}}, B: []pattern.Run{{Piece: first, Edge: "a"}}})
	if g.Validate() == nil {
		t.Fatal("the garment is valid as it is")
	}
	sound, findings := pattern.Sound(g)
	if err := sound.Validate(); err != nil {
		t.Fatal(err)
	}
	if len(sound.Pieces) != 1 || len(sound.SeamPairs) != 1 || sound.SeamPairs[0].ID != "t" || len(sound.CurvePairs) != 0 || len(sound.Measures) != 1 || len(sound.Pieces[0].Label.Cuts) != 1 {
		t.Errorf("what is left: %+v", sound)
	}
	var got []string
	for _, f := range findings {
		got = append(got, f.Code+" "+f.Field)
		if f.Remedy == "" || f.Message == "" {
			t.Errorf("finding %+v says too little", f)
		}
	}
	want := []string{"piece-invalid pieces[1].knots", "gone seam_pairs[0].b[0].piece", "gone seam_pairs[2].a[0].edge", "gone curve_pairs[0].b.piece", "gone measures[0].parts[0].piece", "gone pieces[0].label.cuts[1].cloth"}
	if !slices.Equal(got, want) {
		t.Errorf("findings %q, want %q", got, want)
	}
	if len(g.Pieces[0].Label.Cuts) != 2 || len(g.SeamPairs) != 3 {
		t.Error("the garment was changed")
	}
	again, more := pattern.Sound(sound)
	if len(more) > 0 || len(again.SeamPairs) != len(sound.SeamPairs) {
		t.Errorf("a sound garment loses %v", more)
	}
}

// What referred to something that is gone since may stay; what is new may not.
func TestOldReferencesMayStay(t *testing.T) {
	before := square(200)
	before.SeamPairs = []pattern.SeamPair{{ID: "u", Name: "gone edge", A: []pattern.Run{{Piece: before.Pieces[0].ID, Edge: "zz"}}, B: []pattern.Run{{Piece: before.Pieces[0].ID, Edge: "a"}}}}
	now := before
	now.Notes = "new"
	if err := now.ValidateParts(before); err != nil {
		t.Errorf("an old seam without an edge: %v", err)
	}
	if err := now.ValidateParts(pattern.Garment{}); !errors.Is(err, pattern.ErrInvalid) || !strings.Contains(err.Error(), "seam_pairs[0].a[0].edge") {
		t.Errorf("a new seam without an edge: %v", err)
	}
	now.Date = "yesterday"
	if err := now.ValidateParts(before); !errors.Is(err, pattern.ErrInvalid) || !strings.Contains(err.Error(), "date") {
		t.Errorf("date yesterday: %v", err)
	}
}
