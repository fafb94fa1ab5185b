package segment

import (
	"context"
	"errors"
	"math"
	"reflect"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// sleeve is a piece with slanting sides.
var sleeve = geometry.Polyline{{X: 150, Y: 90}, {X: 330, Y: 70}, {X: 350, Y: 230}, {X: 250, Y: 290}, {X: 140, Y: 250}}

// scenes have cloth that is found whole; least is the overlap asked for. The
// limits come from an edge right to 2 mm all round.
var scenes = []struct {
	name          string
	pieces, holes int
	least         float64
	draw          func() *drawing
}{
	{"plain", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 0, 4)
		d.cloth(sleeve, all(blue))
		d.card(20, 20)
		return d
	}},
	{"grain", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 14, 4)
		d.cloth(sleeve, all(bgr{150, 150, 90}))
		return d
	}},
	{"gradient", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 0, 4)
		d.cloth(sleeve, all(bgr{100, 160, 110}))
		d.light(func(x, y int) float64 { return 0.6 + 0.8*float64(x)/480 })
		return d
	}},
	{"soft shadow over the edge", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 0, 4)
		d.cloth(sleeve, all(bgr{90, 100, 200}))
		d.light(func(x, _ int) float64 { return 1 - 0.4/(1+math.Exp(-float64(x-290)/12)) })
		return d
	}},
	{"shadow beside it", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, bgr{190, 195, 200}, 3, 4)
		d.cloth(sleeve, all(bgr{60, 70, 150}))
		d.light(func(x, y int) float64 {
			if x > 380 && x < 440 && !d.truth[y*480+x] {
				return 0.6
			}
			return 1
		})
		return d
	}},
	{"stripes", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(sleeve, func(x, y int) bgr {
			if (x+y)/8%2 == 0 {
				return bgr{230, 235, 240}
			}
			return blue
		})
		return d
	}},
	{"little contrast", 1, 0, 0.96, func() *drawing {
		d := newDrawing(480, 360, bgr{200, 215, 225}, 0, 3)
		d.cloth(sleeve, all(bgr{212, 232, 243})) // Lab difference about 6
		return d
	}},
	{"dark on dark", 1, 0, 0.96, func() *drawing {
		d := newDrawing(480, 360, bgr{28, 36, 44}, 3, 3)
		d.cloth(sleeve, all(bgr{34, 24, 22}))
		return d
	}},
	{"two cloths", 2, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(box(60, 60, 250, 300), all(blue))
		d.cloth(box(300, 100, 420, 220), all(bgr{70, 150, 70}))
		return d
	}},
	{"cuff beside a large piece", 2, 0, 0.97, func() *drawing {
		d := newDrawing(640, 480, wood, 6, 4)
		d.cloth(box(60, 60, 440, 400), all(blue))
		d.cloth(box(500, 150, 560, 260), all(blue))
		return d
	}},
	{"neck opening", 1, 1, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(sleeve, all(blue))
		d.hole(box(220, 150, 280, 210), wood)
		return d
	}},
	{"trim across", 1, 0, 0.96, func() *drawing {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(sleeve, func(x, y int) bgr {
			if y > 170 && y < 200 {
				return bgr{225, 235, 240}
			}
			return blue
		})
		return d
	}},
	{"a little over a card", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 6, 4)
		d.card(20, 20)
		d.card(325, 130)
		d.cloth(sleeve, all(blue))
		return d
	}},
	{"threads", 1, 0, 0.97, func() *drawing {
		d := newDrawing(480, 360, wood, 0, 4)
		d.cloth(sleeve, all(blue))
		for x := 170.0; x < 320; x += 30 {
			d.each(box(x, 60, x+1.5, 100), func(i, _, _ int) { d.set(i, blue, 0) })
		}
		return d
	}},
}

func TestClothIsFound(t *testing.T) {
	for _, s := range scenes {
		t.Run(s.name, func(t *testing.T) {
			d := s.draw()
			regions, _, err := Cloth(context.Background(), d.pl, nil, Options{})
			if err != nil {
				t.Fatal(err)
			}
			holes := 0
			for _, r := range regions {
				holes += len(r.Holes)
				checkContour(t, r.Outer, 1)
				for _, h := range r.Holes {
					checkContour(t, h, -1)
				}
			}
			if len(regions) != s.pieces || holes != s.holes {
				t.Errorf("%d pieces and %d holes, want %d and %d", len(regions), holes, s.pieces, s.holes)
			}
			if v := d.overlap(regions); v < s.least {
				t.Errorf("overlap %.3f, want %.3f", v, s.least)
			}
		})
	}
}

