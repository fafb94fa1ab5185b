package lay_test

import (
	"math"
	"os"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/pattern"
)

func smock(t *testing.T) pattern.Garment {
	t.Helper()
	r, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	g, err := pattern.Read(r)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func planOf(t *testing.T, g pattern.Garment, c lay.Cloth) (lay.Task, lay.Plan) {
	t.Helper()
	task, err := lay.NewTask(g, "", c)
	if err != nil {
		t.Fatal(err)
	}
	l, err := lay.Nest(t.Context(), task.Instance, quick, nil)
	if err != nil {
		t.Fatal(err)
	}
	verify(t, task.Instance, l)
	return task, task.Plan(l)
}

// a wedge that is not its own mirror image: 200 wide at the bottom, its right side
// upright, 300 long along the grain.
func wedge(count int, pair bool) pattern.Piece {
	knots := geometry.Path{}
	for _, q := range []geometry.Point{{}, {X: 200}, {X: 200, Y: 300}, {X: 120, Y: 300}} {
		knots = append(knots, geometry.Knot{At: q, Corner: true})
	}
	return pattern.Piece{
		ID: "wedge", Name: "Wedge", Knots: knots,
		Edges: []pattern.Edge{{ID: "hem", Name: "hem"}, {ID: "centre", Name: "centre", Knot: 1}, {ID: "top", Name: "top", Knot: 2}, {ID: "side", Name: "side", Knot: 3}},
		Marks: []pattern.Mark{{ID: "grain", Kind: pattern.MarkGrain, Points: []geometry.Point{{X: 150, Y: 50}, {X: 150, Y: 250}}}},
		Label: &pattern.Label{Cuts: []pattern.Cut{{Count: count, Mirrored: pair}}},
	}
}

func garmentOf(p ...pattern.Piece) pattern.Garment {
	return pattern.Garment{Format: pattern.Format, Name: "Test", Pieces: p}
}

// Counts and faces follow from how the cloth lies: a pair gives a left and a right,
// never two lefts.
func TestCountsAndFaces(t *testing.T) {
	onFold := wedge(1, false)
	onFold.Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishFold}
	square := wedge(2, false)
	square.Knots[3].At.X = 0
	kite := wedge(2, false) // its own mirror image top to bottom, not left to right
	for i, q := range []geometry.Point{{Y: 150}, {X: 60}, {X: 200, Y: 150}, {X: 60, Y: 300}} {
		kite.Knots[i].At = q
	}
	wrong := wedge(1, false)
	wrong.Face = pattern.FaceWrong
	for _, tt := range []struct {
		name   string
		piece  pattern.Piece
		spread lay.Spread
		// what lies there, and how many of those are mirrored (-1: either), in layers
		laid, mirrored, layers int
	}{
		{"pair on open cloth", wedge(2, true), lay.Open, 2, 1, 1},
		{"pair on folded cloth", wedge(2, true), lay.Lengthwise, 1, -1, 2},
		{"two pairs on folded cloth", wedge(4, true), lay.Lengthwise, 2, -1, 2},
		{"pair on crosswise fold", wedge(2, true), lay.Crosswise, 1, -1, 2},
		{"two alike on open cloth", wedge(2, false), lay.Open, 2, 0, 1},
		{"two alike on folded cloth, wrong side up", wedge(2, false), lay.Lengthwise, 2, 2, 1},
		{"two squares on folded cloth", square, lay.Lengthwise, 1, -1, 2},
		{"two kites on folded cloth", kite, lay.Lengthwise, 1, -1, 2},
		{"half at the fold", onFold, lay.Lengthwise, 1, -1, 2},
		{"half drawn whole on open cloth", onFold, lay.Open, 1, 0, 1},
		{"photographed from the wrong side", wrong, lay.Open, 1, 1, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, plan := planOf(t, garmentOf(tt.piece), lay.Cloth{WidthMM: 1400, Spread: tt.spread})
			mirrored := 0
			for _, p := range plan.Pieces {
				if p.Mirrored {
					mirrored++
				}
				if p.Layers != tt.layers {
					t.Errorf("cut through %d layers, want %d", p.Layers, tt.layers)
				}
			}
			if len(plan.Pieces) != tt.laid || tt.mirrored >= 0 && mirrored != tt.mirrored {
				t.Errorf("%d lie there, %d mirrored; want %d and %d", len(plan.Pieces), mirrored, tt.laid, tt.mirrored)
			}
		})
	}
}

