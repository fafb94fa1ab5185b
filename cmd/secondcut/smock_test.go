package main

import (
	"bytes"
	"cmp"
	"context"
	"flag"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
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
	smockDraft = "../../testdata/garments/lamplighter-smock.draft.txt"
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
	if !r.OK() || len(r.Seams) < 8 || len(r.Notches) > 0 {
		t.Errorf("%d seams, all fit: %v, notches are missing: %v", len(r.Seams), r.OK(), r.Notches)
	}
	for _, f := range r.Findings {
		if f.Severity != geometry.SeverityInfo {
			t.Errorf("%s %s", f.Message, f.Remedy)
		}
	}
	showsAll(t, g)
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
	golden(t, smockDraft, draftSummary(drafts))
}

// showsAll holds that the demo garment has each kind of finish, mark, notch and pair.
func showsAll(t *testing.T, g pattern.Garment) {
	t.Helper()
	missing := map[string]bool{}
	for _, k := range []string{
		"keep", "seam", "seam linear", "hem 1", "hem 2", "casing elastic", "casing cord", "faced", "bound", "fold",
		"grain", "notch", "snip", "fold-line", "stitch-line", "line", "drill-hole", "buttonhole", "lengthen-line", "text",
		"notch slit", "notch v", "notch t", "notch 1", "notch 2", "notch 3", "face right", "face wrong", "mirrored", "lining",
	} {
		missing[k] = true
	}
	for _, p := range g.Pieces {
		delete(missing, "face "+string(p.Face))
		for _, e := range p.Edges {
			f := pattern.Finish{Kind: pattern.FinishKeep}
			if e.Finish != nil {
				f = *e.Finish
			}
			delete(missing, string(f.Kind))
			delete(missing, fmt.Sprintf("%s %s", f.Kind, f.Holds))
			delete(missing, fmt.Sprintf("%s %d", f.Kind, f.Turns))
			if f.EndMM > 0 {
				delete(missing, "seam linear")
			}
		}
		for _, m := range p.Marks {
			delete(missing, string(m.Kind))
			delete(missing, fmt.Sprintf("%s %s", m.Kind, cmp.Or(m.Shape, pattern.NotchSlit)))
			delete(missing, fmt.Sprintf("%s %d", m.Kind, max(m.Count, 1)))
		}
		for _, c := range p.Label.Cuts {
			if c.Mirrored {
				delete(missing, "mirrored")
			}
			delete(missing, c.Cloth)
		}
	}
	if len(missing) > 0 || len(g.CurvePairs) < 2 || len(g.Measures) < 3 || g.SizeWorn == "" || g.Notes == "" {
		t.Errorf("the demo garment lacks %v, or pairs, measures or words", slices.Sorted(maps.Keys(missing)))
	}
}

