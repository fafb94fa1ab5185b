package fit_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

func percentile(v []float64, f float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return v[int(f*float64(len(v)-1))]
}

func polygon(xy ...float64) shape {
	var s shape
	for i := 0; i < len(xy); i += 2 {
		a := geometry.Point{X: xy[i], Y: xy[i+1]}
		b := geometry.Point{X: xy[(i+2)%len(xy)], Y: xy[(i+3)%len(xy)]}
		s.segs = append(s.segs, geometry.Segment{A: a, B: a, C: b, D: b})
		s.corners = append(s.corners, a)
	}
	return s
}

func disc(radius float64) shape {
	const k = 0.5519150244935 // least radial error, 2e-4 of the radius
	var s shape
	for i := range 4 {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i))
		u := geometry.Vec{X: radius * cos, Y: radius * sin}
		a, d := geometry.Point{}.Add(u), geometry.Point{}.Add(u.Perp())
		s.segs = append(s.segs, geometry.Segment{A: a, B: a.Add(u.Perp().Scale(k)), C: d.Add(u.Scale(k)), D: d, Curved: true})
	}
	return s
}

func mustFit(t *testing.T, in []fit.Sample) fit.Result {
	t.Helper()
	res, err := fit.Edge(in, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	checkPath(t, res.Path)
	return res
}

// checkPath holds what every path keeps: finite, smooth knots in line, no stray
// handles, no edge that crosses another.
func checkPath(t *testing.T, p geometry.Path) {
	t.Helper()
	for i, k := range p {
		for _, q := range []*geometry.Point{&k.At, k.In, k.Out} {
			if q != nil && !q.IsFinite() {
				t.Fatalf("knot %d is not finite: %v", i, k)
			}
		}
		if !k.Corner {
			if k.In == nil || k.Out == nil {
				t.Fatalf("smooth knot %d has no handles", i)
			}
			a, b := k.At.Sub(*k.In).Unit(), k.Out.Sub(k.At).Unit()
			if math.Abs(a.Cross(b)) > 1e-6 || a.Dot(b) < 0 {
				t.Fatalf("smooth knot %d is bent: %v", i, k)
			}
		}
	}
}

func TestPolygonsComeBackAsTheyAre(t *testing.T) {
	for _, c := range []struct {
		name string
		s    shape
	}{
		{"rectangle", polygon(0, 0, 300, 0, 300, 200, 0, 200)},
		{"hole", polygon(0, 0, 0, 200, 300, 200, 300, 0)},
		{"L with a concave corner", polygon(0, 0, 300, 0, 300, 120, 140, 120, 140, 260, 0, 260)},
		{"triangle with a point of 30 degrees", polygon(0, 0, 300, 0, 300, 173.2)},
		{"blunt corners of 25 degrees", polygon(0, 0, 200, -44, 400, 0, 400, 300, 200, 344, 0, 300)},
		{"pocket with cut corners", polygon(60, 0, 80, 20, 80, 160, -80, 160, -80, 20, -60, 0)},
	} {
		t.Run(c.name, func(t *testing.T) {
			in := wear{sigma: 0.1}.spoil(c.s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 2)))
			res := mustFit(t, in)
			want := len(c.s.corners)
			if found, wrong, worst := score(c.s.corners, res.Path.Corners(), 0.3); found != want || wrong != 0 || len(res.Path) != want {
				t.Errorf("%d of %d corners within 0.3 mm (worst %.2f), %d false, %d knots", found, want, worst, wrong, len(res.Path))
			}
			if len(res.Edges) != want {
				t.Errorf("%d edges", len(res.Edges))
			}
			for _, e := range res.Edges {
				if !e.Straight {
					t.Errorf("edge %d to %d is not straight", e.From, e.To)
				}
			}
			truth := c.s.sampled(0.5).p
			if a, b := res.Path.Area(), geometry.Polyline(truth).Area(); a*b < 0 {
				t.Errorf("direction changed: area %v, samples %v", a, b)
			}
		})
	}
}

func TestSmoothRings(t *testing.T) {
	for _, radius := range []float64{30, 75, 300} {
		in := wear{sigma: 0.1}.spoil(disc(radius).sampled(0.5), 0.5, rand.New(rand.NewPCG(2, 2)))
		res := mustFit(t, in)
		if len(res.Path.Corners()) != 0 || len(res.Path) > 8 {
			t.Errorf("radius %v: %d corners, %d knots; want 0 and at most 8", radius, len(res.Path.Corners()), len(res.Path))
		}
		if p := percentile(deviation(disc(radius), res.Path), 0.95); p > 0.15 {
			t.Errorf("radius %v: off by %.3f mm", radius, p)
		}
		if len(res.Edges) != 1 || res.Edges[0].From != 0 || res.Edges[0].To != 0 {
			t.Errorf("edges %+v", res.Edges)
		}
	}
}

// Soft corners from 10 mm radius stay round, those under 2 mm are corners.
func TestSoftCorners(t *testing.T) {
	box := polygon(0, 0, 260, 0, 260, 200, 0, 200).segs
	for _, c := range []struct {
		radius float64
		sharp  int
	}{{1.5, 4}, {10, 3}, {16, 3}, {35, 3}} {
		s := shape{segs: soften(box, 2, c.radius)}
		if len(s.segs) != 5 {
			t.Fatal("the corner was not rounded")
		}
		for _, w := range []wear{{sigma: 0.1}, {sigma: 0.1, loss: 0.6, threads: 0.02}} {
			in := w.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(3, 3)))
			n := len(mustFit(t, in).Path.Corners())
			// On a frayed edge the entry into a bend may look like a blunt corner.
			if n != c.sharp && (w.loss == 0 || n != c.sharp+1) {
				t.Errorf("radius %v, loss %v: %d corners, want %d", c.radius, w.loss, n, c.sharp)
			}
		}
	}
}