// A placement takes the drafted piece to where it lies: its grain along the cloth and,
// with nap, its top at the far end.
func TestGrainAlongTheCloth(t *testing.T) {
	for _, spread := range []lay.Spread{lay.Open, lay.Lengthwise, lay.Crosswise} {
		for _, nap := range []bool{false, true} {
			onFold := wedge(1, false)
			onFold.ID, onFold.Edges[1].Finish = "half", &pattern.Finish{Kind: pattern.FinishFold}
			_, plan := planOf(t, garmentOf(wedge(2, true), onFold), lay.Cloth{WidthMM: 1500, Spread: spread, Nap: nap})
			for _, p := range plan.Pieces {
				v := p.Apply(geometry.Point{Y: 1}).Sub(p.Apply(geometry.Point{}))
				if math.Abs(v.Y) > 1e-9 || nap && v.X < 0 {
					t.Errorf("%s, nap %v: the grain of %s points to %v", spread, nap, p.Piece, v)
				}
				if p.AtFold {
					for _, q := range []geometry.Point{{X: 200}, {X: 200, Y: 300}} {
						if at := p.Apply(q); math.Abs(at.Y) > 0.01 {
							t.Errorf("nap %v: the fold edge lies at %v, not on the fold", nap, at)
						}
					}
				}
			}
		}
	}
}

// The demo garment lies on five cloths; lengths against what its pieces measure.
func TestDemoGarment(t *testing.T) {
	g := smock(t)
	whole := 0.0
	for _, c := range []lay.Cloth{
		{WidthMM: 1400},
		{WidthMM: 1400, Nap: true, GapMM: 5},
		{WidthMM: 1400, Spread: lay.Lengthwise},
		{WidthMM: 1150, Spread: lay.Crosswise},
		{WidthMM: 900, ShrinkLengthPct: 5, ShrinkCrossPct: 3},
	} {
		task, plan := planOf(t, g, c)
		area := plan.UsedPct / 100 * plan.LaidWidthMM * plan.LaidLengthMM
		if math.Abs(area-task.Instance.AreaMM2()) > 1 {
			t.Errorf("%+v: %g mm² used, pieces have %g", c, area, task.Instance.AreaMM2())
		}
		if c.Spread == "" {
			if whole == 0 {
				whole = area
			}
			if math.Abs(area-whole) > 1 {
				t.Errorf("%+v: %g mm² of pieces, on other open cloth %g", c, area, whole)
			}
		}
		if plan.BuyMM < plan.LaidLengthMM || math.Mod(plan.BuyMM, 100) != 0 {
			t.Errorf("%+v: buy %g for %g", c, plan.BuyMM, plan.LaidLengthMM)
		}
		if plan.UsedPct < 55 {
			t.Errorf("%+v: only %.0f %% of the cloth is used", c, plan.UsedPct)
		}
	}
}

// Shrinkage and steps: 700 mm at 5 % need 736.84 mm, at 3 % 721.65 (cut = finished /
// (1 - shrinkage), by hand); a crosswise fold takes twice the length; an eighth of a
// yard is 114.3 mm (0.9144 m to the yard, exact).
func TestBuy(t *testing.T) {
	for _, tt := range []struct {
		cloth      lay.Cloth
		laid, want float64
	}{
		{lay.Cloth{}, 700, 700},
		{lay.Cloth{}, 700.1, 800},
		{lay.Cloth{ShrinkLengthPct: 5, StepMM: 0.01}, 700, 736.85},
		{lay.Cloth{ShrinkLengthPct: 3, StepMM: 0.01}, 700, 721.65},
		{lay.Cloth{EndMM: 50}, 700, 800},
		{lay.Cloth{Spread: lay.Crosswise}, 700, 1400},
		{lay.Cloth{StepMM: lay.YardStepMM}, 900, 914.4},
		{lay.Cloth{StepMM: lay.YardStepMM}, 915, 1028.7},
	} {
		if got := tt.cloth.BuyMM(tt.laid); math.Abs(got-tt.want) > 1e-6 {
			t.Errorf("%+v: buy %g for %g, want %g", tt.cloth, got, tt.laid, tt.want)
		}
	}
}

func TestBadCloth(t *testing.T) {
	for _, c := range []lay.Cloth{
		{},
		{WidthMM: math.NaN()},
		{WidthMM: 1400, Spread: "diagonal"},
		{WidthMM: 1400, GapMM: -1},
		{WidthMM: 1400, ShrinkLengthPct: 100},
		{WidthMM: 1400, GrainTolDeg: 45},
		{WidthMM: 1400, LengthMM: -1},
	} {
		if _, err := lay.NewTask(garmentOf(wedge(1, false)), "", c); err == nil {
			t.Errorf("%+v was taken", c)
		}
	}
}

// On cloth with a nap the lower layer gives a piece mirrored left to right: what is its
// own mirror image only top to bottom would come out upside down, and is cut singly.
func TestNapCutsUpsideDownMirrorsSingly(t *testing.T) {
	kite := wedge(2, false)
	for i, q := range []geometry.Point{{Y: 150}, {X: 60}, {X: 200, Y: 150}, {X: 60, Y: 300}} {
		kite.Knots[i].At = q
	}
	_, plan := planOf(t, garmentOf(kite), lay.Cloth{WidthMM: 1400, Spread: lay.Lengthwise, Nap: true})
	if len(plan.Pieces) != 2 || plan.Pieces[0].Layers != 1 {
		t.Errorf("%d lie there through %d layers, want 2 through one", len(plan.Pieces), plan.Pieces[0].Layers)
	}
}