func checkContour(t *testing.T, c Contour, sign float64) {
	t.Helper()
	n := len(c.Points)
	if len(c.Doubt) != n || len(c.Why) != n || c.Points.Area()*sign <= 0 {
		t.Fatalf("%d points, %d doubts, %d reasons, area %.0f", n, len(c.Doubt), len(c.Why), c.Points.Area())
	}
	for i, p := range c.Points {
		if l := p.Dist(c.Points[(i+1)%n]); l > 1.5 || !p.IsFinite() {
			t.Fatalf("points %d and the next are %.2f mm apart", i, l)
		}
		if v := c.Doubt[i]; !(v >= 0 && v <= 1) || (v >= notable) != (c.Why[i] != "") {
			t.Fatalf("doubt %v with reason %q", v, c.Why[i])
		}
	}
}

// Without the learned guess, colour and place alone find what stands out.
func TestClothIsFoundWithoutTheGuess(t *testing.T) {
	for _, s := range scenes {
		if s.name != "plain" && s.name != "stripes" && s.name != "two cloths" {
			continue
		}
		d := s.draw()
		regions, _, err := Cloth(context.Background(), d.pl, nil, Options{NoPrior: true})
		if err != nil {
			t.Errorf("%s: %v", s.name, err)
		} else if v := d.overlap(regions); v < 0.95 {
			t.Errorf("%s: overlap %.3f", s.name, v)
		}
	}
}

func wantRefusal(t *testing.T, err error, code vision.Code) {
	t.Helper()
	var r *vision.Refusal
	if !errors.As(err, &r) || r.Code != code {
		t.Fatalf("got %v, want the refusal %s", err, code)
	}
}

func TestRefusals(t *testing.T) {
	nothing := newDrawing(480, 360, wood, 14, 5)
	nothing.card(40, 40)
	_, _, err := Cloth(context.Background(), nothing.pl, nil, Options{})
	wantRefusal(t, err, vision.CodeNoCloth)

	sides := map[string]geometry.Polyline{
		"on the left": box(-20, 100, 200, 260), "on the right": box(280, 100, 500, 260),
		"at the top": box(150, 180, 330, 400), "at the bottom": box(150, -20, 330, 180),
	}
	for side, ring := range sides {
		d := newDrawing(480, 360, wood, 6, 4)
		d.cloth(ring, all(blue))
		_, _, err := Cloth(context.Background(), d.pl, nil, Options{})
		wantRefusal(t, err, vision.CodeCutByFrame)
		if want := "The cloth runs out of the picture " + side + "."; err.(*vision.Refusal).Message != want {
			t.Errorf("%q, want %q", err.(*vision.Refusal).Message, want)
		}
	}
}

func TestStrokesOverrule(t *testing.T) {
	d := newDrawing(480, 360, wood, 6, 4)
	d.cloth(box(60, 60, 220, 300), all(blue))
	d.cloth(box(300, 100, 420, 240), all(blue))
	away := Stroke{Kind: StrokeNotCloth, WidthMM: 60, Points: []geometry.Point{{X: 330, Y: 100}, {X: 330, Y: 240}, {X: 390, Y: 240}, {X: 390, Y: 100}}}
	regions, _, err := Cloth(context.Background(), d.pl, nil, Options{Strokes: []Stroke{away}})
	if err != nil || len(regions) != 1 || regions[0].Outer.Points.Contains(geometry.Point{X: 360, Y: 170}) {
		t.Fatalf("%d pieces, %v; want the right one gone", len(regions), err)
	}
	dab := Stroke{Kind: StrokeCloth, WidthMM: 30, Points: []geometry.Point{{X: 300, Y: 320}, {X: 400, Y: 320}}}
	regions, _, err = Cloth(context.Background(), d.pl, nil, Options{Strokes: []Stroke{dab}})
	if err != nil {
		t.Fatal(err)
	}
	if !contains(regions, geometry.Point{X: 350, Y: 320}) || contains(regions, geometry.Point{X: 260, Y: 200}) {
		t.Error("a dab of cloth was not taken, or spread over the floor")
	}
	rub := Stroke{Kind: StrokeNotCloth, WidthMM: 12, Points: []geometry.Point{{X: 140, Y: 180}}}
	regions, _, err = Cloth(context.Background(), d.pl, nil, Options{Strokes: []Stroke{rub}})
	if err != nil || contains(regions, geometry.Point{X: 140, Y: 180}) {
		t.Errorf("a small hole that a stroke asks for is closed; %v", err)
	}
	over := Stroke{Kind: StrokeNotCloth, WidthMM: 200, Points: []geometry.Point{{X: 0, Y: 90}, {X: 480, Y: 90}, {X: 480, Y: 270}, {X: 0, Y: 270}}}
	_, _, err = Cloth(context.Background(), d.pl, nil, Options{Strokes: []Stroke{over}})
	wantRefusal(t, err, vision.CodeStrokes)
}