func TestScallopsAreAveraged(t *testing.T) {
	s := polygon(0, 0, 400, 0, 400, 250, 0, 250)
	d := s.sampled(0.5)
	in := wear{sigma: 0.1}.spoil(d, 0.5, rand.New(rand.NewPCG(4, 4)))
	for i, p := range d.p {
		if p.Y == 0 && p.X > 0 { // 2.2 mm peak to peak every 13 mm on one edge
			in[i].At.Y += 1.1 * math.Sin(2*math.Pi*p.X/13)
		}
	}
	res := mustFit(t, in)
	if found, wrong, _ := score(s.corners, res.Path.Corners(), 1); found != 4 || wrong != 0 {
		t.Errorf("%d corners, %d false", found, wrong)
	}
	rippled := 0
	for _, e := range res.Edges {
		if e.Rippled {
			rippled++
		}
	}
	if rippled != 1 {
		t.Errorf("%d rippled edges, want 1", rippled)
	}
	if p := percentile(deviation(s, res.Path), 0.95); p > 0.3 {
		t.Errorf("off by %.3f mm", p)
	}
}

// A V cut of 4.5 mm is bridged and offered as a notch; a torn one is bridged.
func TestCutsAreBridgedAndNamed(t *testing.T) {
	s := polygon(0, 0, 400, 0, 400, 250, 0, 250)
	d := s.sampled(0.5)
	in := wear{sigma: 0.08}.spoil(d, 0.5, rand.New(rand.NewPCG(5, 5)))
	for i, p := range d.p {
		if p.Y == 0 {
			in[i].At.Y += 4.5 * math.Max(0, 1-math.Abs(p.X-150)/2.5)
		}
		if p.X == 400 { // lopsided: 9 mm wide, 6 mm deep near one side
			if y := p.Y - 100; y > 0 && y < 9 {
				in[i].At.X -= 6 * math.Min(y/1.5, (9-y)/7.5)
			}
		}
	}
	res := mustFit(t, in)
	if found, wrong, _ := score(s.corners, res.Path.Corners(), 0.5); found != 4 || wrong != 0 || len(res.Path) != 4 {
		t.Errorf("%d corners, %d false, %d knots", found, wrong, len(res.Path))
	}
	codes := map[string]geometry.Point{}
	for _, f := range res.Findings {
		codes[f.Code] = *f.Where
		if f.Amount < 2 || f.Amount > 7 {
			t.Errorf("%s: depth %v", f.Code, f.Amount)
		}
	}
	if len(res.Findings) != 2 || codes["notch-found"].Dist(geometry.Point{X: 150}) > 1.5 || codes["nick-bridged"].Dist(geometry.Point{X: 400, Y: 104.5}) > 2.5 {
		t.Errorf("findings %+v", res.Findings)
	}
	if n := res.Notches; len(n) != 1 || n[0].At.Dist(geometry.Point{X: 150}) > 0.5 || math.Abs(n[0].DepthMM-4.5) > 0.5 || math.Abs(n[0].WidthMM-5) > 1.5 || n[0].Sure < 0.5 || n[0].Sure > 1 {
		t.Errorf("notches %+v", n)
	}
}

// The threads of a frayed edge are outside; they must neither pull the path out
// nor make corners.
func TestThreadsAreShorn(t *testing.T) {
	s := polygon(0, 0, 300, 0, 300, 200, 0, 200)
	in := wear{sigma: 0.1, threads: 0.3}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(6, 6)))
	res := mustFit(t, in)
	if p := percentile(deviation(s, res.Path), 0.95); p > 0.3 || len(res.Path.Corners()) != 4 {
		t.Errorf("off by %.3f mm, %d corners", p, len(res.Path.Corners()))
	}
}

func TestRefusals(t *testing.T) {
	line := func(n int, f func(i int) geometry.Point) []fit.Sample {
		out := make([]fit.Sample, n)
		for i := range out {
			out[i] = fit.Sample{At: f(i), SigmaMM: 0.1}
		}
		return out
	}
	for _, c := range []struct {
		name string
		in   []fit.Sample
		want error
	}{
		{"none", nil, fit.ErrTooFew},
		{"one point many times", line(500, func(int) geometry.Point { return geometry.Point{X: 3, Y: 4} }), fit.ErrTooFew},
		{"two points", line(2, func(i int) geometry.Point { return geometry.Point{X: float64(i)} }), fit.ErrTooFew},
		{"on one line", line(500, func(i int) geometry.Point { return geometry.Point{X: float64(i % 250)} }), fit.ErrTooSmall},
		{"2 mm round", line(60, func(i int) geometry.Point {
			sin, cos := math.Sincos(float64(i) * 2 * math.Pi / 60)
			return geometry.Point{X: 0.3 * cos, Y: 0.3 * sin}
		}), fit.ErrTooSmall},
		{"open half circle", line(600, func(i int) geometry.Point {
			sin, cos := math.Sincos(float64(i) * math.Pi / 600)
			return geometry.Point{X: 100 * cos, Y: 100 * sin}
		}), fit.ErrNotClosed},
		{"kilometres", line(600, func(i int) geometry.Point {
			sin, cos := math.Sincos(float64(i) * 2 * math.Pi / 600)
			return geometry.Point{X: 1e6 * cos, Y: 1e6 * sin}
		}), fit.ErrTooLarge},
		{"NaN", line(600, func(i int) geometry.Point { return geometry.Point{X: math.NaN(), Y: float64(i)} }), geometry.ErrNotFinite},
	} {
		if _, err := fit.Edge(c.in, fit.Options{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
}
