package main

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/api/pipeline"
	"secondcut/geometry"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

var update = flag.Bool("update", false, "trace the demo photos again and write the demo garment and its golden files anew")

const (
	smockFile  = "../../testdata/garments/lamplighter-smock.json"
	smockCheck = "../../testdata/garments/lamplighter-smock.check.txt"
	smockLabel = "../../testdata/garments/lamplighter-smock.labels.txt"
)

// TestSmock: the demo garment is what its recipe makes of the demo photos; every
// seam fits, every piece can be drawn, and what is printed about it is as it was.
func TestSmock(t *testing.T) {
	if *update {
		makeSmock(t)
	}
	g, err := readGarment(smockFile)
	if err != nil {
		t.Fatal(err)
	}
	r, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	if !r.OK() || len(r.Findings) > 0 || len(r.Seams) < 6 {
		t.Errorf("%d seams, all fit: %v, findings %v", len(r.Seams), r.OK(), r.Findings)
	}
	var table bytes.Buffer
	if err := printReport(&table, r, measure.Millimetre); err != nil {
		t.Fatal(err)
	}
	golden(t, smockCheck, table.Bytes())
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var labels strings.Builder
	for _, d := range drafts {
		for _, f := range d.Findings {
			if f.Severity != geometry.SeverityInfo && f.Code != "fold-length" {
				t.Errorf("%s: %s", d.Name, f.Message)
			}
		}
		if d.CutLine.Area() <= d.StitchLine.Area() || d.GrainDeg == nil || d.Room == nil {
			t.Errorf("%s: no room between the lines, no grain or no place for the label", d.Name)
		}
		fmt.Fprintf(&labels, "%s\n\n", strings.Join(d.Label, "\n"))
	}
	golden(t, smockLabel, []byte(labels.String()))
}

// golden compares with a file, or writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s would be written otherwise:\n%s", filepath.Base(name), got)
	}
}

// smockPieces is the recipe: photo, chord of the edge from which the edges are named
// counter-clockwise, the names, and what was measured and wished for each.
var smockPieces = []struct {
	id, name string
	chord    float64 // mm, of the first edge
	edges    []string
	face     pattern.Face
	cut      pattern.Cut
	notes    string
}{
	{"front", "Front", 530, bodyEdges, pattern.FaceRight, pattern.Cut{Count: 1}, ""},
	{"back", "Back", 530, bodyEdges, pattern.FaceWrong, pattern.Cut{Count: 1}, ""},
	{"sleeve", "Sleeve", 260, []string{"cuff", "front seam", "cap", "back seam"}, pattern.FaceRight, pattern.Cut{Count: 2, Mirrored: true}, "gather the cap between the notches"},
	{"pocket", "Patch pocket", 164, []string{"top", "left side", "lower left", "lower right", "right side"}, pattern.FaceRight, pattern.Cut{Count: 2}, ""},
}

var bodyEdges = []string{"hem", "side left", "armhole left", "shoulder left", "neck", "shoulder right", "armhole right", "side right"}

// smockFinish returns what was measured of an old edge and how it is finished now.
func smockFinish(edge string) (oldMM float64, f pattern.Finish) {
	seam := func(mm float64) pattern.Finish {
		return pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: mm}
	}
	switch kind, _, _ := strings.Cut(edge, " "); kind {
	case "hem":
		return 25, pattern.Finish{Kind: pattern.FinishHem, DepthMM: 20, Turns: 2, TurnUnderMM: 10}
	case "armhole", "cap":
		return 8, seam(10)
	case "neck":
		return 0, pattern.Finish{Kind: pattern.FinishFaced, AllowanceMM: 6.35}
	case "cuff":
		return 18, pattern.Finish{
			Kind: pattern.FinishCasing, Holds: pattern.HoldsElastic, WidthMM: 10, EaseMM: 4, TurnUnderMM: 6, OpeningMM: 40,
			Elastic: &pattern.Elastic{BodyMM: 150, OverlapMM: 20, Stretch: 1.4, PassMM: 200},
		}
	case "top":
		return 25, pattern.Finish{Kind: pattern.FinishHem, DepthMM: 25, Turns: 2, TurnUnderMM: 8}
	}
	return 10, seam(12)
}

