package pattern_test

import (
	"math"
	"testing"

	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

// Casings. Sources: C1, C2, C5, C6 calculator pages; C3 a magazine page; C7 a blog;
// C8 a school's site; C10 the rule of Oregon State University Extension 4-H 320-36
// in mm. Their arithmetic was checked again.
func TestCasings(t *testing.T) {
	casing := func(width, ease, under float64) float64 {
		f := pattern.Finish{Kind: pattern.FinishCasing, Holds: pattern.HoldsElastic, WidthMM: width, EaseMM: ease, TurnUnderMM: under}
		total, end := f.Widths()
		if total != end {
			t.Errorf("a casing of %g and %g mm", total, end)
		}
		return total
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"C1 casing", casing(1*inch, inch/4, inch/4), 1.5 * inch},
		{"C1 elastic", pattern.Elastic{BodyMM: 30 * inch, AddMM: -2 * inch, OverlapMM: inch}.LengthMM(), 29 * inch},
		{"C2 elastic", pattern.Elastic{BodyMM: 38 * inch, AddMM: -2 * inch, OverlapMM: inch}.LengthMM(), 37 * inch},
		{"C3 casing", casing(1.5*inch, inch/4, inch/4), 50.8},
		{"C4 band, two layers: twice elastic and ease, two allowances", 2*casing(2*inch, inch/4, 0) + 1.25*inch, 5.75 * inch},
		{"C5 elastic", pattern.Elastic{BodyMM: 720, AddMM: 25, Ratio: 1 / 1.5, OverlapMM: 15}.LengthMM(), 511.6667},
		{"C6 elastic", pattern.Elastic{BodyMM: 30 * inch, AddMM: -0.5 * inch, Ratio: 0.85 * 0.95}.LengthMM(), 23.82125 * inch},
		// 1 1/8 in pressed down, 1/4 in of it turned under: the channel is the rest.
		{"C7 casing", casing(0.75*inch, inch/8, inch/4), 1.125 * inch},
		{"C7 channel", casing(0.75*inch, inch/8, inch/4) - inch/4, 7 * inch / 8},
		{"C8 casing, 1 1/2 in and 1/2 in turned under", casing(inch, inch/2, inch/2), 2 * inch},
		// Only the sum and the elastic are known; how the rest is shared is assumed.
		{"C9 casing, 2.5 in added at the top", casing(inch, inch, inch/2), 2.5 * inch},
		{"C10 casing", casing(25, 6, 6), 37},
		{"A1 French seam of the table", preset(t, "seam-french").AllowanceMM, 15.875},
		{"A1 the wide one", preset(t, "seam-french-wide").AllowanceMM, 19.05},
		{"A2 five eighths", parse(t, "5/8"), 15.875},
	} {
		if math.Abs(c.got-c.want) > 1e-3 {
			t.Errorf("%s: %.4f mm, want %.4f", c.name, c.got, c.want)
		}
	}
}

func parse(t *testing.T, s string) float64 {
	mm, err := measure.Parse(s, measure.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	return mm
}

func preset(t *testing.T, id string) pattern.Finish {
	for _, p := range pattern.Presets() {
		if p.ID == id {
			return p.Finish
		}
	}
	t.Fatalf("no preset %q", id)
	return pattern.Finish{}
}

// Every preset can be used as it is, says where it comes from, and is there once.
func TestPresetsAreValid(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range pattern.Presets() {
		g := square(800)
		f := p.Finish
		g.Pieces[0].Edges[0].Finish = &f
		if _, err := pattern.Draft(g, 0, pattern.Options{}); err != nil {
			t.Errorf("%s: %v", p.ID, err)
		}
		if p.Source == "" || p.Part == "" || p.Cloth == "" || seen[p.ID] {
			t.Errorf("%s: without source, part or cloth, or twice", p.ID)
		}
		seen[p.ID] = true
	}
}
