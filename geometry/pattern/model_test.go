package pattern_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

func deg(d float64) *float64 { return &d }

func length(mm float64) *pattern.OldAllowance {
	return &pattern.OldAllowance{Is: pattern.OldLength, MM: mm}
}

func none() *pattern.OldAllowance { return &pattern.OldAllowance{Is: pattern.OldNone} }

func seam(mm float64) *pattern.Finish {
	return &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: mm}
}

// full is a garment in which every field is used.
func full(t testing.TB) pattern.Garment {
	g := garment(t)
	p := &g.Pieces[0]
	p.OutlineMeans, p.Face = pattern.MeansCutEdge, pattern.FaceWrong
	p.Edges[0].OldAllowance = length(25)
	p.Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishHem, DepthMM: 20, Turns: 2, TurnUnderMM: 8}
	p.Edges[1].OldAllowance = none()
	p.Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 15, EndMM: 10}
	p.Edges[2].OldAllowance = none()
	p.Edges[2].Finish = &pattern.Finish{
		Kind: pattern.FinishCasing, Holds: pattern.HoldsElastic, WidthMM: 10, EaseMM: 3, TurnUnderMM: 6, OpeningMM: 50,
		Elastic: &pattern.Elastic{Loop: "waist", Times: 2, BodyMM: 600, AddMM: -20, Ratio: 0.9, OverlapMM: 20, Stretch: 1.4, PassMM: 200},
	}
	p.Edges[3].OldAllowance = &pattern.OldAllowance{Is: pattern.OldUnknown}
	p.Edges[3].Finish = &pattern.Finish{Kind: pattern.FinishKeep}
	p.Marks = []pattern.Mark{
		{ID: "g1", Kind: pattern.MarkGrain, Deg: deg(90)},
		{ID: "g2", Kind: pattern.MarkGrain, Edge: p.Edges[1].ID, Bias: true},
		{ID: "g3", Kind: pattern.MarkGrain, Points: points(pt(20, 10), pt(20, 90))},
		{ID: "n1", Kind: pattern.MarkNotch, Edge: p.Edges[1].ID, At: 0.5, Count: 2, Shape: pattern.NotchT, DepthMM: 4},
		{ID: "n2", Kind: pattern.MarkNotch, Edge: p.Edges[1].ID, Outward: true},
		{ID: "s1", Kind: pattern.MarkSnip, Edge: p.Edges[2].ID},
		{ID: "d1", Kind: pattern.MarkDrill, Points: points(pt(50, 50))},
		{ID: "b1", Kind: pattern.MarkButtonhole, Points: points(pt(50, 60), pt(70, 60)), Text: "5/8"},
		{ID: "l1", Kind: pattern.MarkLengthen, Points: points(pt(10, 60), pt(290, 60)), Measure: "m"},
		{ID: "f1", Kind: pattern.MarkFoldLine, Points: points(pt(10, 60), pt(290, 60))},
		{ID: "i1", Kind: pattern.MarkLine, Points: points(pt(10, 60), pt(200, 70), pt(290, 60))},
		{ID: "i2", Kind: pattern.MarkStitchLine, Points: points(pt(10, 60), pt(290, 60))},
		{ID: "t1", Kind: pattern.MarkText, Points: points(pt(250, 20)), Text: "centre front"},
		{ID: "x1", Kind: pattern.MarkNotch, Edge: "gone", At: 0.1, Detached: "its edge is gone"},
		{ID: "k1", Kind: pattern.MarkDart, Edge: p.Edges[1].ID, At: 0.4, WidthMM: 12, Points: points(pt(150, 40))},
	}
	p.Label = &pattern.Label{
		Cuts:     []pattern.Cut{{Cloth: "c1", Count: 2, Mirrored: true}, {Cloth: "c2", Count: 1}},
		SizeWorn: "S", SizeMeasured: "chest 88 cm", Notes: "darker thread",
	}
	q := &g.Pieces[1]
	q.Edges[0].OldAllowance = none()
	q.Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishFaced, AllowanceMM: 6}
	q.Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishFold}
	q.Edges[2].OldAllowance = none()
	q.Edges[2].Finish = &pattern.Finish{Kind: pattern.FinishBound}
	q.Edges[3].OldAllowance = none()
	q.Derived = &pattern.Derived{
		Kind: pattern.DerivedPocketBag, From: []pattern.Source{{Piece: "yoke", Edge: p.Edges[1].ID, Times: 2}}, WidthMM: 50, PlayMM: 6, AtMM: 10, LengthMM: 90,
		DropMM: 20, EaseMM: 15, ShorterMM: 4, AllowanceMM: 10, Folded: true, Bias: true, State: "3f2a",
	}
	g.Cloths = []pattern.Cloth{{
		ID: "c1", Name: "indigo linen", Use: pattern.ClothMain, WidthMM: 1400, Notes: "prewash", Spread: pattern.SpreadLengthwise,
		RightSideOut: true, Nap: true, RepeatLengthMM: 80, RepeatAcrossMM: 60, StripeLengthMM: 12, StripeAcrossMM: 30, GapMM: 5, GrainTolDeg: 1, EndMM: 20, LengthMM: 2500,
		Remnant: points(pt(0, 0), pt(2000, 0), pt(2000, 700), pt(0, 650)), Flaws: []geometry.Polyline{points(pt(100, 100), pt(150, 100), pt(120, 140))}, PricePerM: 12.5, Currency: "EUR",
	}, {ID: "c2", Name: "lawn", Use: pattern.ClothLining}}
	g.SeamPairs = []pattern.SeamPair{{
		ID: "s", Name: "side", A: []pattern.Run{{Piece: "yoke", Edge: p.Edges[1].ID}}, B: []pattern.Run{{Piece: "pocket", Edge: q.Edges[3].ID, Reverse: true}},
		EaseMM: -3, ToleranceMM: 2, RunsOnStart: true, RunsOnEnd: true, MatchPrint: true,
	}}
	g.CurvePairs = []pattern.CurvePair{{ID: "c", Name: "neck", A: pattern.Run{Piece: "yoke", Edge: p.Edges[2].ID}, B: pattern.Run{Piece: "pocket", Edge: q.Edges[2].ID}}}
	g.Measures = []pattern.Measure{{ID: "m", Name: "hem", BodyMM: 500, EaseMM: 60, ToleranceMM: 8, Parts: []pattern.Part{{Piece: "yoke", Edge: p.Edges[0].ID, Times: 2}, {Piece: "pocket", LevelMM: 20}}}}
	g.SizeWorn, g.SizeMeasured, g.Date, g.Version, g.Notes = "M", "92", "2026-03-31", "2", "first trial"
	return g
}

