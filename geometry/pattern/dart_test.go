package pattern_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// A dart is written and read again to the byte, drawn from its mouth to its tip with a
// notch at each leg, and folded out of the seams that its edge is in, notches included
// (truing rules: darts are folded out before a seam is walked; three teaching pages).
func TestDarts(t *testing.T) {
	g := one(pt(0, 0), pt(200, 0), pt(200, 300), pt(0, 300))
	g.Pieces[0].OutlineMeans = pattern.MeansStitchLine
	edge := g.Pieces[0].Edges[2] // from (200, 300) to (0, 300)
	g.Pieces[0].Edges[2].Finish = &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 15}
	dart := pattern.Mark{ID: "d", Kind: pattern.MarkDart, Edge: edge.ID, At: 0.5, WidthMM: 30, Points: points(pt(100, 180))}
	g.Pieces[0].Marks = []pattern.Mark{dart, {ID: "n", Kind: pattern.MarkNotch, Edge: edge.ID, At: 0.75}}
	other := g.Pieces[0]
	other.ID, other.Marks = "other", nil
	g.Pieces = append(g.Pieces, other)
	g.SeamPairs = []pattern.SeamPair{{
		ID: "s", Name: "seam", A: []pattern.Run{{Piece: g.Pieces[0].ID, Edge: edge.ID}}, B: []pattern.Run{{Piece: "other", Edge: edge.ID}},
	}}

	var first, second bytes.Buffer
	if err := pattern.Write(&first, g); err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(first.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(doc); err != nil {
		t.Errorf("a written dart breaks the schema: %v", err)
	}
	again, err := pattern.Read(bytes.NewReader(first.Bytes()))
	if err == nil {
		err = pattern.Write(&second, again)
	}
	if err != nil || second.String() != first.String() {
		t.Errorf("a dart does not come back: %v", err)
	}

	d := drafted(t, g).Marks[0]
	want := [][]geometry.Point{{pt(115, 300), pt(100, 180), pt(85, 300)}, {pt(100, 300), pt(100, 180)}, {pt(115, 315), pt(115, 310)}, {pt(85, 315), pt(85, 310)}}
	for i, l := range want {
		for j, q := range l {
			if len(d.Lines) <= i || len(d.Lines[i]) <= j || d.Lines[i][j].Dist(q) > 1e-6 {
				t.Fatalf("drawn as %v, want %v", d.Lines, want)
			}
		}
	}

	report, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	if off := report.Seams[0].OffMM; math.Abs(off+30) > 1e-6 {
		t.Errorf("the seam is off by %g mm, want -30", off)
	}
	for _, n := range report.Notches {
		if math.Abs(n.AtMM-120) > 1e-6 { // 150 mm along the edge, less the dart before it
			t.Errorf("the notch lies %g mm along the seam, want 120", n.AtMM)
		}
	}
	if len(report.Notches) != 1 {
		t.Errorf("notches offered: %v", report.Notches)
	}
	for field, spoil := range map[string]func(*pattern.Mark){
		"edge": func(m *pattern.Mark) { m.Edge = "" }, "width_mm": func(m *pattern.Mark) { m.WidthMM = 0 },
		"points_mm": func(m *pattern.Mark) { m.Points = nil }, "at": func(m *pattern.Mark) { m.At = 2 },
	} {
		bad := dart
		spoil(&bad)
		g.Pieces[0].Marks[0] = bad
		if err := g.Validate(); err == nil || !strings.Contains(err.Error(), "marks[0]."+field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}
