package fit_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

// Shapes whose length and area are known exactly (computed by hand or as elliptic
// integrals, not by this project): their noisy samples must give the figures
// back.
func TestFitOfExactShapes(t *testing.T) {
	ellipse := func(a, b float64) func(f float64) geometry.Point {
		return func(f float64) geometry.Point {
			s, c := math.Sincos(2 * math.Pi * f)
			return geometry.Point{X: a * c, Y: b * s}
		}
	}
	along := func(corners ...geometry.Point) func(f float64) geometry.Point {
		ring := geometry.Polyline(corners)
		return func(f float64) geometry.Point {
			left := f * ring.Length()
			for i, a := range ring {
				b := ring[(i+1)%len(ring)]
				if l := a.Dist(b); left > l {
					left -= l
				} else {
					return a.Lerp(b, left/l)
				}
			}
			return ring[0]
		}
	}
	for _, c := range []struct {
		name         string
		at           func(f float64) geometry.Point
		length, area float64
		corners      int
	}{
		{"ellipse of half axes 300 and 100", ellipse(300, 100), 1336.48932, math.Pi * 300 * 100, 0},
		{"circle of radius 75", ellipse(75, 75), 2 * math.Pi * 75, math.Pi * 75 * 75, 0},
		{"rectangle of 200 x 300", along(geometry.Point{}, geometry.Point{X: 200}, geometry.Point{X: 200, Y: 300}, geometry.Point{Y: 300}), 1000, 60000, 4},
		{"triangle of 300, 400, 500", along(geometry.Point{}, geometry.Point{X: 400}, geometry.Point{Y: 300}), 1200, 60000, 3},
	} {
		rnd := rand.New(rand.NewPCG(4, 4))
		n := int(c.length / 0.5)
		in := make([]fit.Sample, n)
		for i := range in {
			p := c.at(float64(i) / float64(n))
			in[i] = fit.Sample{At: geometry.Point{X: p.X + 0.1*rnd.NormFloat64(), Y: p.Y + 0.1*rnd.NormFloat64()}, SigmaMM: 0.1}
		}
		path := mustFit(t, in).Path
		ring := path.Flatten(0.002)
		if l := ring.Length(); math.Abs(l-c.length) > 3e-4*c.length {
			t.Errorf("%s: length %.3f mm, exactly %.3f", c.name, l, c.length)
		}
		if a := ring.Area(); math.Abs(a-c.area) > 1e-3*c.area {
			t.Errorf("%s: area %.1f mm2, exactly %.1f", c.name, a, c.area)
		}
		if got := len(path.Corners()); got != c.corners {
			t.Errorf("%s: %d corners, want %d", c.name, got, c.corners)
		}
		if c.corners > 0 && len(path) != c.corners {
			t.Errorf("%s: straight edges on %d knots, want %d", c.name, len(path), c.corners)
		}
	}
}

// What neighbours share can't be averaged out: it must come through whole.
func TestSharedErrorIsStated(t *testing.T) {
	for _, bias := range []float64{0.2, 0.6} {
		in := wear{sigma: 0.05}.spoil(disc(120).sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 9)))
		for i := range in {
			in[i].BiasMM = bias
		}
		if u := mustFit(t, in).UncertaintyMM; u < 1.96*bias || u > 2.5*bias {
			t.Errorf("a shared error of %.1f mm is stated as %.2f mm", bias, u)
		}
	}
}

// Preparing once and fitting often gives the same as fitting from the samples.
func TestPreparedFitIsTheSame(t *testing.T) {
	s := readOutlines(t, outlines)[0]
	in := wear{sigma: 0.1, loss: 0.4}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 9)))
	raw, err := fit.Prepare(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, smooth := range []float64{-1, 0.5, 0, -1} {
		opt := fit.Options{Smooth: smooth}
		a, err1 := raw.Fit(opt)
		b, err2 := fit.Edge(in, opt)
		if err1 != nil || err2 != nil || len(a.Path) != len(b.Path) || a.UncertaintyMM != b.UncertaintyMM {
			t.Fatalf("smooth %v: %d knots and %v, from samples %d", smooth, len(a.Path), err1, len(b.Path))
		}
		for i := range a.Path {
			if a.Path[i].At != b.Path[i].At {
				t.Fatalf("smooth %v: knot %d differs", smooth, i)
			}
		}
	}
}

// Two corners 16 mm apart, as at a vent: neither may hide the other.
func TestCloseCorners(t *testing.T) {
	s := polygon(0, 0, 180, 0, 180, 60, 164, 66, 164, 190, 0, 190)
	for seed := range uint64(10) {
		in := wear{sigma: 0.15}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(seed, 9)))
		if found, wrong, _ := score(s.corners, mustFit(t, in).Path.Corners(), 1); found != len(s.corners) || wrong != 0 {
			t.Errorf("seed %d: %d of %d corners, %d false", seed, found, len(s.corners), wrong)
		}
	}
}