func TestFullGarmentSatisfiesTheSchema(t *testing.T) {
	first := written(t, full(t))
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(doc); err != nil {
		t.Fatalf("a written file breaks the schema: %v", err)
	}
	g, err := pattern.Read(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	if second := written(t, g); !bytes.Equal(first, second) {
		t.Error("reading and writing changed the file")
	}
}

// A file as it was written before finishes existed is read as it was.
func TestOlderFilesAreRead(t *testing.T) {
	old := `{"format":"secondcut-garment/1","name":"Smock","pieces":[{"id":"p1","name":"sleeve",
	"knots":[{"at":[0,0],"corner":true},{"at":[100,0],"corner":true},{"at":[0,100],"corner":true}],
	"edges":[{"id":"edge-1","name":"bottom","knot":0}],"uncertainty_mm":0.2,"plane_to_piece":{"turn":0,"move":[0,0]}}]}`
	g, err := pattern.Read(strings.NewReader(old))
	if err != nil {
		t.Fatal(err)
	}
	d, err := pattern.Draft(g, 0, pattern.Options{})
	if err != nil || len(d.CutLine) != 3 || d.CutLine[1].At != pt(100, 0) {
		t.Errorf("draft %v, %v; want the traced outline", d.CutLine, err)
	}
}

// spoilings break one rule each. Where the schema can say it, it refuses as well.
var spoilings = []struct {
	field, value string // dotted path below the garment; JSON
	says         string // what the error must hold besides the field
	schemaToo    bool
}{
	{"pieces.0.edges.1.finish.allowance_mm", "0", "0 or missing", true},
	{"pieces.0.edges.1.finish.allowance_mm", "-5", "negative", true},
	{"pieces.0.edges.1.finish.allowance_mm", "400", "another unit", true},
	{"pieces.0.edges.1.finish.end_mm", "-1", "negative", true},
	{"pieces.0.edges.1.finish.depth_mm", "10", "has none", true},
	{"pieces.0.edges.1.finish.kind", `"glued"`, "keep, seam", true},
	{"pieces.0.edges.0.finish.turns", "3", "1 or 2", true},
	{"pieces.0.edges.0.finish.depth_mm", "500", "300", true},
	{"pieces.0.edges.0.finish.turn_under_mm", "30", "less than", false},
	{"pieces.0.edges.2.finish.holds", `"air"`, "elastic or cord", true},
	{"pieces.0.edges.2.finish.holds", `"cord"`, "cord", false},
	{"pieces.0.edges.2.finish.width_mm", "0", "0 or missing", true},
	{"pieces.0.edges.2.finish.ease_mm", "-1", "between", true},
	{"pieces.0.edges.2.finish.elastic.body_mm", "0", "between", true},
	{"pieces.0.edges.2.finish.elastic.ratio", "4", "between", true},
	{"pieces.0.edges.2.finish.elastic.add_mm", "-700", "no ring", false},
	{"pieces.0.edges.2.finish.elastic", `{"body_mm":100,"add_mm":-200,"overlap_mm":150}`, "no ring", false},
	{"pieces.0.edges.0.old_allowance.mm", "-3", "negative", true},
	{"pieces.0.edges.0.old_allowance.is", `"perhaps"`, "unknown, none or length", true},
	{"pieces.0.edges.1.old_allowance.mm", "3", "none", true},
	{"pieces.0.outline_means", `"fold"`, "cut-edge", true},
	{"pieces.0.face", `"up"`, "right or wrong", true},
	{"pieces.0.marks.3.at", "1.2", "fraction", true},
	{"pieces.0.marks.3.edge", `"edge-9"`, "no such edge", false},
	{"pieces.0.marks.3.count", "4", "single", true},
	{"pieces.0.marks.3.shape", `"w"`, "slit", true},
	{"pieces.0.marks.3.depth_mm", "50", "between", true},
	{"pieces.0.marks.3.bias", "true", "has none", true},
	{"pieces.0.marks.4.id", `"n1"`, "twice", false},
	{"pieces.0.marks.0.deg", "720", "degrees", true},
	{"pieces.0.marks.0.edge", `"edge-1"`, "exactly one", true},
	{"pieces.0.marks.6.points_mm", "[]", "points", true},
	{"pieces.0.marks.7.points_mm", "[[0,0]]", "points", true},
	{"pieces.0.marks.12.text", `""`, "missing", true},
	{"pieces.0.marks.6.kind", `"hole"`, "no kind", true},
	{"pieces.0.label.cuts.0.count", "3", "pairs", false},
	{"pieces.0.label.cuts.0.count", "0", "1 to 100", true},
	{"pieces.0.label.cuts.1.cloth", `"c9"`, "no such cloth", false},
	{"cloths.0.spread", `"diagonal"`, "open, lengthwise or crosswise", true},
	{"cloths.0.repeat_length_mm", "-1", "between", true},
	{"cloths.0.grain_tolerance_deg", "45", "between", true},
	{"cloths.0.remnant_mm", "[[0,0],[1,1]]", "points", true},
	{"cloths.0.flaws_mm", "[[[0,0],[1,1]]]", "points", true},
	{"cloths.0.currency", `"far too long"`, "characters", true},
	{"seam_pairs.0.a.0.piece", `"hat"`, "no such piece", false},
	{"seam_pairs.0.a.0.edge", `"edge-9"`, "no such edge", false},
	{"seam_pairs.0.b", `[{"piece":"yoke","edge":"edge-2"}]`, "same edge", false},
	{"seam_pairs.0.b", "[]", "1 to 100", true},
	{"seam_pairs.0.ease_mm", "5000", "between", true},
	{"seam_pairs.0.tolerance_mm", "-1", "between", true},
	{"curve_pairs.0.b.piece", `"hat"`, "no such piece", false},
	{"cloths.0.use", `"hat"`, "main", true},
	{"cloths.0.width_mm", "-1", "between", true},
	{"measures.0.parts.0.edge", `"edge-9"`, "no such edge", false},
	{"measures.0.parts", "[]", "1 to 100", true},
	{"measures.0.body_mm", "-1", "between", true},
	{"date", `"31.3.2026"`, "2026-03-31", true},
	{"date", `"2026-02-31"`, "2026-03-31", false},
}

func TestBadValuesAreNamed(t *testing.T) {
	s := compiled(t)
	good := written(t, full(t))
	for _, c := range spoilings {
		bad := replaced(t, good, c.field, c.value)
		_, err := pattern.Read(bytes.NewReader(bad))
		field := fieldName(c.field)
		if !errors.Is(err, pattern.ErrInvalid) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), field[:strings.LastIndexAny(field, ".")+1]) {
			t.Errorf("%s = %s: error %v; want ErrInvalid with %q near %s", c.field, c.value, err, c.says, field)
		}
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(bad))
		if err != nil {
			t.Fatal(err)
		}
		if refused := s.Validate(doc) != nil; refused != c.schemaToo {
			t.Errorf("%s = %s: the schema refuses it: %v; want %v", c.field, c.value, refused, c.schemaToo)
		}
	}
}

