package pattern_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// What is cut is what is wanted divided by what is left: 700 mm at 5 and at 3 per
// cent (worked out independently with 25 digits; trade pages on dimensional change).
func TestShrinkFactors(t *testing.T) {
	for _, c := range []struct{ pct, want float64 }{{5, 736.8421}, {3, 721.6495}, {0, 700}} {
		if got := 700 * pattern.ShrinkFactor(c.pct); math.Abs(got-c.want) > 1e-4 {
			t.Errorf("700 mm at %g %%: %.4f, want %.4f", c.pct, got, c.want)
		}
	}
}

func shrinking(mark pattern.Mark) pattern.Garment {
	g := one(pt(0, 0), pt(700, 0), pt(700, 700), pt(0, 700))
	g.Cloths = []pattern.Cloth{{ID: "c", Name: "linen", Use: pattern.ClothMain, ShrinkLengthPct: 5, ShrinkAcrossPct: 3}}
	g.Pieces[0].Marks = []pattern.Mark{mark, {ID: "n", Kind: pattern.MarkNotch, Edge: "a", At: 0.5}}
	g.Pieces[0].Holes = []geometry.Path{{{At: pt(300, 300)}, {At: pt(300, 400)}, {At: pt(400, 400)}}}
	return g
}

// Pieces are drawn larger along and across the grain, not the page, and only when the
// cloth is cut unwashed; what is sewn stays what it was.
func TestUnwashedCloth(t *testing.T) {
	for _, c := range []struct {
		name string
		mark pattern.Mark
		w, h float64
	}{
		{"upright", pattern.Mark{ID: "g", Kind: pattern.MarkGrain, Deg: deg(90)}, 721.6495, 736.8421},
		{"across", pattern.Mark{ID: "g", Kind: pattern.MarkGrain, Points: points(pt(100, 50), pt(600, 50))}, 736.8421, 721.6495},
		{"bias", pattern.Mark{ID: "g", Kind: pattern.MarkGrain, Deg: deg(90), Bias: true}, (721.6495 + 736.8421) / 2, (721.6495 + 736.8421) / 2},
	} {
		g := shrinking(c.mark)
		d, err := pattern.Draft(g, 0, pattern.Options{Unwashed: true})
		if err != nil {
			t.Fatal(err)
		}
		if w, h := size(d.CutLine); math.Abs(w-c.w) > 1e-3 || math.Abs(h-c.h) > 1e-3 {
			t.Errorf("%s: cut %.4f x %.4f mm, want %.4f x %.4f", c.name, w, h, c.w, c.h)
		}
		if d.Edges[0].LengthMM != 700 || !strings.Contains(d.Label[len(d.Label)-1], "shrinks 5 % along and 3 % across") {
			t.Errorf("%s: edge of %g mm, label %q", c.name, d.Edges[0].LengthMM, d.Label)
		}
		if has := slices.ContainsFunc(d.Findings, func(f geometry.Finding) bool { return f.Code == pattern.CodeShrinkBias }); has != c.mark.Bias {
			t.Errorf("%s: findings %v", c.name, d.Findings)
		}
		if m := d.Marks[len(d.Marks)-1]; math.Abs(m.At.X-c.w/2) > 1e-3 {
			t.Errorf("%s: the notch lies at %v", c.name, m.At)
		}
		if math.Abs(d.Holes[0].Area()/-5000-c.w*c.h/490000) > 1e-6 {
			t.Errorf("%s: a hole of %.1f mm²", c.name, d.Holes[0].Area())
		}
		plain := drafted(t, g)
		if w, h := size(plain.CutLine); w != 700 || h != 700 || plain.Shrink != nil {
			t.Errorf("%s: washed cloth is cut %.4f x %.4f mm", c.name, w, h)
		}
	}
	g := shrinking(pattern.Mark{ID: "g", Kind: pattern.MarkDrill, Points: points(pt(9, 9))})
	d, err := pattern.Draft(g, 0, pattern.Options{Unwashed: true})
	if w, _ := size(d.CutLine); err != nil || w != 700 || !strings.Contains(codes(d.Findings), pattern.CodeShrinkNoGrain) {
		t.Errorf("without a grain line: %.1f mm, %v, %v", w, d.Findings, err)
	}
	g.Cloths[0].ShrinkAcrossPct = 130
	if err := g.Validate(); err == nil || !strings.Contains(err.Error(), "cloths[0].shrink_across_pct") {
		t.Errorf("130 %%: %v", err)
	}
}
