package pipeline_test

import (
	"fmt"
	"math"
	"testing"
)

// Drawn scenes are judged as a crowd: a single odd one may fail. Those with fewer
// than four flat cards count for honesty alone, because their scale can't be
// trusted, which the stated uncertainty must say.
func TestAccuracyOfScenes(t *testing.T) {
	if *scenes == "" {
		t.Skip("no -scenes: make accuracy draws them")
	}
	rows := scoreFolder(t, *scenes)
	summary(t, rows)
	corners(t, rows)
	covered(t, rows)
	usable, wide, all := 0, 0, 0
	var carded []row
	for _, r := range rows {
		switch {
		case r.refuse:
			if r.err != nil {
				t.Errorf("%s: %v", r.photo, r.err)
			}
			continue
		case r.cards < 4:
			continue
		}
		all++
		if r.err == nil {
			carded = append(carded, r)
			if r.P95 <= 1.5 {
				usable++
			}
			if r.scaleOff() {
				wide++
			}
		}
	}
	fmt.Fprintf(t.Output(), "four cards and more: %d of %d pieces need no correction by hand, %d off in scale\n", usable, all, wide)
	if share := float64(usable) / float64(all); share < 0.95 {
		t.Errorf("%.1f %% of the pieces are within 1.5 mm, want 95 %%", 100*share)
	}
	if share := float64(wide) / float64(max(1, len(carded))); share > 0.05 {
		t.Errorf("the scale of %.1f %% of the pieces is off by more than it may, want at most 5 %%", 100*share)
	}
	if scale, _ := middle(column(carded, func(r row) float64 { return math.Abs(r.ScalePct) })); scale > 0.05 {
		t.Errorf("the median scale error is %.3f %%, want at most 0.05 %%", scale)
	}
	for class, l := range limits {
		var some []row
		for _, r := range carded {
			if r.class == class {
				some = append(some, r)
			}
		}
		if p95, _ := middle(column(some, func(r row) float64 { return r.P95 })); p95 > l.p95 {
			t.Errorf("%s edges: 95 %% within %.2f mm in the middle, want %.2f", class, p95, l.p95)
		}
	}
}
