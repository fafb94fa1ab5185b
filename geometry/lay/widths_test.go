package lay_test

import (
	"math"
	"testing"
	"time"

	"secondcut/geometry/lay"
)

// The chart as printed: 2 yd of 35-36 in = 1 5/8 of 44-45 = 1 3/8 of 52-54 (also seen
// elsewhere), 2 yd of 58-60 = 2 3/4 of 44-45.
func TestChart(t *testing.T) {
	const yard, inch = 914.4, 25.4
	for _, tt := range []struct{ yards, from, to, want float64 }{
		{2, 35.5, 44.5, 1.625}, {2, 35.5, 53, 1.375}, {2, 59, 44.5, 2.75}, {5, 35.5, 66, 2.75}, {1.75, 35.5, 35.5, 1.75},
	} {
		got, ok := lay.ByChart(tt.yards*yard, tt.from*inch, tt.to*inch)
		if !ok || math.Abs(got/yard-tt.want) > 1e-9 {
			t.Errorf("%g yd of %g in are %g yd of %g in (%v), want %g", tt.yards, tt.from, got/yard, tt.to, ok, tt.want)
		}
	}
	for _, out := range [][3]float64{{100, 900, 1500}, {2000, 300, 1500}, {2000, 900, 3000}, {20_000, 900, 1500}} {
		if got, ok := lay.ByChart(out[0], out[1], out[2]); ok {
			t.Errorf("%v gave %g outside the chart", out, got)
		}
	}
}

// Three smocks on the widths of the chart: what is laid comes within a fifth of what the
// chart makes of the narrowest (its own columns differ by up to a tenth from equal area,
// and it is rounded to an eighth of a yard; common practice allows a quarter of a yard).
// A width that a piece does not fit on is told so and never compared.
func TestWidthsAgainstTheChart(t *testing.T) {
	g := smock(t)
	for i := range g.Pieces {
		if l := g.Pieces[i].Label; l != nil {
			for k := range l.Cuts {
				l.Cuts[k].Count *= 3
			}
		}
	}
	widths := []float64{400, 914.4, 1143, 1371.6, 1524}
	rows, err := lay.Widths(t.Context(), g, "", lay.Cloth{}, widths, lay.Options{Time: time.Minute, Rounds: 8}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(widths) || rows[0].Why == "" || rows[0].BuyMM != 0 {
		t.Fatalf("rows %+v; want the first to say that a piece is wider", rows)
	}
	base := rows[1]
	for _, r := range rows[1:] {
		want, ok := lay.ByChart(base.LaidLengthMM, base.WidthMM, r.WidthMM)
		t.Logf("%6.0f mm wide: laid %5.0f mm, buy %5.0f, used %.0f %%, by the chart %5.0f", r.WidthMM, r.LaidLengthMM, r.BuyMM, r.UsedPct, want)
		if !ok || math.Abs(r.LaidLengthMM/want-1) > 0.2 {
			t.Errorf("%g mm wide: %g mm laid, the chart gives %g (%v)", r.WidthMM, r.LaidLengthMM, want, ok)
		}
	}
}