// draftSummary says what was drafted, to a tenth of a millimetre: the rest of the
// digits is not the same on every machine.
func draftSummary(drafts []pattern.Drafted) []byte {
	var b strings.Builder
	for _, d := range drafts {
		lo, hi := d.CutLine.Flatten(0.05).Bounds()
		fmt.Fprintf(&b, "%s: cut %.1f x %.1f mm, %.0f cm²; sewn %.0f cm²; grain %.0f\n", d.Name, hi.X-lo.X, hi.Y-lo.Y, d.CutLine.Area()/100, d.StitchLine.Area()/100, *d.GrainDeg)
		for _, e := range d.Edges {
			fmt.Fprintf(&b, "  %s: %.1f mm, %.1f to %.1f outside\n", e.Name, e.LengthMM, e.StartMM, e.EndMM)
		}
		for _, l := range d.FoldLines {
			fmt.Fprintf(&b, "  fold of %s, %.1f mm out\n", l.Edge, l.OutMM)
		}
		for _, m := range d.Marks {
			fmt.Fprintf(&b, "  %s %s: %d lines, %.1f mm deep\n", m.Kind, m.ID, len(m.Lines), m.DepthMM)
		}
		for _, f := range d.Findings {
			fmt.Fprintf(&b, "  %s: %s\n", f.Severity, f.Code)
		}
	}
	return []byte(b.String())
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
func smockFinish(piece, edge string) (oldMM float64, f pattern.Finish) {
	seam := func(mm float64) pattern.Finish {
		return pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: mm}
	}
	switch kind, _, _ := strings.Cut(edge, " "); kind {
	case "front": // of the sleeve: wider towards the cap, to let out
		return 10, pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 12, EndMM: 16}
	case "back":
		return 10, pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 16, EndMM: 12}
	case "hem":
		return 25, pattern.Finish{Kind: pattern.FinishHem, DepthMM: 20, Turns: 2, TurnUnderMM: 10}
	case "armhole", "cap":
		return 8, seam(10)
	case "neck":
		if piece == "back" {
			return 0, pattern.Finish{Kind: pattern.FinishBound}
		}
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
		Format: pattern.Format, Name: "Lamplighter's smock", SizeWorn: "S", SizeMeasured: "chest 74 cm", Date: "2026-03-02", Version: "1",
		Notes: "Taken from the old smock of the theatre; neck facing and oil can bag are new.",
		Cloths: []pattern.Cloth{
			{ID: "linen", Name: "indigo linen", Use: pattern.ClothMain, WidthMM: 1400, ShrinkLengthPct: 5, ShrinkAcrossPct: 3, Notes: "washed twice before cutting"},
			{ID: "lining", Name: "unbleached cotton", Use: pattern.ClothLining, WidthMM: 1100},
		},
	}
	for _, r := range smockPieces {
		p := smockPiece(t, r.id, r.name, r.chord, r.edges)
		p.Face = r.face
		r.cut.Cloth = "linen"
		p.Label = &pattern.Label{Cuts: []pattern.Cut{r.cut}, Notes: r.notes}
		g.Pieces = append(g.Pieces, p)
	}
	g.Pieces = append(g.Pieces, neckFacing(), oilBag())
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
		old, f := smockFinish(id, e)
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
			pattern.Mark{ID: "centre", Kind: pattern.MarkText, Points: []geometry.Point{{X: mid, Y: 560}}, Text: "centre front"},
			pattern.Mark{ID: "pocket-top", Kind: pattern.MarkStitchLine, Points: []geometry.Point{{X: mid - 180, Y: 272}, {X: mid - 50, Y: 272}}, Text: "top of the pocket"},
			pattern.Mark{ID: "tuck", Kind: pattern.MarkFoldLine, Points: []geometry.Point{{X: mid + 120, Y: 500}, {X: mid + 120, Y: 430}, {X: mid + 125, Y: 380}}, Text: "tuck"},
			pattern.Mark{ID: "pocket-2", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: mid - 50, Y: 260}}, Text: "pocket"},
			pattern.Mark{ID: "lengthen", Kind: pattern.MarkLengthen, Points: []geometry.Point{{X: mid - 200, Y: 150}, {X: mid + 200, Y: 150}}})
	}
	return p
}

// drawnPiece is a piece that was drawn, not traced: its outline is the stitch line.
func drawnPiece(id, name string, knots geometry.Path, edges []pattern.Edge, marks []pattern.Mark, cut pattern.Cut) pattern.Piece {
	for i := range edges {
		edges[i].Knot, edges[i].ID = i, strings.ReplaceAll(edges[i].Name, " ", "-")
	}
	return pattern.Piece{
		ID: id, Name: name, Knots: knots, OutlineMeans: pattern.MeansStitchLine, Edges: edges, Marks: marks,
		Label: &pattern.Label{Cuts: []pattern.Cut{cut}},
	}
}

// neckBow makes the neck of the facing as long as half the front's, 149 mm.
const neckBow = 0.49

// neckFacing is half of the facing of the front neck, on the fold.
func neckFacing() pattern.Piece {
	at := func(x, y float64) geometry.Knot { return geometry.Knot{At: geometry.Point{X: x, Y: y}, Corner: true} }
	h := func(x, y float64) *geometry.Point { return &geometry.Point{X: x, Y: y} }
	knots := geometry.Path{at(0, 0), at(151, 146), at(91, 157), at(0, 55)}
	knots[0].Out, knots[1].In = h(85, 0), h(148, 70)
	knots[2].Out, knots[3].In = h(91, 157-neckBow*102), h(neckBow*91, 55)
	return drawnPiece("neck-facing", "Neck facing", knots, []pattern.Edge{
		{Name: "outer edge", Finish: &pattern.Finish{Kind: pattern.FinishHem, DepthMM: 6, Turns: 1}},
		{Name: "shoulder"}, // kept: it ends in the seam of the shoulder
		{Name: "neck", Finish: &pattern.Finish{Kind: pattern.FinishFaced, AllowanceMM: 6.35}},
		{Name: "centre front", Finish: &pattern.Finish{Kind: pattern.FinishFold}},
	}, []pattern.Mark{{ID: "grain", Kind: pattern.MarkGrain, Edge: "centre-front"}}, pattern.Cut{Cloth: "lining", Count: 1})
}