// A hundredth of a millimetre in the samples, less than a hundredth of a pixel,
// leaves the corners, and moves the path by much less than it is uncertain by.
// The number of breaks or cubics may still tip, which can move a corner of a
// worn edge by half a millimetre.
func TestStability(t *testing.T) {
	tipped, all := 0, 0
	var moved, stated []float64
	for i, s := range readOutlines(t, outlines) {
		in := wear{sigma: 0.1, loss: 0.4, uneven: true, threads: 0.02}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(uint64(i), 9)))
		a := mustFit(t, in)
		stated = append(stated, a.UncertaintyMM)
		for seed := range uint64(4) {
			rnd := rand.New(rand.NewPCG(seed, 77))
			near := make([]fit.Sample, len(in))
			for k, q := range in {
				q.At = geometry.Point{X: q.At.X + 0.01*rnd.NormFloat64(), Y: q.At.Y + 0.01*rnd.NormFloat64()}
				near[k] = q
			}
			b := mustFit(t, near)
			moved = append(moved, percentile(deviation(shape{segs: a.Path.Segments()}, b.Path), 0.95))
			all++
			if found, wrong, _ := score(a.Path.Corners(), b.Path.Corners(), 0.6); found != len(a.Path.Corners()) || wrong > 0 {
				tipped++
			}
		}
	}
	median, high, doubt := percentile(moved, 0.5), percentile(moved, 0.9), percentile(stated, 0.5)
	t.Logf("%d of %d changed a corner; moved by %.3f mm in the middle, %.3f nine of ten; stated %.3f", tipped, all, median, high, doubt)
	if 20*tipped > all || median > doubt/4 || high > 0.75*doubt {
		t.Error("the path is not stable")
	}
}

// The report of an edge names its worst place: here a bulge of 1 mm on the second
// side.
func TestReportNamesTheWorstPlace(t *testing.T) {
	s := polygon(0, 0, 300, 0, 300, 200, 0, 200)
	d := s.sampled(0.5)
	in := wear{sigma: 0.05}.spoil(d, 0.5, rand.New(rand.NewPCG(6, 1)))
	for i, p := range d.p {
		if p.X == 300 && math.Abs(p.Y-120) < 4 {
			in[i].At.X += 0.5 * (1 + math.Cos(math.Pi*(p.Y-120)/4))
		}
	}
	res := mustFit(t, in)
	worst := res.Edges[0]
	for _, e := range res.Edges {
		if e.WorstMM > worst.WorstMM {
			worst = e
		}
	}
	if math.Abs(worst.WorstMM-1) > 0.25 || worst.WorstAt.Dist(geometry.Point{X: 301, Y: 120}) > 2 {
		t.Errorf("worst by %.2f mm at %v, want 1 mm at (301, 120)", worst.WorstMM, worst.WorstAt)
	}
	for _, e := range res.Edges {
		if e != worst && e.WorstMM > 0.3 {
			t.Errorf("an edge without a bulge is off by %.2f mm", e.WorstMM)
		}
	}
}

// Sharp tips of 30 to 60 degrees stay tips, on clean edges within a millimetre; a
// worn one is off along its middle by its loss over the sine of half the angle,
// and is allowed that.
func TestSharpTips(t *testing.T) {
	for _, deg := range []float64{30, 45, 60} {
		h := 150 * math.Tan(deg/2*math.Pi/180)
		s := polygon(0, 0, 150, -h, 150, h)
		for _, c := range []struct {
			wear wear
			off  float64
		}{
			{wear{sigma: 0.1}, 0.5},
			{wear{sigma: 0.1, loss: 0.5, threads: 0.02}, 0.5 + 0.25/math.Sin(deg/2*math.Pi/180)},
		} {
			for seed := range uint64(6) {
				in := c.wear.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(seed, 21)))
				if found, wrong, worst := score(s.corners, mustFit(t, in).Path.Corners(), c.off); found != 3 || wrong != 0 {
					t.Errorf("%v degrees, loss %.1f, seed %d: %d of 3 corners within %.1f mm (worst %.2f), %d false", deg, c.wear.loss, seed, found, c.off, worst, wrong)
				}
			}
		}
	}
}

// Round pieces of any size, with noise and without, keep the area of the circle: once
// round, an edge has no direction that a line could follow.
func TestFitOfRoundPieces(t *testing.T) {
	for _, radius := range []float64{15, 40, 80, 150} {
		for seed := range uint64(8) {
			noise := 0.02 * float64(seed%4) // none at all for every fourth
			rnd := rand.New(rand.NewPCG(seed, 7))
			in := make([]fit.Sample, int(4*math.Pi*radius))
			for i := range in {
				s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(in)))
				r := radius + noise*rnd.NormFloat64()
				in[i] = fit.Sample{At: geometry.Point{X: r * c, Y: r * s}, SigmaMM: math.Max(noise, 0.02)}
			}
			area := mustFit(t, in).Path.Flatten(0.002).Area()
			if off := math.Sqrt(area/math.Pi) - radius; !(math.Abs(off) < 0.05) {
				t.Errorf("radius %g mm, noise %.2f: drawn with a radius off by %.3f mm", radius, noise, off)
			}
		}
	}
}
