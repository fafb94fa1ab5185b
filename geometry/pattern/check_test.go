package pattern_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// two is a garment of two panels whose right (b of p) and left (d of q) sides are a
// seam of the given stitch lengths, walked from the hem.
func two(a, b float64) pattern.Garment {
	g := one(pt(0, 0), pt(200, 0), pt(200, a), pt(0, a))
	q := one(pt(0, 0), pt(200, 0), pt(200, b), pt(0, b)).Pieces[0]
	q.ID, q.Name = "q", "Other"
	g.Pieces = append(g.Pieces, q)
	for i := range g.Pieces {
		g.Pieces[i].Marks = []pattern.Mark{{ID: "g", Kind: pattern.MarkGrain, Deg: deg(90)}}
	}
	g.SeamPairs = []pattern.SeamPair{{ID: "s", Name: "side seam", A: []pattern.Run{{Piece: "p", Edge: "b"}}, B: []pattern.Run{{Piece: "q", Edge: "d", Reverse: true}}}}
	return g
}

func checked(t testing.TB, g pattern.Garment) pattern.Report {
	t.Helper()
	r, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Tolerances of truing by hand: 1/16 in strict, 1/8 in ordinary (a sewing magazine's
// article on patternwork skills, Dec 2018); 0.76 mm for pattern makers at a screen
// (a trade blog). Ease as it is meant.
func TestSeamLengths(t *testing.T) {
	for _, c := range []struct {
		name                  string
		a, b, ease, tolerance float64
		ok                    bool
		off                   float64
	}{
		{"equal", 400, 400, 0, 0, true, 0},
		{"within 1/16 in", 401.5, 400, 0, 0, true, 1.5},
		{"beyond", 401.7, 400, 0, 0, false, 1.7},
		{"beyond, the other is longer", 400, 401.7, 0, 0, false, -1.7},
		{"within 1/8 in", 403.1, 400, 0, 3.2, true, 3.1},
		{"a screen's 0.76 mm", 401, 400, 0, 0.76, false, 1},
		{"shoulder eased by 6 mm", 406, 400, 6, 0, true, 0},
		{"ease that is missing", 400, 400, 6, 0, false, -6},
		{"the second is eased", 400, 412, -12, 0, true, 0},
	} {
		g := two(c.a, c.b)
		g.SeamPairs[0].EaseMM, g.SeamPairs[0].ToleranceMM = c.ease, c.tolerance
		r := checked(t, g)
		row := r.Seams[0]
		if row.OK != c.ok || r.OK() != c.ok || math.Abs(row.OffMM-c.off) > 1e-6 || !near(row.AMM, c.a) || !near(row.BMM, c.b) {
			t.Errorf("%s: %+v", c.name, row)
		}
		if want := map[bool]string{true: "", false: pattern.CodeSeamLength}[c.ok]; codes(r.Findings) != want {
			t.Errorf("%s: findings %q, want %q", c.name, codes(r.Findings), want)
		} else if !c.ok && (r.Findings[0].Where == nil || math.Abs(r.Findings[0].Amount-math.Abs(c.off)) > 1e-6 || r.Findings[0].Limit == 0) {
			t.Errorf("%s: the finding lacks place, amount or limit: %+v", c.name, r.Findings[0])
		}
	}
}

// A seam is measured on the stitch line: cut edges of 430 and 400 mm agree when
// 15 mm lie outside on all sides of the first.
func TestSeamsAreMeasuredOnTheStitchLine(t *testing.T) {
	g := two(430, 400)
	for i := range g.Pieces[0].Edges {
		g.Pieces[0].Edges[i].OldAllowance = length(15)
	}
	if r := checked(t, g); !r.OK() || !near(r.Seams[0].AMM, 400) || !near(r.Seams[0].ATracedMM, 430) || !near(r.Seams[0].BTracedMM, 400) {
		t.Errorf("%+v", r.Seams[0])
	}
	g.Pieces[0].Edges[1].OldAllowance = nil
	r := checked(t, g)
	if r.OK() || r.Seams[0].Known || codes(r.Findings) != pattern.CodeOldUnknown {
		t.Errorf("%+v, findings %q; want one that asks", r.Seams[0], codes(r.Findings))
	}
	// Beside an edge that is not known a seam is measured, but not quite to its end.
	g.Pieces[0].Edges[1].OldAllowance, g.Pieces[0].Edges[0].OldAllowance = length(15), nil
	r = checked(t, g)
	if !r.Seams[0].Known || !near(r.Seams[0].AMM, 415) || codes(r.Findings) != pattern.CodeSeamLength+" "+pattern.CodeOldUnknown || r.Findings[1].Severity != geometry.SeverityWarning {
		t.Errorf("%+v, findings %+v; want one that warns", r.Seams[0], r.Findings)
	}
	g.Pieces[0].Edges[0].OldAllowance, g.Pieces[0].Edges[1].OldAllowance = length(15), nil
	g.Pieces[0].OutlineMeans = pattern.MeansStitchLine
	if r := checked(t, g); !r.Seams[0].Known || !near(r.Seams[0].AMM, 430) {
		t.Errorf("traced on the stitch line: %+v", r.Seams[0])
	}
}

func TestSeamParts(t *testing.T) {
	notch := func(edge string, at float64, count int) pattern.Mark {
		return pattern.Mark{ID: edge + string(rune('0'+count)), Kind: pattern.MarkNotch, Edge: edge, At: at, Count: count}
	}
	for _, c := range []struct {
		name string
		a, b []pattern.Mark
		ease float64
		want string
	}{
		{"agree", []pattern.Mark{notch("b", 0.25, 1)}, []pattern.Mark{notch("d", 0.75, 1)}, 0, ""},
		{"moved by 10 mm", []pattern.Mark{notch("b", 0.25, 1)}, []pattern.Mark{notch("d", 0.725, 1)}, 0, pattern.CodeSeamPart + " " + pattern.CodeSeamPart},
		{"one is missing", []pattern.Mark{notch("b", 0.25, 1)}, nil, 0, pattern.CodeSeamNotches},
		{"other order", []pattern.Mark{notch("b", 0.25, 1), notch("b", 0.5, 2)}, []pattern.Mark{notch("d", 0.75, 2), notch("d", 0.5, 1)}, 0, pattern.CodeSeamNotches},
	} {
		g := two(400, 400)
		g.Pieces[0].Marks = append(g.Pieces[0].Marks, c.a...)
		g.Pieces[1].Marks = append(g.Pieces[1].Marks, c.b...)
		r := checked(t, g)
		if got := codes(r.Findings); got != c.want {
			t.Errorf("%s: findings %q, want %q (%+v)", c.name, got, c.want, r.Seams[0])
		}
	}
	// Ease lies in one part only.
	g := two(412, 400)
	g.SeamPairs[0].EaseMM = 12
	g.Pieces[0].Marks = append(g.Pieces[0].Marks, notch("b", 200.0/412, 1))
	g.Pieces[1].Marks = append(g.Pieces[1].Marks, notch("d", 0.5, 1))
	if r := checked(t, g); !r.OK() || len(r.Findings) > 0 || len(r.Seams[0].Parts) != 2 || !near(r.Seams[0].Parts[1].AMM, 212) {
		t.Errorf("eased in one part: %+v, findings %q", r.Seams[0], codes(r.Findings))
	}
}

// A seam with more than one edge on a side is walked through all of them.
func TestChainsOfEdges(t *testing.T) {
	g := two(400, 250)
	q := one(pt(0, 0), pt(90, 0), pt(90, 150), pt(0, 150)).Pieces[0]
	q.ID, q.Marks = "r", g.Pieces[0].Marks
	g.Pieces = append(g.Pieces, q)
	g.SeamPairs[0].B = append(g.SeamPairs[0].B, pattern.Run{Piece: "r", Edge: "b"})
	if r := checked(t, g); !r.OK() || !near(r.Seams[0].BMM, 400) {
		t.Errorf("%+v", r.Seams[0])
	}
}

// Joined corners make 180 degrees: 95 + 85 passes, 95 + 90 is a peak of 5 degrees
// (common practice, no source).
func TestJoinedCorners(t *testing.T) {
	for _, c := range []struct{ a, b, off float64 }{{95, 85, 0}, {95, 90, 5}, {80, 90, -10}, {90, 92, 2}} {
		lean := func(deg float64) float64 { return 400 / math.Tan(deg*math.Pi/180) }
		g := two(400, 400)
		// The corner of p at (200, 0) inside the piece becomes a degrees, that of q at
		// (0, 0) becomes b.
		g.Pieces[0].Knots[2].At.X = 200 - lean(c.a)
		g.Pieces[1].Knots[3].At.X = lean(c.b)
		g.SeamPairs[0].RunsOnStart, g.SeamPairs[0].ToleranceMM = true, 100
		r := checked(t, g)
		if got := r.Seams[0].StartDeg; got == nil || math.Abs(pattern.JoinedOff(*got)-c.off) > 1e-6 || r.Seams[0].EndDeg != nil {
			t.Errorf("%g + %g: %v", c.a, c.b, got)
		}
		want := ""
		if math.Abs(c.off) > pattern.AngleToleranceDeg {
			want = pattern.CodeSeamAngle
		}
		if got := codes(r.Findings); got != want {
			t.Errorf("%g + %g: findings %q, want %q", c.a, c.b, got, want)
		}
	}
	// The far end, one side walked against its outline: 180 and 360 - 180 by symmetry.
	g := two(400, 400)
	g.SeamPairs[0].RunsOnEnd = true
	if r := checked(t, g); math.Abs(*r.Seams[0].EndDeg-180) > 1e-9 {
		t.Errorf("right angles at the end make %g", *r.Seams[0].EndDeg)
	}
}

// y = x^2/200 from 0 to 100: length 114.77935746963 (computed independently), chord
// 111.803, depth from the chord a quarter of the parabola's sagitta over it.
func TestCurves(t *testing.T) {
	g := two(400, 400)
	// A parabola is the cubic with handles at thirds of its tangents.
	knots := corners(pt(0, 0), pt(100, 50), pt(0, 50))
	out, in := pt(100.0/3, 0), pt(200.0/3, 50.0/3)
	knots[0].Out, knots[1].In = &out, &in
	for i := range g.Pieces {
		g.Pieces[i].Knots = knots
		g.Pieces[i].Edges = []pattern.Edge{{ID: "a", Name: "curve", Knot: 0, OldAllowance: none()}, {ID: "b", Name: "top", Knot: 1, OldAllowance: none()}, {ID: "d", Name: "left", Knot: 2, OldAllowance: none()}}
	}
	g.SeamPairs = nil
	g.CurvePairs = []pattern.CurvePair{{ID: "c", Name: "curve", A: pattern.Run{Piece: "p", Edge: "a"}, B: pattern.Run{Piece: "q", Edge: "a"}}}
	r := checked(t, g).Curves[0]
	depth := 1250 / math.Hypot(100, 50) // largest of (50 x - 100 y)/chord, at x = 50
	if math.Abs(r.A.LengthMM-114.77935746963) > 1e-6 || math.Abs(r.A.ChordMM-math.Hypot(100, 50)) > 1e-9 || math.Abs(r.A.DepthMM-depth) > 0.05 || r.ApartMM > 1e-9 {
		t.Errorf("%g long, chord %g, depth %g (want %g), apart %g", r.A.LengthMM, r.A.ChordMM, r.A.DepthMM, depth, r.ApartMM)
	}
	// Against a straight edge of the same chord they are apart by the depth.
	g.Pieces[1].Knots = corners(pt(0, 0), pt(100, 50), pt(0, 50))
	if r := checked(t, g).Curves[0]; math.Abs(r.ApartMM-depth) > 0.05 || r.B.DepthMM != 0 {
		t.Errorf("apart %g, want %g", r.ApartMM, depth)
	}
}

func TestMeasures(t *testing.T) {
	g := two(400, 400)
	g.Pieces[0].Label = &pattern.Label{Cuts: []pattern.Cut{{Count: 1}}}
	g.Pieces[1].Label = &pattern.Label{Cuts: []pattern.Cut{{Count: 1}}}
	g.Pieces[1].Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishFold} // half a back
	for _, c := range []struct {
		name     string
		body     float64
		ease     float64
		parts    []pattern.Part
		finished float64
		ok       bool
	}{
		{"whole front and half a back on the fold", 540, 60, []pattern.Part{{Piece: "p", LevelMM: 100}, {Piece: "q", LevelMM: 100}}, 600, true},
		{"too small", 580, 60, []pattern.Part{{Piece: "p", LevelMM: 100}, {Piece: "q", LevelMM: 100}}, 600, false},
		{"an edge, twice", 0, 0, []pattern.Part{{Piece: "p", Edge: "b", Times: 2}}, 800, true},
		{"an edge of what is cut once", 400, 0, []pattern.Part{{Piece: "p", Edge: "b"}}, 400, true},
		{"the hem of a half on the fold", 0, 0, []pattern.Part{{Piece: "q", Edge: "a"}}, 400, true},
		{"the centre on the fold is there once", 0, 0, []pattern.Part{{Piece: "q", Edge: "b"}}, 400, true},
		{"beside the piece", 0, 0, []pattern.Part{{Piece: "p", LevelMM: 900}}, 0, true},
	} {
		g.Measures = []pattern.Measure{{ID: "m", Name: "chest", BodyMM: c.body, EaseMM: c.ease, Parts: c.parts}}
		r := checked(t, g)
		if m := r.Measures[0]; !near(m.FinishedMM, c.finished) || m.OK != c.ok || strings.Contains(codes(r.Findings), pattern.CodeMeasure) == c.ok {
			t.Errorf("%s: %+v, findings %q", c.name, m, codes(r.Findings))
		}
	}
}

func TestElastics(t *testing.T) {
	for _, c := range []struct {
		name string
		e    pattern.Elastic
		want string
	}{
		{"draws in and passes", pattern.Elastic{BodyMM: 160, Stretch: 1.4, PassMM: 190, OverlapMM: 20}, ""},
		{"does not draw in", pattern.Elastic{BodyMM: 210, OverlapMM: 20}, pattern.CodeElasticLong},
		{"does not stretch far enough", pattern.Elastic{BodyMM: 160, Stretch: 1.1, PassMM: 190}, pattern.CodePullOn},
		{"the casing is too narrow", pattern.Elastic{BodyMM: 160, Stretch: 2, PassMM: 230}, pattern.CodePullOn},
	} {
		g := two(400, 400)
		g.Pieces[0].Edges[2].Finish = &pattern.Finish{Kind: pattern.FinishCasing, Holds: pattern.HoldsElastic, WidthMM: 10, EaseMM: 3, Elastic: &c.e}
		r := checked(t, g)
		if got := codes(r.Findings); got != c.want || !near(r.Elastics[0].OpeningMM, 200) {
			t.Errorf("%s: findings %q, want %q; %+v", c.name, got, c.want, r.Elastics)
		}
	}
	// Two edges of one loop are counted together.
	g := two(400, 400)
	f := &pattern.Finish{Kind: pattern.FinishCasing, Holds: pattern.HoldsElastic, WidthMM: 10, Elastic: &pattern.Elastic{Loop: "waist", BodyMM: 300}}
	g.Pieces[0].Edges[2].Finish, g.Pieces[1].Edges[2].Finish = f, f
	if r := checked(t, g); len(r.Elastics) != 1 || !near(r.Elastics[0].OpeningMM, 400) || len(r.Findings) > 0 {
		t.Errorf("%+v, findings %q", r.Elastics, codes(r.Findings))
	}
}

func TestGrainIsMissed(t *testing.T) {
	g := two(400, 400)
	g.Pieces[1].Marks = nil
	if r := checked(t, g); codes(r.Findings) != pattern.CodeNoGrain || !strings.Contains(r.Findings[0].Message, "Other") {
		t.Errorf("findings %v", r.Findings)
	}
}

// What labels suggest: sizes as EN 13402 and US children's wear write them.
func TestCautions(t *testing.T) {
	for _, c := range []struct {
		name, worn, measured, want string
	}{
		{"Smock", "M", "chest 92 cm", ""},
		{"Smock", "", "92", "caution-child"}, // a bare number is a child's height
		{"Smock", "134 cm", "", "caution-child"},
		{"Smock", "2T", "", "caution-child"},
		{"Smock", "18 months", "", "caution-child"},
		{"Smock", "6-9 m", "", "caution-child"},
		{"Smock", "", "height 116 cm, chest 60 cm", "caution-child"},
		{"Smock", "54", "", ""}, // a man's size
		{"Smock", "174-178", "", ""},
		{"Smock", "42", "", ""},
		{"Smock", "W32 L34", "", ""},
		{"Nightdress", "M", "", "caution-nightwear"},
		{"Pyjamas for children", "", "", "caution-child caution-nightwear"},
		{"Robin's hat", "", "", ""},
		{"Coat with hood", "L", "", ""},
		{"Coat with hood", "104", "", "caution-child caution-hood"},
		{"Coat with hood and drawstring", "", "", "caution-cord"},
		{"Corduroy trousers", "", "", ""},
	} {
		g := square(200)
		g.Name, g.SizeWorn, g.SizeMeasured = c.name, c.worn, c.measured
		got := pattern.Cautions(g)
		if codes(got) != c.want {
			t.Errorf("%s, %q, %q: %q, want %q", c.name, c.worn, c.measured, codes(got), c.want)
		}
		for _, f := range got {
			if f.Severity != geometry.SeverityInfo || f.Remedy == "" {
				t.Errorf("%s: a caution only informs, and says what to do: %+v", c.name, f)
			}
		}
	}
	g := square(200)
	g.Pieces[0].Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishCasing, Holds: pattern.HoldsCord, WidthMM: 6}
	if got := codes(pattern.Cautions(g)); got != "caution-cord" {
		t.Errorf("a casing for a cord: %q", got)
	}
}

// Walking a seam the other way changes nothing but the order.
func TestWalkingBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := two(rapid.Float64Range(300, 500).Draw(t, "a"), rapid.Float64Range(300, 500).Draw(t, "b"))
		out, in := pt(230, 100), pt(rapid.Float64Range(150, 260).Draw(t, "x"), 250)
		g.Pieces[0].Knots[1].Out, g.Pieces[0].Knots[2].In = &out, &in
		g.SeamPairs[0].RunsOnStart, g.SeamPairs[0].RunsOnEnd = true, true
		there, err := pattern.Check(g)
		if err != nil {
			t.Fatal(err)
		}
		g.SeamPairs[0].A[0].Reverse, g.SeamPairs[0].B[0].Reverse = true, false
		back, err := pattern.Check(g)
		if err != nil {
			t.Fatal(err)
		}
		x, y := there.Seams[0], back.Seams[0]
		if math.Abs(x.OffMM-y.OffMM) > 1e-6 || math.Abs(*x.StartDeg-*y.EndDeg) > 1e-6 || math.Abs(*x.EndDeg-*y.StartDeg) > 1e-6 {
			t.Fatalf("%+v and back %+v", x, y)
		}
	})
}