// oilBag is half of a bag with a drawstring, folded at its bottom.
func oilBag() pattern.Piece {
	at := func(x, y float64) geometry.Knot { return geometry.Knot{At: geometry.Point{X: x, Y: y}, Corner: true} }
	seam := &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 12}
	pt := func(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }
	return drawnPiece("oil-bag", "Oil can bag", geometry.Path{at(0, 0), at(180, 0), at(180, 230), at(0, 230)}, []pattern.Edge{
		{Name: "bottom", Finish: &pattern.Finish{Kind: pattern.FinishFold}},
		{Name: "side right", Finish: seam},
		{Name: "top", Finish: &pattern.Finish{Kind: pattern.FinishCasing, Holds: pattern.HoldsCord, WidthMM: 6, EaseMM: 6, TurnUnderMM: 6}},
		{Name: "side left", Finish: seam},
	}, []pattern.Mark{
		{ID: "grain", Kind: pattern.MarkGrain, Deg: new(float64), Bias: true, Text: "bias"},
		{ID: "snip-top", Kind: pattern.MarkSnip, Edge: "top"},
		{ID: "cord", Kind: pattern.MarkButtonhole, Points: []geometry.Point{pt(84, 222), pt(96, 222)}, Text: "for the cord"},
		{ID: "quilt", Kind: pattern.MarkLine, Points: []geometry.Point{pt(20, 20), pt(160, 160)}, Text: "quilting"},
	}, pattern.Cut{Cloth: "linen", Count: 1})
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
	g.SeamPairs = append(g.SeamPairs, pattern.SeamPair{ID: "bag", Name: "sides of the bag", A: run("oil-bag", "side-right", false), B: run("oil-bag", "side-left", true)})
	g.CurvePairs = []pattern.CurvePair{
		{ID: "neck", Name: "neck, front and back", A: run("front", "neck", false)[0], B: run("back", "neck", false)[0]},
		{ID: "armhole", Name: "armhole, front and back", A: run("front", "armhole-left", false)[0], B: run("back", "armhole-left", false)[0]},
	}
	g.Measures = []pattern.Measure{
		{ID: "chest", Name: "chest", BodyMM: 740, EaseMM: 150, Parts: []pattern.Part{{Piece: "front", LevelMM: 400}, {Piece: "back", LevelMM: 400}}},
		{ID: "hem", Name: "hem", Parts: []pattern.Part{{Piece: "front", Edge: "hem"}, {Piece: "back", Edge: "hem"}}},
		{ID: "neck-facing", Name: "neck of the facing, both halves", Parts: []pattern.Part{{Piece: "neck-facing", Edge: "neck"}}},
		{ID: "bag", Name: "round the bag", Parts: []pattern.Part{{Piece: "oil-bag", LevelMM: 100}}},
	}
	for _, n := range []struct {
		pair    string
		mm      float64
		fromEnd bool
		count   int
		shape   pattern.NotchShape
	}{
		{"side-left", 200, false, 1, ""},
		{"side-right", 200, false, 1, ""},
		{"sleeve", 150, false, 1, pattern.NotchV},
		{"bag", 90, false, 1, ""},
		{"shoulder-left", 40, false, 3, ""},
		{"shoulder-right", 40, false, 3, ""},
		{"armhole-right", 90, false, 1, ""},
		{"armhole-left", 90, false, 1, ""}, // single in front
		{"armhole-right", 90, true, 2, pattern.NotchT},
		{"armhole-left", 90, true, 2, pattern.NotchT}, // double behind
	} {
		var err error
		if g, err = pattern.PairNotch(g, n.pair, n.mm, n.fromEnd, pattern.Mark{ID: "notch", Count: n.count, Shape: n.shape}); err != nil {
			t.Fatal(err)
		}
	}
	return g
}
