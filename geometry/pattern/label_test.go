package pattern_test

import (
	"math"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

func TestLabelLines(t *testing.T) {
	g := full(t)
	g.Pieces[0].Edges[0].Name = "hem"
	text := strings.Join(pattern.LabelLines(g, g.Pieces[0], measure.Millimetre), "\n")
	for _, want := range []string{
		"Yoke, größer\nLamplighter’s smock\n", "Size S (label of the old garment), measured chest 88 cm", "cut 2 mirrored (1 pair) from indigo linen",
		"cut 1 from lawn (lining)", "Drawn with the wrong side of the cloth up", "hem: includes 28 mm hem, turned twice (8 mm and 20 mm)",
		"includes 15 mm to 10 mm seam allowance", "includes 19 mm casing for 10 mm elastic", "as traced, allowance not known", "2026-03-31 version 2", "darker thread",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no line %q in:\n%s", want, text)
		}
	}
	if text := strings.Join(pattern.LabelLines(g, g.Pieces[0], measure.Inch), "\n"); !strings.Contains(text, `includes 1 1/8" (28 mm) hem`) {
		t.Errorf("no inches in:\n%s", text)
	}
	text = strings.Join(pattern.LabelLines(g, g.Pieces[1], ""), "\n")
	for _, want := range []string{"on the fold, no allowance", "bound, no allowance", "includes 6 mm allowance for the facing"} {
		if !strings.Contains(text, want) {
			t.Errorf("no line %q in:\n%s", want, text)
		}
	}
	// An allowance that cannot be added is not promised.
	g = square(200)
	g.Pieces[0].Edges[0].OldAllowance, g.Pieces[0].Edges[0].Finish = nil, seam(15)
	if text := strings.Join(pattern.LabelLines(g, g.Pieces[0], ""), "\n"); !strings.Contains(text, "a: as traced, allowance not known") {
		t.Errorf("the label promises what is not drawn:\n%s", text)
	}
}

// Rectangles whose largest inner rectangle is known.
func TestLargestBox(t *testing.T) {
	ring := func(p ...geometry.Point) geometry.Polyline { return p }
	r := geometry.Rigid{Turn: 0.4, Move: pt(50, -20)}
	var tilted geometry.Polyline
	for _, q := range ring(pt(0, 0), pt(300, 0), pt(300, 100), pt(0, 100)) {
		tilted = append(tilted, r.Apply(q))
	}
	for _, c := range []struct {
		name         string
		rings        []geometry.Polyline
		aspect, turn float64
		want         float64 // width
	}{
		{"fills a rectangle", []geometry.Polyline{ring(pt(0, 0), pt(300, 0), pt(300, 100), pt(0, 100))}, 3, 0, 300},
		{"bound by the height", []geometry.Polyline{ring(pt(0, 0), pt(300, 0), pt(300, 50), pt(0, 50))}, 3, 0, 150},
		{"stands upright", []geometry.Polyline{ring(pt(0, 0), pt(100, 0), pt(100, 300), pt(0, 300))}, 3, 90, 300},
		{"turned", []geometry.Polyline{tilted}, 3, 0.4 * 180 / math.Pi, 300},
		{"triangle: half of base and height", []geometry.Polyline{ring(pt(0, 0), pt(200, 0), pt(100, 100))}, 2, 0, 100},
		{"beside a hole", []geometry.Polyline{ring(pt(0, 0), pt(300, 0), pt(300, 100), pt(0, 100)), ring(pt(0, 0), pt(0, 100), pt(200, 100), pt(200, 0))}, 1, 0, 100},
	} {
		b, ok := pattern.LargestBox(c.rings, c.aspect, c.turn)
		if !ok || b.Width < 0.97*c.want || b.Width > c.want+1e-6 || math.Abs(b.Width/b.Height-c.aspect) > 1e-9 {
			t.Errorf("%s: %+v, %v; want a width of %g", c.name, b, ok, c.want)
		}
	}
	if _, ok := pattern.LargestBox(nil, 1, 0); ok {
		t.Error("room without a ring")
	}
}
