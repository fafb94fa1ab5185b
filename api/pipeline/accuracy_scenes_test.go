package pipeline_test

import (
	"fmt"
	"math"
	"testing"
)

// Drawn scenes are judged as a crowd: a single odd one may fail. Where they are
// kinder than photos, synth.Rough says. Those with fewer than four flat cards count
// for honesty and refusals alone, because their scale can't be trusted, which the
// stated uncertainty must say; so do those of 3 megapixels, which are coarser than
// what a phone takes and for which the limits are not meant.
func TestAccuracyOfScenes(t *testing.T) {
	if *scenes == "" {
		t.Skip("no -scenes: make accuracy draws them")
	}
	rows := scoreFolder(t, *scenes, *first)
	var carded []row
	for _, r := range rows {
		if r.cards >= 4 && !r.refuse && r.megapixels > 8 {
			carded = append(carded, r)
		}
	}
	fmt.Fprint(t.Output(), "\nFour cards and more, 12 megapixels and more:")
	summary(t, carded)
	fmt.Fprint(t.Output(), "\nAll:")
	summary(t, rows)
	refusals(t, rows)
	corners(t, carded)
	covered(t, rows)
	crowdOutlines(t, carded)
	crowdScale(t, traced(carded))
	crowdTime(t, traced(rows))
}

// refusals holds the crowd to its refusals: all that must be, and as good as none
// of the others.
func refusals(t *testing.T, rows []row) {
	var others []row
	for _, r := range rows {
		if !r.refuse {
			others = append(others, r)
		} else if r.err != nil {
			t.Errorf("%s: %v", r.photo, r.err)
		}
	}
	if lost := share(others, func(r row) bool { return r.err != nil }); lost > 0.01 {
		t.Errorf("%.1f %% of the pieces are refused or missed, want at most 1 %%", 100*lost)
	}
}

// crowdOutlines holds the outlines to what needs no correction by hand, photo by
// photo, and each class of edge to its limit in the middle and for nine of ten.
func crowdOutlines(t *testing.T, rows []row) {
	good := map[string]bool{}
	for _, r := range rows {
		before, seen := good[r.photo]
		good[r.photo] = (before || !seen) && r.err == nil && usable(r)
	}
	n := 0
	for _, ok := range good {
		if ok {
			n++
		}
	}
	fmt.Fprintf(t.Output(), "of these: %d of %d photos need no correction by hand\n", n, len(good))
	if float64(n) < 0.95*float64(len(good)) {
		t.Errorf("%d of %d photos need no correction by hand, want 95 %%", n, len(good))
	}
	for class, l := range limits {
		var some []row
		for _, r := range traced(rows) {
			if r.class == class {
				some = append(some, r)
			}
		}
		if p95, _ := middle(column(some, func(r row) float64 { return r.P95 })); p95 > l.p95 {
			t.Errorf("%s edges: 95 %% within %.2f mm in the middle, want %.2f", class, p95, l.p95)
		}
		if most, _ := middle(column(some, func(r row) float64 { return r.Max })); most > l.max {
			t.Errorf("%s edges: at most %.2f mm off in the middle, want %.2f", class, most, l.max)
		}
		if in := share(some, func(r row) bool { return r.P95 <= l.p95 }); in < 0.9 {
			t.Errorf("%s edges: 95 %% of the edge within %.2f mm on %.0f %% of the pieces, want 90 %%", class, l.p95, 100*in)
		}
	}
}

// crowdScale holds the scale to its limits.
func crowdScale(t *testing.T, rows []row) {
	wide := share(rows, row.scaleOff)
	scale, _ := middle(column(rows, func(r row) float64 { return math.Abs(r.ScalePct) }))
	fmt.Fprintf(t.Output(), "of these: scale off by more than it may on %.1f %% of the pieces, %.3f %% in the middle\n", 100*wide, scale)
	if wide > 0.05 {
		t.Errorf("the scale of %.1f %% of the pieces is off by more than it may, want at most 5 %%", 100*wide)
	}
	if scale > 0.05 {
		t.Errorf("the median scale error is %.3f %%, want at most 0.05 %%", scale)
	}
}

// mostTimes is how many times the processor time of decoding a photo of 12
// megapixels its path may take.
const mostTimes = 6.0

func crowdTime(t *testing.T, rows []row) {
	var big []row
	for _, r := range rows {
		if r.megapixels > 8 && r.megapixels < 24 {
			big = append(big, r)
		}
	}
	times, high := middle(column(big, func(r row) float64 { return r.times }))
	fmt.Fprintf(t.Output(), "12 megapixels: %.1f times the processor time of decoding, 95 %% within %.1f\n", times, high)
	if times > mostTimes {
		t.Errorf("a photo of 12 megapixels takes %.1f times its decoding, want at most %.0f", times, mostTimes)
	}
}