// makeSmock traces the demo photos and writes the garment file.
func makeSmock(t *testing.T) {
	g := pattern.Garment{
		Format: pattern.Format, Name: "Lamplighter's smock", SizeMeasured: "chest 74 cm", Date: "2026-03-02", Version: "1",
		Cloths: []pattern.Cloth{{ID: "linen", Name: "indigo linen", Use: pattern.ClothMain, WidthMM: 1400}},
	}
	for _, r := range smockPieces {
		p := smockPiece(t, r.id, r.name, r.chord, r.edges)
		p.Face = r.face
		r.cut.Cloth = "linen"
		p.Label = &pattern.Label{Cuts: []pattern.Cut{r.cut}, Notes: r.notes}
		g.Pieces = append(g.Pieces, p)
	}
	g = smockSeams(t, g)
	var b bytes.Buffer
	if err := pattern.Write(&b, g); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(smockFile, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// smockPiece traces one photo, turns the piece so that its first edge lies below,
// names the edges and gives them their finishes.
func smockPiece(t *testing.T, id, name string, chord float64, names []string) pattern.Piece {
	data, err := os.ReadFile("../../testdata/demo/" + id + ".jpg")
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(context.Background(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	tr, err := s.Trace(context.Background(), nil, nil)
	if err != nil || len(tr.Pieces) != 1 {
		t.Fatalf("%s: %v", id, err)
	}
	p, _, err := pattern.NewPiece(id, name, traced(tr.Pieces[0]))
	if err != nil || len(p.Edges) != len(names) {
		t.Fatalf("%s: %d edges, want %d; %v", id, len(p.Edges), len(names), err)
	}
	n := len(p.Edges)
	ends := func(k int) (a, b geometry.Point) {
		return p.Knots[p.Edges[k].Knot].At, p.Knots[p.Edges[(k+1)%n].Knot].At
	}
	first := 0
	for k := range p.Edges {
		a, b := ends(k)
		c, d := ends(first)
		if math.Abs(a.Dist(b)-chord) < math.Abs(c.Dist(d)-chord) {
			first = k
		}
	}
	a, b := ends(first)
	turn := -math.Atan2(b.Y-a.Y, b.X-a.X)
	if id == "pocket" { // its first edge is the upper one
		turn += math.Pi
	}
	p = p.Turned(turn)
	for j, e := range names {
		k := (first + j) % n
		old, f := smockFinish(e)
		p.Edges[k].ID, p.Edges[k].Name = strings.ReplaceAll(e, " ", "-"), e
		p.Edges[k].OldAllowance, p.Edges[k].Finish = &pattern.OldAllowance{Is: pattern.OldLength, MM: old}, &f
		if old == 0 {
			p.Edges[k].OldAllowance.Is = pattern.OldNone
		}
	}
	lo, hi := p.Knots.Flatten(0.1).Bounds()
	mid, h := (lo.X+hi.X)/2, hi.Y-lo.Y
	p.Marks = []pattern.Mark{{ID: "grain", Kind: pattern.MarkGrain, Points: []geometry.Point{{X: mid + 40, Y: lo.Y + 0.2*h}, {X: mid + 40, Y: lo.Y + 0.7*h}}}}
	for _, e := range p.Edges {
		if len(e.Finish.Folds()) > 0 {
			p.Marks = append(p.Marks, pattern.Mark{ID: "snip-" + e.ID, Kind: pattern.MarkSnip, Edge: e.ID})
		}
	}
	if id == "front" { // where the pockets are sewn on
		p.Marks = append(p.Marks,
			pattern.Mark{ID: "pocket-1", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: mid - 180, Y: 260}}, Text: "pocket"},
			pattern.Mark{ID: "pocket-2", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: mid - 50, Y: 260}}, Text: "pocket"},
			pattern.Mark{ID: "lengthen", Kind: pattern.MarkLengthen, Points: []geometry.Point{{X: mid - 200, Y: 150}, {X: mid + 200, Y: 150}}})
	}
	return p
}

// smockSeams adds seams with their notches, the necks, and the measures.
func smockSeams(t *testing.T, g pattern.Garment) pattern.Garment {
	run := func(piece, edge string, reverse bool) []pattern.Run {
		return []pattern.Run{{Piece: piece, Edge: edge, Reverse: reverse}}
	}
	const worn = 3.2 // 1/8 in: the ordinary tolerance of truing by hand, for edges that were worn
	for _, side := range []string{"left", "right"} {
		rev := side == "right" // there the outlines run down
		g.SeamPairs = append(g.SeamPairs,
			pattern.SeamPair{ID: "side-" + side, Name: "side " + side, A: run("front", "side-"+side, rev), B: run("back", "side-"+side, rev), RunsOnStart: true, ToleranceMM: worn},
			// The back shoulder is gathered to the front one.
			pattern.SeamPair{ID: "shoulder-" + side, Name: "shoulder " + side, A: run("front", "shoulder-"+side, rev), B: run("back", "shoulder-"+side, rev), EaseMM: -15, ToleranceMM: worn},
			pattern.SeamPair{
				ID: "armhole-" + side, Name: "armhole " + side, A: run("sleeve", "cap", false),
				B: append(run("front", "armhole-"+side, rev), run("back", "armhole-"+side, !rev)...), EaseMM: 75, ToleranceMM: worn,
			})
	}
	g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{ID: "sleeve", Name: "sleeve seam", A: run("sleeve", "front-seam", false), B: run("sleeve", "back-seam", true)})
	g.CurvePairs = []pattern.CurvePair{{ID: "neck", Name: "neck, front and back", A: run("front", "neck", false)[0], B: run("back", "neck", false)[0]}}
	g.Measures = []pattern.Measure{
		{ID: "chest", Name: "chest", BodyMM: 740, EaseMM: 150, Parts: []pattern.Part{{Piece: "front", LevelMM: 400}, {Piece: "back", LevelMM: 400}}},
		{ID: "hem", Name: "hem", Parts: []pattern.Part{{Piece: "front", Edge: "hem"}, {Piece: "back", Edge: "hem"}}},
	}
	for _, n := range []struct {
		pair    string
		mm      float64
		fromEnd bool
		count   int
	}{
		{"side-left", 200, false, 1},
		{"side-right", 200, false, 1},
		{"sleeve", 150, false, 1},
		{"armhole-right", 90, false, 1},
		{"armhole-left", 90, false, 1}, // single in front
		{"armhole-right", 90, true, 2},
		{"armhole-left", 90, true, 2}, // double behind
	} {
		var err error
		if g, err = pattern.PairNotch(g, n.pair, n.mm, n.fromEnd, pattern.Mark{ID: "notch", Count: n.count}); err != nil {
			t.Fatal(err)
		}
	}
	return g
}
