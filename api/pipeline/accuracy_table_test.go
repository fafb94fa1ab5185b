package pipeline_test

import (
	"fmt"
	"math"
	"slices"
	"testing"
)

// heading and print write the table line by line, as photos are done.
func heading(t *testing.T) {
	fmt.Fprintf(t.Output(), "\n%-28s %-14s %-6s %8s %6s %6s %6s %6s %9s %6s %7s %7s %8s\n",
		"photo", "piece", "edge", "scale %", "camera", "p50", "p95", "max", "corners", "false", "stated", "unsure", "x decode")
}

func (r row) print(t *testing.T) {
	w := t.Output()
	switch {
	case r.err != nil:
		fmt.Fprintf(w, "%-28s %-14s %v (%s)\n", r.photo, r.piece, r.err, r.notes)
	case r.refuse:
		fmt.Fprintf(w, "%-28s rightly refused%82s %8.1f\n", r.photo, "", r.times)
	default:
		fmt.Fprintf(w, "%-28s %-14s %-6s %+8.3f %6.2f %6.2f %6.2f %6.2f %5d/%-3d %6d %7.2f %7d %8.1f  %s\n",
			r.photo, r.piece, r.class, r.ScalePct, r.camera, r.P50, r.P95, r.Max, r.Found, r.Corners, r.False, r.stated, r.unsure, r.times, r.notes)
	}
}

// traced are the rows with a result.
func traced(rows []row) (out []row) {
	for _, r := range rows {
		if r.err == nil && !r.refuse {
			out = append(out, r)
		}
	}
	return out
}

// column returns one figure of all rows, sorted.
func column(rows []row, f func(row) float64) []float64 {
	out := make([]float64, len(rows))
	for i, r := range rows {
		out[i] = f(r)
	}
	slices.Sort(out)
	return out
}

// middle returns the median and the 95th percentile of sorted figures.
func middle(v []float64) (median, high float64) {
	if len(v) == 0 {
		return math.NaN(), math.NaN()
	}
	return v[len(v)/2], v[min(len(v)-1, len(v)*95/100)]
}

// summary writes one line for each class of edge and one for all.
func summary(t *testing.T, rows []row) {
	w := t.Output()
	fmt.Fprintf(w, "\n%-8s %6s %17s %17s %17s %14s %10s\n", "edge", "pieces", "p50: median, 95 %", "p95: median, 95 %", "max: median, 95 %", "scale %: same", "in limits")
	for _, class := range []string{"clean", "light", "heavy", ""} {
		var some []row
		good := 0
		for _, r := range traced(rows) {
			if r.class == class || class == "" {
				some = append(some, r)
				if r.within() == nil {
					good++
				}
			}
		}
		a, b := middle(column(some, func(r row) float64 { return r.P50 }))
		c, d := middle(column(some, func(r row) float64 { return r.P95 }))
		e, f := middle(column(some, func(r row) float64 { return r.Max }))
		g, h := middle(column(some, func(r row) float64 { return math.Abs(r.ScalePct) }))
		name := class
		if name == "" {
			name = "all"
		}
		fmt.Fprintf(w, "%-8s %6d %9.2f %7.2f %9.2f %7.2f %9.2f %7.2f %7.3f %6.3f %10d\n", name, len(some), a, b, c, d, e, f, g, h, good)
	}
	right, wrong, failed := 0, 0, 0
	for _, r := range rows {
		switch {
		case r.refuse && r.err == nil:
			right++
		case r.refuse:
			wrong++
		case r.err != nil:
			failed++
		}
	}
	a, b := middle(column(rows, func(r row) float64 { return r.times }))
	fmt.Fprintf(w, "rightly refused %d, wrongly traced or for a wrong reason %d, wrongly refused or missed %d; processor time %.1f times the decode (95 %%: %.1f)\n", right, wrong, failed, a, b)
}

// corners holds all pieces together to the share of true corners that must be
// found and of false ones that may be.
func corners(t *testing.T, rows []row) {
	var all, found, wrong int
	for _, r := range traced(rows) {
		all, found, wrong = all+r.Corners, found+r.Found, wrong+r.False
	}
	fmt.Fprintf(t.Output(), "corners: %d of %d within 1 mm, %d false\n", found, all, wrong)
	if float64(found) < 0.95*float64(all) {
		t.Errorf("%d of %d true corners are reported within 1 mm, want 95 %%", found, all)
	}
	if float64(wrong) > 0.05*float64(all) {
		t.Errorf("%d corners are false, want at most 5 %% of %d", wrong, all)
	}
}

// covered checks that the stated uncertainty is honest, neither too small nor
// padded.
func covered(t *testing.T, rows []row) {
	some := traced(rows)
	if len(some) == 0 {
		t.Error("nothing was traced")
		return
	}
	inside := 0
	for _, r := range some {
		if r.P95 <= r.stated {
			inside++
		}
		if len(some) < 50 && r.P95 > 2*r.stated {
			t.Errorf("%s %s: off by %.2f mm, more than twice the stated %.2f", r.photo, r.piece, r.P95, r.stated)
		}
	}
	stated, _ := middle(column(some, func(r row) float64 { return r.stated }))
	off, _ := middle(column(some, func(r row) float64 { return r.P95 }))
	fmt.Fprintf(t.Output(), "stated uncertainty covers the true error of %d of %d pieces; medians %.2f and %.2f mm\n", inside, len(some), stated, off)
	if share := float64(inside) / float64(len(some)); len(some) >= 50 && (share < 0.9 || share > 0.99) {
		t.Errorf("stated uncertainty covers %.1f %%, want 90 to 99 %%", 100*share)
	}
	if stated > 3*off {
		t.Errorf("stated uncertainty is padded: %.1f times the true error in the middle, want at most 3", stated/off)
	}
}
