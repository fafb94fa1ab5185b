package lay_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"secondcut/geometry"
	"secondcut/geometry/lay"
)

// The demo garment on five cloths, worked out by hand from its file: it has a front, a
// back that was photographed from its wrong side, a pair of sleeves, two pockets and a bag
// on the bias fold from linen 1400 mm wide that shrinks by 5 and 3 %, and a facing on the
// fold from cotton 1100 mm wide.
func TestSmockOnFiveCloths(t *testing.T) {
	g := smock(t)
	linen, _ := lay.ClothOf(g, "linen")
	cotton, _ := lay.ClothOf(g, "lining")
	with := func(c lay.Cloth, change func(*lay.Cloth)) lay.Cloth {
		change(&c)
		return c
	}
	for _, tt := range []struct {
		name, id string
		cloth    lay.Cloth
		width    float64 // as it lies, washed: 1400 x 0.97 = 1358, half of it 679
		laid     int     // what lies there
		// of these: turned over, cut through two layers, at the fold
		over, double, atFold int
		// how many sleeves lie there and how many of them are turned over
		sleeves, sleevesOver int
		layers               float64 // that the length is bought for
		findings             []string
	}{
		// Open, right side up: the back is turned over, and one of the sleeves.
		{"open", "linen", linen, 1358, 7, 2, 0, 0, 2, 1, 1, []string{lay.CodeBias}},
		{"open with nap", "linen", with(linen, func(c *lay.Cloth) { c.Nap = true }), 1358, 7, 2, 0, 0, 2, 1, 1, []string{lay.CodeBias}},
		// Folded, right sides together: a sleeve through both layers gives the pair. What is
		// cut once lies wrong side up on the upper layer. A pocket is its own mirror image to half
		// a millimetre, so that both come from one cut through both layers.
		{
			"folded lengthwise", "linen", with(linen, func(c *lay.Cloth) { c.Spread = lay.Lengthwise }), 679, 5, -1, 2, 0, 1, -1, 1,
			[]string{lay.CodeOneLayer, lay.CodeFoldAskew, lay.CodeBias},
		},
		// Folded across, right side out: as wide as it is, and its length twice.
		{
			"folded across", "linen", with(linen, func(c *lay.Cloth) { c.Spread, c.RightSideOut = lay.Crosswise, true }), 1358, 5, -1, 2, 0, 1, -1, 2,
			[]string{lay.CodeOneLayer, lay.CodeBias},
		},
		// The half facing at the fold of the lining: one cut, one whole facing.
		{"lining folded", "lining", with(cotton, func(c *lay.Cloth) { c.Spread = lay.Lengthwise }), 550, 1, -1, 1, 1, 0, 0, 1, nil},
	} {
		t.Run(tt.name, func(t *testing.T) {
			task, err := lay.NewTask(g, tt.id, tt.cloth)
			if err != nil {
				t.Fatal(err)
			}
			plan, err := task.Nest(t.Context(), lay.Options{Time: time.Minute, Rounds: 2}, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			var over, double, atFold, sleeves, sleevesOver int
			count := func(yes bool, n *int) {
				if yes {
					*n++
				}
			}
			for _, l := range plan.Pieces {
				count(l.Mirrored, &over)
				count(l.Layers == 2, &double)
				count(l.AtFold, &atFold)
				count(l.Piece == "sleeve", &sleeves)
				count(l.Piece == "sleeve" && l.Mirrored, &sleevesOver)
			}
			if math.Abs(plan.LaidWidthMM-tt.width) > 1e-6 || len(plan.Pieces) != tt.laid || double != tt.double || atFold != tt.atFold || sleeves != tt.sleeves {
				t.Errorf("%g mm wide, %d laid, %d through two layers, %d at the fold, %d sleeves; want %g, %d, %d, %d, %d",
					plan.LaidWidthMM, len(plan.Pieces), double, atFold, sleeves, tt.width, tt.laid, tt.double, tt.atFold, tt.sleeves)
			}
			if tt.over >= 0 && over != tt.over || tt.sleevesOver >= 0 && sleevesOver != tt.sleevesOver {
				t.Errorf("%d turned over, %d of them sleeves; want %d and %d", over, sleevesOver, tt.over, tt.sleevesOver)
			}
			need := tt.layers * plan.LaidLengthMM / (1 - tt.cloth.ShrinkLengthPct/100)
			if math.Abs(plan.NeedMM-need) > 1e-6 || plan.BuyMM != 100*math.Ceil(need/100) {
				t.Errorf("laid on %g: need %g, buy %g; want %g and the next 100", plan.LaidLengthMM, plan.NeedMM, plan.BuyMM, need)
			}
			for _, code := range tt.findings {
				if !slices.ContainsFunc(task.Findings, func(f geometry.Finding) bool { return f.Code == code }) {
					t.Errorf("%s is not said: %+v", code, task.Findings)
				}
			}
			for _, f := range task.Check(plan.Pieces) {
				t.Error(f.Message)
			}
		})
	}
}

// The oil can bag is half of a piece on the bias, its grain line along its fold edge: what
// keeps it off the fold is the bias, and no angle between the two.
func TestBiasPieceOnFoldedCloth(t *testing.T) {
	g := smock(t)
	c, _ := lay.ClothOf(g, "linen")
	c.Spread = lay.Lengthwise
	task, err := lay.NewTask(g, "linen", c)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(task.Findings, func(f geometry.Finding) bool { return f.Code == lay.CodeFoldAskew })
	if i < 0 || !strings.Contains(task.Findings[i].Message, "bias") || strings.Contains(task.Findings[i].Message, "degrees") {
		t.Errorf("why the bag is not at the fold is not said: %+v", task.Findings)
	}
}

// What is cut once from the upper layer lies with its right side as the cloth's: turned
// over where that layer shows its wrong side, as drawn where it shows its right side. The
// back was photographed from its wrong side, so it is the other way round.
func TestSinglePiecesOfTheSmockOnFoldedCloth(t *testing.T) {
	g := smock(t)
	c, _ := lay.ClothOf(g, "linen")
	for _, out := range []bool{false, true} {
		c.Spread, c.RightSideOut = lay.Lengthwise, out
		task, err := lay.NewTask(g, "linen", c)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := task.Nest(t.Context(), lay.Options{Time: time.Minute, Rounds: 1}, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range plan.Pieces {
			switch l.Piece {
			case "front":
				if l.Mirrored == out {
					t.Errorf("right side out %v: the front is turned over: %v", out, l.Mirrored)
				}
			case "back":
				if l.Mirrored != out {
					t.Errorf("right side out %v: the back is turned over: %v", out, l.Mirrored)
				}
			}
		}
	}
}