func contains(regions []Region, p geometry.Point) bool {
	for _, r := range regions {
		in := r.Outer.Points.Contains(p)
		for _, h := range r.Holes {
			in = in && !h.Points.Contains(p)
		}
		if in {
			return true
		}
	}
	return false
}

func TestLowContrastIsTold(t *testing.T) {
	d := newDrawing(480, 360, bgr{200, 215, 225}, 0, 3)
	d.cloth(sleeve, all(bgr{210, 228, 239}))
	_, findings, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Code == "low-contrast" && f.Where != nil && f.Amount < f.Limit {
			return
		}
	}
	t.Errorf("cloth of nearly the floor's colour is not reported: %v", findings)
}

// Where a card lies on the edge, the outline there rests on little.
func TestCardOnTheEdgeIsInDoubt(t *testing.T) {
	d := newDrawing(480, 360, wood, 6, 4)
	d.cloth(sleeve, all(blue))
	d.card(320, 110)
	regions, _, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := regions[0].Outer
	var by, far float64
	for i, p := range c.Points {
		if p.X > 310 && p.Y > 115 && p.Y < 185 {
			by = max(by, c.Doubt[i])
		} else if p.X < 200 {
			far = max(far, c.Doubt[i])
		}
	}
	if by < notable || far >= notable {
		t.Errorf("doubt %.2f by the card, %.2f far from it", by, far)
	}
}

func TestSameInputSameResult(t *testing.T) {
	d := scenes[5].draw()
	a, fa, _ := Cloth(context.Background(), d.pl, nil, Options{})
	b, fb, _ := Cloth(context.Background(), d.pl, nil, Options{})
	if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(fa, fb) {
		t.Error("two runs differ")
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := Cloth(ctx, scenes[0].draw().pl, nil, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

func TestWrongSizesAreErrors(t *testing.T) {
	for _, pl := range []*calib.Plane{
		{}, {Width: 20, Height: 20, PxPerMM: 1}, {Width: 20, Height: 20, BGR: make([]byte, 1200), Known: make([]byte, 400)},
	} {
		if _, _, err := Cloth(context.Background(), pl, nil, Options{}); err == nil {
			t.Errorf("%d x %d passed", pl.Width, pl.Height)
		}
	}
}

// Any picture gives regions or an error, and regions that hold together.
func FuzzCloth(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3}, uint8(9), uint8(30), 1.0, 5.0, 5.0)
	f.Add([]byte{255, 7, 77, 1, 1, 2}, uint8(40), uint8(8), 0.2, math.NaN(), 3.0)
	f.Add([]byte{}, uint8(200), uint8(100), 3.0, 1e300, -1e300)
	f.Fuzz(func(t *testing.T, data []byte, w, h uint8, pxPerMM, x, y float64) {
		n := int(w) * int(h)
		pl := &calib.Plane{Width: int(w), Height: int(h), PxPerMM: pxPerMM, BGR: make([]byte, 3*n), Known: make([]byte, n)}
		for i := range pl.Known {
			pl.Known[i] = 1
			if len(data) > 0 {
				pl.Known[i] = data[i/7%len(data)] % 4
			}
		}
		for i := range pl.BGR {
			if len(data) > 0 {
				pl.BGR[i] = data[i/5%len(data)]
			}
		}
		opt := Options{NoPrior: true, Strokes: []Stroke{{Kind: StrokeCloth, WidthMM: x, Points: []geometry.Point{{X: x, Y: y}, {X: y, Y: x}}}}}
		regions, _, err := Cloth(context.Background(), pl, nil, opt)
		if err == nil && len(regions) == 0 {
			t.Error("neither cloth nor an error")
		}
		for _, r := range regions {
			if r.Outer.Points.Area() <= 0 || len(r.Outer.Doubt) != len(r.Outer.Points) {
				t.Error("an outline does not run counter-clockwise, or lacks doubts")
			}
		}
	})
}

func BenchmarkCloth(b *testing.B) {
	d := newDrawing(820, 610, wood, 10, 5)
	d.cloth(box(200, 120, 600, 480), all(blue))
	d.card(60, 60)
	for b.Loop() {
		if _, _, err := Cloth(context.Background(), d.pl, nil, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
