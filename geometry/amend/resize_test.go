package amend_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

// bodice is two like halves on the fold that are sewn at side and shoulder, with lines to
// lengthen at and to widen along.
func bodice() pattern.Garment {
	a, b := front(), front()
	b.ID, b.Name = "back", "back"
	g := pattern.Garment{Format: pattern.Format, Name: "bodice", Pieces: []pattern.Piece{a, b}}
	for i := range g.Pieces {
		g.Pieces[i].Holes = nil
		g.Pieces[i].Marks = append(g.Pieces[i].Marks,
			pattern.Mark{ID: "longer", Kind: pattern.MarkLengthen, Points: []geometry.Point{pt(20, 200), pt(180, 200)}, Measure: "length"},
			pattern.Mark{ID: "wider", Kind: pattern.MarkLengthen, Points: []geometry.Point{pt(120, 40), pt(120, 400)}, Measure: "hem"})
	}
	g.Measures = []pattern.Measure{
		{ID: "hem", Name: "hem", BodyMM: 900, EaseMM: 60, Parts: []pattern.Part{{Piece: "front", Edge: "hem"}, {Piece: "back", Edge: "hem"}}},
		{ID: "length", Name: "length at the centre", Parts: []pattern.Part{{Piece: "front", Edge: "fold", Times: 1}}},
		{ID: "chest", Name: "chest", Parts: []pattern.Part{{Piece: "front", LevelMM: 300}, {Piece: "back", LevelMM: 300}}},
	}
	for _, e := range []string{"side", "shoulder"} {
		g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{ID: e, Name: e, A: []pattern.Run{{Piece: "front", Edge: e}}, B: []pattern.Run{{Piece: "back", Edge: e}}})
	}
	return g
}

func finished(r amend.Resized, id string) amend.MeasureChange {
	return r.Measures[slices.IndexFunc(r.Measures, func(m amend.MeasureChange) bool { return m.ID == id })]
}

// Another size has the measures that were asked for, body and ease or finished, and its
// seams agree as before; asked for the old ones again it is the old garment.
func TestResize(t *testing.T) {
	g := bodice()
	now, r, err := amend.Resize(g, []amend.Want{{Measure: "hem", BodyMM: 1000}, {Measure: "length", FinishedMM: 480}})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "hem", finished(r, "hem").AfterMM, 1060, 0.05)
	near(t, "length", finished(r, "length").AfterMM, 480, 0.05)
	// The hem of 960 mm is crossed by four half-widths, two pieces on the fold each.
	near(t, "a line", r.Lines[0].MM, (1060-960)/4.0, 0.05)
	near(t, "a line", r.Lines[2].MM, 40, 0.05)
	if m := now.Measures[0]; m.BodyMM != 1000 {
		t.Errorf("the body's measure is %g", m.BodyMM)
	}
	// The chest, measured above the line, is measured at the same place of the cloth.
	near(t, "level", now.Measures[2].Parts[0].LevelMM, 340, 0.05)
	near(t, "chest", finished(r, "chest").AfterMM-finished(r, "chest").BeforeMM, 100, 1.5)
	for _, s := range r.Seams {
		if !s.OK || math.Abs(s.AfterOffMM) > 1e-6 || math.Abs(s.AfterAMM-s.BeforeAMM) < 5 {
			t.Errorf("%+v", s)
		}
	}
	back, _, err := amend.Resize(now, []amend.Want{{Measure: "hem", FinishedMM: 960}, {Measure: "length", FinishedMM: 440}})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range g.Pieces {
		for j, k := range p.Knots {
			if d := k.At.Dist(back.Pieces[i].Knots[j].At); d > 0.05 {
				t.Errorf("%s: knot %d is off by %.3f mm", p.Name, j, d)
			}
		}
	}
}

// A line on one side of a seam alone is told, and so is what cannot be.
func TestResizeTells(t *testing.T) {
	g := bodice()
	g.Pieces[1].Marks = slices.DeleteFunc(g.Pieces[1].Marks, func(m pattern.Mark) bool { return m.ID == "longer" })
	_, r, err := amend.Resize(g, []amend.Want{{Measure: "length", FinishedMM: 480}})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.ContainsFunc(r.Findings, func(f geometry.Finding) bool { return f.Code == amend.CodeSizeSeam }) {
		t.Errorf("%+v", r)
	}
	g.Measures = append(g.Measures, pattern.Measure{ID: "neck", Name: "neck", Parts: []pattern.Part{{Piece: "front", Edge: "neck"}}})
	g.Pieces[0].Marks = append(g.Pieces[0].Marks, pattern.Mark{ID: "n", Kind: pattern.MarkLengthen, Points: []geometry.Point{pt(20, 100), pt(180, 100)}, Measure: "neck"})
	for _, w := range [][]amend.Want{
		nil,
		{{Measure: "waist", BodyMM: 700}},
		{{Measure: "hem"}},
		{{Measure: "hem", BodyMM: 900, FinishedMM: 960}},
		{{Measure: "chest", FinishedMM: 1000}},
		{{Measure: "neck", FinishedMM: 500}},
		{{Measure: "hem", BodyMM: 900}, {Measure: "hem", BodyMM: 900}},
	} {
		if _, _, err := amend.Resize(g, w); !errors.Is(err, amend.ErrOp) {
			t.Errorf("%+v: %v", w, err)
		}
	}
}