// NaN cannot stand in a file but in a value.
func TestNotANumberIsRefused(t *testing.T) {
	for _, x := range []float64{math.NaN(), math.Inf(1)} {
		g := full(t)
		g.Pieces[0].Edges[1].Finish = seam(x)
		if err := g.Validate(); !errors.Is(err, pattern.ErrInvalid) || !strings.Contains(err.Error(), "pieces[0].edges[1].finish.allowance_mm is not a number") {
			t.Errorf("allowance %g: error %v", x, err)
		}
		g = full(t)
		g.Pieces[0].Marks[0].Deg = &x
		if err := g.Validate(); !errors.Is(err, pattern.ErrInvalid) {
			t.Errorf("grain at %g: error %v", x, err)
		}
	}
}

// fieldName turns a.0.b into a[0].b.
func fieldName(path string) string {
	out := ""
	for i, part := range strings.Split(path, ".") {
		if part[0] >= '0' && part[0] <= '9' {
			out += "[" + part + "]"
			continue
		}
		if i > 0 {
			out += "."
		}
		out += part
	}
	return out
}

// replaced sets one value in a JSON document.
func replaced(t *testing.T, data []byte, path, value string) []byte {
	var doc, v any
	if err := errors.Join(json.Unmarshal(data, &doc), json.Unmarshal([]byte(value), &v)); err != nil {
		t.Fatal(err)
	}
	at := doc
	parts := strings.Split(path, ".")
	for i, part := range parts {
		last := i == len(parts)-1
		switch node := at.(type) {
		case map[string]any:
			if last {
				node[part] = v
			}
			at = node[part]
		case []any:
			at = node[int(number(part))]
		default:
			t.Fatalf("%s leads nowhere", path)
		}
	}
	out, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func number(s string) (n float64) {
	_ = json.Unmarshal([]byte(s), &n)
	return n
}
