package offset_test

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/offset"
)

// What makes no sense is refused with an error that names it.
func TestRefused(t *testing.T) {
	square := corners(0, 0, 100, 0, 100, 100, 0, 100)
	scaled := func(x, y float64) geometry.Path {
		return square.Map(func(p geometry.Point) geometry.Point { return pt(p.X*x, p.Y*y) })
	}
	edge := func(mm float64) []offset.Edge { return []offset.Edge{{Name: "hem", StartMM: mm, EndMM: mm}} }
	folded := func(mm ...float64) []offset.Edge { return []offset.Edge{{Name: "hem", Folds: mm}} }
	notFinite := corners(0, 0, 100, 0, math.NaN(), 100)
	far := scaled(1, 1)
	far[2].In = &geometry.Point{X: 1e300, Y: 0}
	for _, c := range []struct {
		name  string
		path  geometry.Path
		edges []offset.Edge
		opt   offset.Options
		want  error
		text  string
	}{
		{"negative", square, edge(-1), offset.Options{}, offset.ErrDistance, "hem"},
		{"400 mm", square, edge(400), offset.Options{}, offset.ErrDistance, "hem"},
		{"NaN", square, edge(math.NaN()), offset.Options{}, offset.ErrDistance, "hem"},
		{"infinite", square, edge(math.Inf(1)), offset.Options{}, offset.ErrDistance, "hem"},
		{"fold of 0", square, folded(0), offset.Options{}, offset.ErrDistance, "fold 1"},
		{"fold deeper than the last", square, folded(10, 20), offset.Options{}, offset.ErrDistance, "fold 2"},
		{"folds of 400 mm", square, folded(200, 200), offset.Options{}, offset.ErrDistance, "hem"},
		{"fold and seam", square, []offset.Edge{{StartMM: 1, Folds: []float64{10}}}, offset.Options{}, offset.ErrDistance, "both"},
		{"no outline", nil, edge(10), offset.Options{}, offset.ErrOutline, "no knots"},
		{"one knot", square[:1], edge(10), offset.Options{}, offset.ErrOutline, "0.0 mm"},
		{"line there and back", square[:2], edge(10), offset.Options{}, offset.ErrOutline, "0.0 mm"},
		{"crossing", corners(0, 0, 100, 100, 100, 0, 0, 100), edge(10), offset.Options{}, offset.ErrOutline, "touches itself near x = 50.0, y = 50.0"},
		{"3 mm piece", scaled(0.03, 0.03), edge(10), offset.Options{}, offset.ErrOutline, "3.0 mm"},
		{"3 mm wide piece", scaled(0.03, 5), edge(10), offset.Options{}, offset.ErrOutline, "3.0 mm"},
		{"5 m piece", scaled(50, 2), edge(10), offset.Options{}, offset.ErrOutline, "5000 mm"},
		{"NaN outline", notFinite, edge(10), offset.Options{}, offset.ErrOutline, "knot 1"},
		{"outline far away", far, edge(10), offset.Options{}, offset.ErrOutline, "kilometre"},
		{"no edges", square, nil, offset.Options{}, offset.ErrEdges, "none"},
		{"edge that is not there", square, []offset.Edge{{Knot: 4}}, offset.Options{}, offset.ErrEdges, "knot 4"},
		{"edges out of order", square, []offset.Edge{{Knot: 2}, {Knot: 1}}, offset.Options{}, offset.ErrEdges, "knot 1"},
		{"edge twice", square, []offset.Edge{{Knot: 2}, {Knot: 2}}, offset.Options{}, offset.ErrEdges, "knot 2"},
		{"edge without length", corners(0, 0, 100, 0, 100, 0, 50, 100), []offset.Edge{{Knot: 1}, {Knot: 2}}, offset.Options{}, offset.ErrEdges, "no length"},
		{"unknown corner", square, []offset.Edge{{Corner: 7}}, offset.Options{}, offset.ErrEdges, "corner"},
		{"tolerance", square, edge(10), offset.Options{TolMM: -1}, offset.ErrOptions, "tolerance"},
		{"miter limit", square, edge(10), offset.Options{MiterLimit: math.NaN()}, offset.ErrOptions, "miter"},
	} {
		_, err := offset.CutLine(c.path, c.edges, c.opt)
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.text) {
			t.Errorf("%s: error %v, want %v with %q", c.name, err, c.want, c.text)
		}
	}
}

func TestParallelRefused(t *testing.T) {
	l := straight(0, 0, 100, 0)
	for name, c := range map[string]struct {
		line   []geometry.Segment
		d0, d1 float64
		want   error
	}{
		"no line":       {nil, 1, 1, offset.ErrOutline},
		"broken":        {[]geometry.Segment{l, straight(100, 1, 200, 1)}, 1, 1, offset.ErrOutline},
		"changes sides": {[]geometry.Segment{l}, 1, -1, offset.ErrDistance},
		"NaN":           {[]geometry.Segment{l}, math.NaN(), 1, offset.ErrDistance},
		"400 mm":        {[]geometry.Segment{l}, 1, -400, offset.ErrDistance},
	} {
		if _, err := offset.Parallel(c.line, c.d0, c.d1, offset.Options{}); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", name, err, c.want)
		}
	}
	// An arc of 20 mm radius has no parallel curve 25 mm on its inner side.
	var w *offset.TooWideError
	_, err := offset.Parallel(arcs(pt(0, 0), 20, 20, 0, 2, 4), -25, -25, offset.Options{})
	if !errors.As(err, &w) || math.Abs(w.LargestMM-20) > 0.1 {
		t.Errorf("error %v, want one that names 20 mm", err)
	}
}

