package lay_test

import (
	"math"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/pattern"
)

// panel is a rectangle of 300 x high mm, its grain up, with a notch on both sides at a
// height. Its edges keep what was traced.
func panel(id string, high, notch float64) pattern.Piece {
	var knots geometry.Path
	for _, q := range []geometry.Point{{}, {X: 300}, {X: 300, Y: high}, {Y: high}} {
		knots = append(knots, geometry.Knot{At: q, Corner: true})
	}
	none := &pattern.OldAllowance{Is: pattern.OldNone}
	return pattern.Piece{
		ID: id, Name: id, Knots: knots,
		Edges: []pattern.Edge{
			{ID: "hem", Name: "hem", OldAllowance: none},
			{ID: "right", Name: "right", Knot: 1, OldAllowance: none},
			{ID: "top", Name: "top", Knot: 2, OldAllowance: none},
			{ID: "left", Name: "left", Knot: 3, OldAllowance: none},
		},
		Marks: []pattern.Mark{
			{ID: "grain", Kind: pattern.MarkGrain, Points: []geometry.Point{{X: 150, Y: 50}, {X: 150, Y: 250}}},
			{ID: "nr", Kind: pattern.MarkNotch, Edge: "right", At: notch / high},
			{ID: "nl", Kind: pattern.MarkNotch, Edge: "left", At: 1 - notch/high},
		},
		Label: &pattern.Label{Cuts: []pattern.Cut{{Count: 1}}},
	}
}

func sewn(id, a, b string) pattern.SeamPair {
	return pattern.SeamPair{
		ID: id, Name: id, A: []pattern.Run{{Piece: a, Edge: "right"}}, B: []pattern.Run{{Piece: b, Edge: "left", Reverse: true}}, MatchPrint: true,
	}
}

// off returns how far two lengths are apart but for whole repeats.
func off(a, b, repeat float64) float64 { return math.Abs(math.Remainder(a-b, repeat)) }

// Where pieces are sewn together, stripes meet at the notch: both ways.
func TestStripesMeetAtNotches(t *testing.T) {
	g := garmentOf(panel("front", 700, 333), panel("back", 760, 401), panel("gusset", 500, 120))
	g.SeamPairs = []pattern.SeamPair{sewn("left side", "front", "back"), sewn("right side", "back", "gusset")}
	const alongMM, acrossMM = 80.0, 45.0
	for _, c := range []lay.Cloth{
		{WidthMM: 1400, RepeatLengthMM: alongMM, RepeatAcrossMM: acrossMM, StripeLengthMM: 10, StripeAcrossMM: 20},
		{WidthMM: 1000, RepeatLengthMM: alongMM},
		{WidthMM: 1400, RepeatAcrossMM: acrossMM},
	} {
		task, plan := planOf(t, g, c)
		at := map[string]lay.Laid{}
		for _, l := range plan.Pieces {
			at[l.Piece] = l
			if up := l.Apply(geometry.Point{Y: 1}).X - l.X; math.Abs(up-1) > 1e-9 {
				t.Errorf("%s lies with its top to %g", l.Piece, up)
			}
		}
		for _, m := range []struct {
			a, b       string
			highA, hiB float64
		}{{"front", "back", 333, 401}, {"back", "gusset", 401, 120}} {
			a, b := at[m.a].Apply(geometry.Point{X: 300, Y: m.highA}), at[m.b].Apply(geometry.Point{Y: m.hiB})
			if d := off(a.X, b.X, alongMM); c.RepeatLengthMM > 0 && d > 0.01 {
				t.Errorf("%+v: %s and %s miss each other by %g mm along", c, m.a, m.b, d)
			}
			if d := off(a.Y, b.Y, acrossMM); c.RepeatAcrossMM > 0 && d > 0.01 {
				t.Errorf("%+v: %s and %s miss each other by %g mm across", c, m.a, m.b, d)
			}
		}
		for _, f := range task.Check(plan.Pieces) {
			t.Error(f.Message)
		}
		moved := slices.Clone(plan.Pieces)
		moved[0].X, moved[0].Y = moved[0].X+5000+11, moved[0].Y+11
		if !slices.Contains(codes(task.Check(moved)), lay.CodeOffStripe) {
			t.Errorf("%+v: a piece 11 mm off its stripe is not named: %v", c, codes(task.Check(moved)))
		}
	}
}

// What cannot match is said, with how far it is off: the two side seams of a front and
// a back whose notches differ, and a cloth with stripes on which no seam is marked.
func TestWhatCannotMatchIsSaid(t *testing.T) {
	back := panel("back", 760, 401)
	back.Marks[2].At = 1 - 431.0/760 // the other side's notch stands 30 mm higher
	g := garmentOf(panel("front", 700, 333), back)
	g.SeamPairs = []pattern.SeamPair{sewn("left side", "front", "back"), sewn("right side", "back", "front")}
	c := lay.Cloth{WidthMM: 1400, RepeatLengthMM: 80}
	task, err := lay.NewTask(g, "", c)
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(task.Findings, func(f geometry.Finding) bool { return f.Code == lay.CodePrint })
	if i < 0 || math.Abs(task.Findings[i].Amount-30) > 0.1 {
		t.Errorf("found %+v; want 30 mm on the right side", task.Findings)
	}
	g.SeamPairs = nil
	if task, err = lay.NewTask(g, "", c); err != nil {
		t.Fatal(err)
	}
	if i := slices.IndexFunc(task.Findings, func(f geometry.Finding) bool { return f.Code == lay.CodePrint }); i < 0 {
		t.Error("nothing is said of stripes that no seam matches")
	}
}
