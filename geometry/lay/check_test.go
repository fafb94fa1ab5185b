package lay_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/pattern"
)

func codes(found []lay.Trouble) []string {
	var out []string
	for _, f := range found {
		out = append(out, f.Code)
	}
	return out
}

// What the search lays has nothing wrong with it by the check that a hand-made plan
// gets, which knows nothing of the search's no-fit regions.
func TestLaidPlansPassTheCheck(t *testing.T) {
	g := smock(t)
	for _, c := range []lay.Cloth{
		{WidthMM: 1400},
		{WidthMM: 1400, Nap: true, GapMM: 5},
		{WidthMM: 1500, GrainTolDeg: 2},
		{WidthMM: 1400, Spread: lay.Lengthwise},
		{WidthMM: 1400, Spread: lay.Lengthwise, RightSideOut: true},
		{WidthMM: 1150, Spread: lay.Crosswise},
		{WidthMM: 1400, Flaws: []geometry.Polyline{{{X: 200, Y: 200}, {X: 260, Y: 200}, {X: 230, Y: 280}}}},
	} {
		task, err := lay.NewTask(g, "", c)
		if err != nil {
			t.Fatal(err)
		}
		plan, err := task.Nest(t.Context(), lay.Options{Time: time.Minute, Rounds: 2}, nil, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range task.Check(plan.Pieces) {
			t.Errorf("%+v: %s", c, f.Message)
		}
		if placed := task.Placed(plan.Pieces); math.Abs(placed.LaidLengthMM-plan.LaidLengthMM) > 0.01 || placed.BuyMM != plan.BuyMM {
			t.Errorf("%+v: the same plan placed is %g long, buy %g; want %g and %g", c, placed.LaidLengthMM, placed.BuyMM, plan.LaidLengthMM, plan.BuyMM)
		}
	}
}

// Each way to spoil a plan by hand is named, with the pieces that it is about.
func TestCheckNamesWhatIsWrong(t *testing.T) {
	onFold := wedge(1, false)
	onFold.ID, onFold.Name = "half", "Half"
	onFold.Edges = slices.Clone(onFold.Edges)
	onFold.Edges[1].Finish = &pattern.Finish{Kind: pattern.FinishFold}
	g := garmentOf(wedge(2, true), onFold)
	open := lay.Cloth{WidthMM: 1400, Nap: true, GapMM: 3, Flaws: []geometry.Polyline{{{X: 900, Y: 900}, {X: 960, Y: 900}, {X: 960, Y: 960}}}}
	folded := lay.Cloth{WidthMM: 1400, Spread: lay.Lengthwise}
	for _, tt := range []struct {
		name  string
		cloth lay.Cloth
		spoil func([]lay.Laid) []lay.Laid
		want  string
	}{
		{"one on the other", open, func(l []lay.Laid) []lay.Laid { l[1] = l[0]; l[1].X += 20; return l }, lay.CodeOverlap},
		{"off the end", open, func(l []lay.Laid) []lay.Laid { l[0].X -= 1000; return l }, lay.CodeOffCloth},
		{"off the side", open, func(l []lay.Laid) []lay.Laid { l[0].Y += 1400; return l }, lay.CodeOffCloth},
		{"on the flaw", open, func(l []lay.Laid) []lay.Laid {
			i := slices.IndexFunc(l, func(p lay.Laid) bool { return p.Piece == "wedge" && !p.Mirrored })
			l[i].X, l[i].Y = 800, 1000
			return l
		}, lay.CodeFlaw},
		{"askew", open, func(l []lay.Laid) []lay.Laid { l[0].X += 2000; l[0].RotationDeg += 3; return l }, lay.CodeOffGrain},
		{"upside down", open, func(l []lay.Laid) []lay.Laid {
			l[0].X, l[0].Y, l[0].RotationDeg = 2500, 700, l[0].RotationDeg+180
			return l
		}, lay.CodeUpsideDown},
		{"two lefts", open, func(l []lay.Laid) []lay.Laid {
			for i := range l {
				if l[i].Piece == "wedge" {
					l[i].Mirrored, l[i].X, l[i].Y = false, 2000+500*float64(i), 600
				}
			}
			return l
		}, lay.CodeWrongFace},
		{"one is missing", open, func(l []lay.Laid) []lay.Laid { return l[1:] }, lay.CodeMissing},
		{"one too many", open, func(l []lay.Laid) []lay.Laid { m := l[0]; m.X += 3000; return append(l, m) }, lay.CodeExtra},
		{"a piece of another garment", open, func(l []lay.Laid) []lay.Laid { return append(l, lay.Laid{Placement: lay.Placement{ID: "hat"}}) }, lay.CodeExtra},
		{"off the fold", folded, func(l []lay.Laid) []lay.Laid {
			for i := range l {
				if l[i].AtFold {
					l[i].X, l[i].Y = l[i].X+2000, l[i].Y+10
				}
			}
			return l
		}, lay.CodeOffFold},
	} {
		t.Run(tt.name, func(t *testing.T) {
			task, plan := planOf(t, g, tt.cloth)
			found := task.Check(tt.spoil(slices.Clone(plan.Pieces)))
			if !slices.Contains(codes(found), tt.want) {
				t.Errorf("found %v, want %s", codes(found), tt.want)
			}
			for _, f := range found {
				if f.Message == "" || f.Remedy == "" {
					t.Errorf("%s does not say what to do: %+v", f.Code, f)
				}
			}
		})
	}
}

// Two pieces exactly on each other, or side by side without a gap.
func TestTouchingAndCoveringPieces(t *testing.T) {
	p := wedge(2, false)
	p.Knots[3].At.X = 0 // 200 x 300, laid with its 300 along the cloth
	task, err := lay.NewTask(garmentOf(p), "", lay.Cloth{WidthMM: 1400})
	if err != nil {
		t.Fatal(err)
	}
	at := func(x float64) lay.Laid {
		return lay.Laid{Placement: lay.Placement{ID: "wedge", X: x, Y: 500, RotationDeg: -90}}
	}
	if found := task.Check([]lay.Laid{at(0), at(300)}); len(found) > 0 {
		t.Errorf("side by side: %s", found[0].Message)
	}
	for _, x := range []float64{0, 299.5, 150} {
		if found := task.Check([]lay.Laid{at(0), at(x)}); len(found) != 1 || found[0].Code != lay.CodeOverlap {
			t.Errorf("%g mm on: %v, want an overlap", x, codes(found))
		}
	}
}

// Pieces that a person moved stay where they are, and the rest is laid around them.
func TestRestIsLaidAroundFixedPieces(t *testing.T) {
	g := smock(t)
	for _, c := range []lay.Cloth{{WidthMM: 1400, GapMM: 2}, {WidthMM: 1500, Spread: lay.Lengthwise}} {
		task, plan := planOf(t, g, c)
		for n := 0; n < len(plan.Pieces); n += 3 {
			fixed := []lay.Laid{plan.Pieces[n]}
			fixed[0].X += 137
			after, err := task.Nest(t.Context(), quick, fixed, nil)
			if err != nil {
				t.Fatal(err)
			}
			if got := after.Pieces[0]; got.Placement != fixed[0].Placement || !got.Fixed {
				t.Errorf("the fixed piece lies at %+v, was put at %+v", got.Placement, fixed[0].Placement)
			}
			if fixed[0].Fixed {
				t.Error("what was given was changed")
			}
			for _, f := range task.Check(after.Pieces) {
				t.Errorf("%+v, %s fixed: %s", c, fixed[0].Name, f.Message)
			}
		}
		all, err := task.Nest(t.Context(), quick, plan.Pieces, nil)
		if err != nil || math.Abs(all.LaidLengthMM-plan.LaidLengthMM) > 0.01 {
			t.Errorf("with all pieces fixed: %g long, %v; want %g", all.LaidLengthMM, err, plan.LaidLengthMM)
		}
		twice := append(slices.Clone(plan.Pieces), plan.Pieces[0])
		if _, err := task.Nest(t.Context(), quick, twice, nil); !errors.Is(err, lay.ErrFixed) {
			t.Errorf("one piece too many: %v", err)
		}
	}
}

// A remnant of any outline is kept to: here an L whose notch would hold the wedge.
func TestRemnant(t *testing.T) {
	remnant := geometry.Polyline{{X: 50, Y: 20}, {X: 1050, Y: 20}, {X: 1050, Y: 320}, {X: 450, Y: 320}, {X: 450, Y: 720}, {X: 50, Y: 720}}
	task, err := lay.NewTask(garmentOf(wedge(5, false)), "", lay.Cloth{Remnant: remnant})
	if err != nil {
		t.Fatal(err)
	}
	plan, err := task.Nest(t.Context(), quick, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if plan.BuyMM != 0 || plan.LaidWidthMM != 700 || plan.LaidLengthMM > 1000 {
		t.Errorf("buy %g, %g x %g; want nothing to buy, within 1000 x 700", plan.BuyMM, plan.LaidLengthMM, plan.LaidWidthMM)
	}
	for _, f := range task.Check(plan.Pieces) {
		t.Error(f.Message)
	}
	for _, l := range plan.Pieces {
		ring, _ := task.Outline(l.ID)
		for _, q := range ring {
			if at := l.Apply(q); at.X > 400.01 && at.Y > 300.01 {
				t.Errorf("%v lies in the notch of the remnant", at)
			}
		}
	}
	moved := slices.Clone(plan.Pieces)
	moved[0].X, moved[0].Y = 800, 600
	if !slices.Contains(codes(task.Check(moved)), lay.CodeOffCloth) {
		t.Error("a piece in the notch is not said to be off the cloth")
	}
	small, err := lay.NewTask(garmentOf(wedge(40, false)), "", lay.Cloth{Remnant: remnant})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := small.Nest(t.Context(), quick, nil, nil); !errors.Is(err, lay.ErrTooLong) {
		t.Errorf("forty on a small remnant: %v", err)
	}
}

// A bias piece lies at 45 degrees to the selvage.
func TestBias(t *testing.T) {
	p := wedge(2, true)
	p.Marks[0].Bias = true
	for _, c := range []lay.Cloth{{WidthMM: 1400}, {WidthMM: 1400, Nap: true}, {WidthMM: 1400, Spread: lay.Lengthwise}} {
		task, plan := planOf(t, garmentOf(p), c)
		for _, l := range plan.Pieces {
			v := l.Apply(geometry.Point{Y: 1}).Sub(l.Apply(geometry.Point{}))
			if math.Abs(math.Abs(v.X)-math.Abs(v.Y)) > 1e-9 || c.Nap && v.X < 0 {
				t.Errorf("%+v: the grain line points to %v, not to 45 degrees", c, v)
			}
		}
		for _, f := range task.Check(plan.Pieces) {
			t.Error(f.Message)
		}
	}
}