// Zero widths leave the outline as it is, knot by knot; a zero width on one edge
// leaves the inner knots of that edge.
func TestZero(t *testing.T) {
	p := closed(append(arcs(pt(0, 0), 100, 80, 0, math.Pi, 5), straight(-100, 0, 100, 0))...)
	r := cutLine(t, p, []offset.Edge{{Knot: 0}, {Knot: 5}})
	if !reflect.DeepEqual(r.Path, p) {
		t.Errorf("changed to %v", r.Path)
	}
	if want := []int{0, 0, 0, 0, 0, 1}; !reflect.DeepEqual(r.EdgeOf, want) {
		t.Errorf("edges %v, want %v", r.EdgeOf, want)
	}
	r = cutLine(t, p, []offset.Edge{{Knot: 0}, {Knot: 5, StartMM: 10, EndMM: 10}})
	for k := range 5 {
		found := false
		for i, q := range r.Path {
			s, want := r.Path.Segment(i), p.Segment(k)
			found = found || q.At == want.A && r.EdgeOf[i] == 0 && (s == want || k == 0 || k == 4)
		}
		if !found && k > 0 {
			t.Errorf("knot %d of the edge that stays is gone", k)
		}
	}
}

// A slot of 20 mm closes when its sides get 12 mm each. Its bottom is an edge of
// its own that would be lost: the error names it and the width that works.
func TestTooWide(t *testing.T) {
	p := corners(0, 0, 100, 0, 100, 100, 60, 100, 60, 40, 40, 40, 40, 100, 0, 100)
	var w *offset.TooWideError
	_, err := offset.CutLine(p, []offset.Edge{
		{Name: "outside", Knot: 0, StartMM: 12, EndMM: 12}, {Name: "bottom", Knot: 4, StartMM: 12, EndMM: 12}, {Name: "inside", Knot: 5, StartMM: 12, EndMM: 12},
	}, offset.Options{})
	if !errors.As(err, &w) || w.Name != "bottom" || !w.All || w.LargestMM < 9.8 || w.LargestMM > 10 {
		t.Errorf("error %v, want one that names the bottom and 9.9 mm", err)
	}
	// As one edge it keeps its outer part; the slot is given up and reported.
	r := cutLine(t, p, []offset.Edge{{StartMM: 12, EndMM: 12}})
	near(t, "area", r.Path.Area(), 124*124, 1e-6)
	// A half circle of 20 mm radius on the inner side.
	p = closed(append([]geometry.Segment{straight(0, 0, 200, 0), straight(200, 0, 200, 100), straight(200, 100, 120, 100)},
		append(arcs(pt(100, 100), 20, 20, 0, -math.Pi, 4), straight(80, 100, 0, 100), straight(0, 100, 0, 0))...)...)
	_, err = offset.CutLine(p, []offset.Edge{{Name: "outside", Knot: 0, StartMM: 10, EndMM: 10}, {Name: "neck", Knot: 3, StartMM: 25, EndMM: 25}, {Name: "rest", Knot: 7, StartMM: 10, EndMM: 10}}, offset.Options{})
	if !errors.As(err, &w) || w.Name != "neck" || w.All || w.LargestMM < 19.5 || w.LargestMM > 20 {
		t.Errorf("error %v, want one that names the neck and 19.9 mm", err)
	}
}

// 10,000 knots are no reason to wait.
func TestManyKnots(t *testing.T) {
	p := ragged(10000)
	r := cutLine(t, p, []offset.Edge{{Knot: 0, StartMM: 15, EndMM: 15}, {Knot: 5000, StartMM: 10, EndMM: 20}})
	if l := r.Path.Length(); !(l > 1500 && l < 3500) {
		t.Errorf("cut line of %.0f mm", l)
	}
}

// FuzzCutLine: never hangs, never NaN, never crosses itself; named errors only.
func FuzzCutLine(f *testing.F) {
	f.Add([]byte{0, 0, 100, 0, 100, 100, 0, 100}, byte(15), byte(0), byte(0))
	f.Add([]byte{0, 0, 200, 0, 200, 100, 90, 50, 0, 100, 10, 10}, byte(30), byte(5), byte(1))
	f.Add([]byte{0, 0, 100, 0, 255, 100, 100, 100, 0, 255, 7, 100}, byte(9), byte(200), byte(6))
	f.Fuzz(func(t *testing.T, data []byte, w0, w1, kind byte) {
		if len(data) > 120 {
			return
		}
		var p geometry.Path
		for i := 0; i+1 < len(data); i += 2 {
			k := geometry.Knot{At: pt(float64(data[i]), float64(data[i+1])), Corner: true}
			if kind&4 != 0 && i+5 < len(data) { // a curve every third point
				in, out := pt(float64(data[i+2]), float64(data[i+3])), pt(float64(data[i+4]), float64(data[i+5]))
				k.In, k.Out = &in, &out
				i += 4
			}
			p = append(p, k)
		}
		var edges []offset.Edge
		for i := 0; i < len(p); i += 1 + int(kind>>4) {
			e := offset.Edge{Knot: i, StartMM: float64(w0), EndMM: float64(w1), Corner: offset.Join(kind & 1)}
			if kind&2 != 0 && i%3 == 0 {
				e = offset.Edge{Knot: i, Folds: []float64{1 + float64(w0)/2, 1 + float64(min(w0, w1))/3}}
			}
			edges = append(edges, e)
		}
		r, err := offset.CutLine(p, edges, offset.Options{})
		if err != nil {
			if !known(err) && !errors.Is(err, offset.ErrTangled) {
				t.Fatalf("unexpected error: %v", err)
			}
			return
		}
		if w0 != 0 || w1 != 0 || kind&2 != 0 {
			sound(t, r)
		}
	})
}
