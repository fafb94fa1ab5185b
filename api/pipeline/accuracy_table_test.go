package pipeline_test

import (
	"fmt"
	"io"
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

// band is one line of the summary: the pieces that are alike in something.
type band struct {
	name string
	has  func(row) bool
}

// bands sort the pieces by what may be hard about them.
var bands = [][]band{
	{{"all", func(row) bool { return true }}},
	{
		{"clean edges", func(r row) bool { return r.class == "clean" }},
		{"light fray", func(r row) bool { return r.class == "light" }},
		{"heavy, scalloped, rippled", func(r row) bool { return r.class == "heavy" }},
	},
	{
		{"tilt below 10 degrees", func(r row) bool { return r.tilt < 10 }},
		{"10 to 20 degrees", func(r row) bool { return r.tilt >= 10 && r.tilt < 20 }},
		{"20 degrees and more", func(r row) bool { return r.tilt >= 20 }},
	},
	{
		{"below 250 mm", func(r row) bool { return r.span < 250 }},
		{"250 to 500 mm", func(r row) bool { return r.span >= 250 && r.span < 500 }},
		{"500 mm and more", func(r row) bool { return r.span >= 500 }},
	},
	{
		{"Lab difference below 14", func(r row) bool { return r.contrast > 0 && r.contrast < 14 }},
		{"14 to 30", func(r row) bool { return r.contrast >= 14 && r.contrast < 30 }},
		{"30 and more", func(r row) bool { return r.contrast >= 30 }},
	},
	{
		{"1 card", func(r row) bool { return r.cards == 1 }},
		{"2 or 3 cards", func(r row) bool { return r.cards == 2 || r.cards == 3 }},
		{"4 or 5 cards", func(r row) bool { return r.cards == 4 || r.cards == 5 }},
		{"6 cards and more", func(r row) bool { return r.cards >= 6 }},
	},
	{
		{"3 megapixels", func(r row) bool { return r.megapixels < 8 }},
		{"12 megapixels", func(r row) bool { return r.megapixels >= 8 && r.megapixels < 24 }},
		{"48 megapixels", func(r row) bool { return r.megapixels >= 24 }},
	},
}

// summary writes one line for each band that has pieces.
func summary(t *testing.T, rows []row) {
	w := t.Output()
	fmt.Fprintf(w, "\n%-27s %6s  %-15s %-15s %-15s %-15s %8s %8s %8s %8s\n%-27s %6s  %-15s %-15s %-15s %-15s %8s %8s %8s %8s\n",
		"", "", "p50, mm", "p95, mm", "max, mm", "scale, %", "within", "within", "", "",
		"median and 95 %", "pieces", "", "", "", "", "limits", "1.5 mm", "covered", "x decode")
	for _, group := range bands {
		for _, b := range group {
			var some []row
			for _, r := range traced(rows) {
				if b.has(r) {
					some = append(some, r)
				}
			}
			if len(some) > 0 {
				printBand(w, b.name, some)
			}
		}
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
	fmt.Fprintf(w, "rightly refused %d, wrongly traced or for a wrong reason %d, wrongly refused or missed %d\n", right, wrong, failed)
	var holes, opened, amiss int
	for _, r := range traced(rows) {
		holes, opened = holes+r.holes, opened+r.opened
		if r.holes != r.opened {
			amiss++
		}
	}
	fmt.Fprintf(w, "openings: %d, traced %d; %d pieces have another number of them\n", holes, opened, amiss)
}

func printBand(w io.Writer, name string, some []row) {
	pair := func(f func(row) float64, digits int) string {
		a, b := middle(column(some, f))
		return fmt.Sprintf("%6.*f %7.*f", digits, a, digits, b)
	}
	times, _ := middle(column(some, func(r row) float64 { return r.times }))
	fmt.Fprintf(w, "%-27s %6d  %-15s %-15s %-15s %-15s %7.0f%% %7.0f%% %7.0f%% %8.1f\n", name, len(some),
		pair(func(r row) float64 { return r.P50 }, 2), pair(func(r row) float64 { return r.P95 }, 2),
		pair(func(r row) float64 { return r.Max }, 2), pair(func(r row) float64 { return math.Abs(r.ScalePct) }, 3),
		100*share(some, func(r row) bool { return r.within() == nil }), 100*share(some, usable), 100*share(some, row.covered), times)
}

// share returns which part of the rows has something; 1 of none.
func share(rows []row, has func(row) bool) float64 {
	if len(rows) == 0 {
		return 1
	}
	n := 0
	for _, r := range rows {
		if has(r) {
			n++
		}
	}
	return float64(n) / float64(len(rows))
}

// usable reports whether a piece needs no correction by hand.
func usable(r row) bool { return r.P95 <= 1.5 }

// covered reports whether the stated uncertainty covers the true error.
func (r row) covered() bool { return r.P95 <= r.stated }

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
	inside := share(some, row.covered)
	for _, r := range some {
		if len(some) < 50 && r.P95 > 2*r.stated {
			t.Errorf("%s %s: off by %.2f mm, more than twice the stated %.2f", r.photo, r.piece, r.P95, r.stated)
		}
	}
	stated, _ := middle(column(some, func(r row) float64 { return r.stated }))
	off, _ := middle(column(some, func(r row) float64 { return r.P95 }))
	fmt.Fprintf(t.Output(), "stated uncertainty covers the true error of %.1f %% of %d pieces; medians %.2f and %.2f mm\n", 100*inside, len(some), stated, off)
	if len(some) >= 50 && (inside < 0.9 || inside > 0.99) {
		t.Errorf("stated uncertainty covers %.1f %%, want 90 to 99 %%", 100*inside)
	}
	if stated > 3*off {
		t.Errorf("stated uncertainty is padded: %.1f times the true error in the middle, want at most 3", stated/off)
	}
}
