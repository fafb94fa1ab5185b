package fit_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

// tally gathers figures over many fits.
type tally struct {
	p95, stated, where        []float64
	found, wrong, all, inside int
	knots, segments           int
}

func (y *tally) add(t *testing.T, s shape, w wear, seed uint64) {
	t.Helper()
	in := w.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(seed, 7)))
	res, err := fit.Edge(in, fit.Options{})
	if err != nil {
		t.Fatal(s.name, err)
	}
	checkPath(t, res.Path)
	if a, b, ok := crossing(res.Path.Flatten(0.2)); ok {
		t.Errorf("%s, seed %d: the path crosses itself between %v and %v", s.name, seed, a, b)
	}
	p := percentile(deviation(s, res.Path), 0.95)
	y.p95, y.stated = append(y.p95, p), append(y.stated, res.UncertaintyMM)
	if p <= res.UncertaintyMM {
		y.inside++
	}
	found, wrong, worst := score(s.corners, res.Path.Corners(), 1)
	y.found, y.wrong, y.all = y.found+found, y.wrong+wrong, y.all+len(s.corners)
	y.where = append(y.where, worst)
	y.knots, y.segments = y.knots+len(res.Path), y.segments+len(s.segs)
}

// crossing finds two sides of a ring that cross.
func crossing(p geometry.Polyline) (a, b geometry.Point, found bool) {
	side := func(a, b, q geometry.Point) bool { return b.Sub(a).Cross(q.Sub(a)) > 0 }
	n := len(p)
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			a, b, c, d := p[i], p[i+1], p[j], p[(j+1)%n]
			if side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b) {
				return a, c, true
			}
		}
	}
	return a, b, false
}

// Over random pieces and outlines of real ones, the clean edge must come back.
// The limits on boundary deviation are those of the whole chain from photo to
// path (0.3 mm clean, 0.5 light, 0.9 heavy, 95th percentile) or tighter; those on
// corners are a little wider than the chain's on the worst wear, where the
// synthetic pieces are frayed on all sides and to the very tip of each corner, and
// for nicks, which may fall on a corner.
func TestTruthComesBack(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 2))
	shapes := readOutlines(t, outlines)
	for range 45 {
		shapes = append(shapes, randomPiece(rnd))
	}
	for _, c := range []struct {
		name         string
		wear         wear
		median, high float64 // of the pieces' 95th percentiles; high: nine of ten, mm
		found, wrong float64 // shares of the true corners
		covered      float64 // share of pieces off by no more than stated
	}{
		{"clean", wear{sigma: 0.1}, 0.06, 0.1, 0.99, 0.01, 0.95},
		{"light", wear{sigma: 0.1, loss: 0.6, threads: 0.02}, 0.25, 0.33, 0.97, 0.02, 0.95},
		{"light, half normal", wear{sigma: 0.1, loss: 0.6, half: true, threads: 0.02}, 0.17, 0.22, 0.97, 0.01, 0.95},
		{"light, uneven", wear{sigma: 0.1, loss: 0.7, uneven: true, threads: 0.03}, 0.24, 0.32, 0.95, 0.02, 0.92},
		{"heavy, uneven", wear{sigma: 0.1, loss: 1.8, uneven: true, threads: 0.1}, 0.38, 0.65, 0.82, 0.03, 0.9},
		{"nicked", wear{sigma: 0.1, loss: 0.3, nicks: 3}, 0.19, 0.26, 0.92, 0.03, 0.83},
	} {
		t.Run(c.name, func(t *testing.T) {
			var y tally
			for i, s := range shapes {
				y.add(t, s, c.wear, uint64(i))
			}
			n, all := float64(len(shapes)), float64(y.all)
			median, high := percentile(y.p95, 0.5), percentile(y.p95, 0.9)
			padding := percentile(y.stated, 0.5) / median
			t.Logf("p95 median %.3f, nine of ten %.3f mm; corners %d of %d, %d false, off by %.2f mm; covered %d of %.0f, padding %.1f; %d knots for %d segments",
				median, high, y.found, y.all, y.wrong, percentile(y.where, 0.5), y.inside, n, padding, y.knots, y.segments)
			if median > c.median || high > c.high {
				t.Errorf("deviation: median %.3f, nine of ten %.3f mm, limits %.2f and %.2f", median, high, c.median, c.high)
			}
			if float64(y.found) < c.found*all || float64(y.wrong) > c.wrong*all {
				t.Errorf("corners: %d of %d found within 1 mm, %d false", y.found, y.all, y.wrong)
			}
			if float64(y.inside) < c.covered*n || padding > 3 {
				t.Errorf("uncertainty: %d of %.0f covered, median stated %.1f times median true", y.inside, n, padding)
			}
			if y.knots > 2*y.segments {
				t.Errorf("%d knots for %d segments", y.knots, y.segments)
			}
		})
	}
}

// The fit of a turned and moved ring is the turned and moved fit.
func TestCommutesWithRigidMotion(t *testing.T) {
	m := geometry.Rigid{Turn: 2.1, Move: geometry.Point{X: -310, Y: 45}}
	for _, c := range []struct {
		wear         wear
		edge, corner float64
	}{
		// Rounding may tip a decision, which on a worn edge moves it by a part of
		// its uncertainty.
		{wear{sigma: 0.1}, 0.15, 0.3},
		{wear{sigma: 0.1, loss: 0.4, threads: 0.02}, 0.25, 0.8},
	} {
		for i, s := range readOutlines(t, outlines) {
			in := c.wear.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(uint64(i), 9)))
			a := mustFit(t, in)
			for k := range in {
				in[k].At = m.Apply(in[k].At)
			}
			b := mustFit(t, in)
			moved := shape{segs: a.Path.Map(m.Apply).Segments()}
			if p := percentile(deviation(moved, b.Path), 0.95); p > c.edge {
				t.Errorf("%s, loss %v: edges differ by %.3f mm", s.name, c.wear.loss, p)
			}
			corners := a.Path.Map(m.Apply).Corners()
			if found, wrong, worst := score(corners, b.Path.Corners(), c.corner); found != len(corners) || wrong != 0 {
				t.Errorf("%s, loss %v: corners differ by %.3f mm", s.name, c.wear.loss, worst)
			}
		}
	}
}

// Fitting a clean path again gives the same corners and no more knots than a few.
func TestFitOfItsOwnResult(t *testing.T) {
	for _, s := range readOutlines(t, outlines) {
		a := mustFit(t, wear{sigma: 0.05}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 9))))
		var again shape
		again.segs = a.Path.Segments()
		var in []fit.Sample
		for _, p := range again.sampled(0.5).p {
			in = append(in, fit.Sample{At: p, SigmaMM: 0.02})
		}
		b := mustFit(t, in)
		found, wrong, worst := score(a.Path.Corners(), b.Path.Corners(), 0.5)
		if found != len(a.Path.Corners()) || wrong != 0 {
			t.Errorf("%s: %d of %d corners again, %d false, off by %.2f mm", s.name, found, len(a.Path.Corners()), wrong, worst)
		}
		if len(b.Path) > len(a.Path)+3 {
			t.Errorf("%s: %d knots, then %d", s.name, len(a.Path), len(b.Path))
		}
		if p := percentile(deviation(again, b.Path), 0.95); p > 0.15 {
			t.Errorf("%s: off by %.3f mm", s.name, p)
		}
	}
}

// The slider goes from close to simple.
func TestSmoothSpendsFewerKnots(t *testing.T) {
	for _, s := range readOutlines(t, outlines) {
		if s.name != "sleeve" {
			continue
		}
		in := wear{sigma: 0.1, loss: 0.4, uneven: true}.spoil(s.sampled(0.5), 0.5, rand.New(rand.NewPCG(1, 9)))
		var knots []int
		for _, x := range []float64{-1, 0, 1} {
			res, err := fit.Edge(in, fit.Options{Smooth: x})
			if err != nil {
				t.Fatal(err)
			}
			knots = append(knots, len(res.Path))
		}
		if !(knots[0] > knots[1] && knots[1] >= knots[2]) {
			t.Errorf("knots %v for -1, 0, 1", knots)
		}
	}
}

// Rings that no cloth has: crossing themselves, folded, jagged, tiny, huge.
func TestOddRings(t *testing.T) {
	rnd := rand.New(rand.NewPCG(11, 11))
	odd := map[string]func(f float64) geometry.Point{
		"figure of eight": func(f float64) geometry.Point {
			return geometry.Point{X: 150 * math.Sin(2*math.Pi*f), Y: 80*math.Sin(4*math.Pi*f) + 20*math.Cos(2*math.Pi*f)}
		},
		"twice round": func(f float64) geometry.Point {
			sin, cos := math.Sincos(4 * math.Pi * f)
			return geometry.Point{X: (90 + 5*f) * cos, Y: (90 + 5*f) * sin}
		},
		"star of sharp points": func(f float64) geometry.Point {
			sin, cos := math.Sincos(2 * math.Pi * f)
			r := 60 + 50*math.Abs(math.Mod(20*f, 2)-1)
			return geometry.Point{X: r * cos, Y: r * sin}
		},
		"sliver": func(f float64) geometry.Point {
			sin, cos := math.Sincos(2 * math.Pi * f)
			return geometry.Point{X: 300 * cos, Y: 0.8 * sin}
		},
		"5 mm round": func(f float64) geometry.Point {
			sin, cos := math.Sincos(2 * math.Pi * f)
			return geometry.Point{X: 0.9 * cos, Y: 0.7 * sin}
		},
		"60 m round": func(f float64) geometry.Point {
			sin, cos := math.Sincos(2 * math.Pi * f)
			return geometry.Point{X: 9000 * cos, Y: 9500 * sin}
		},
	}
	for name, f := range odd {
		for _, n := range []int{12, 400, 3000} {
			in := make([]fit.Sample, n)
			for i := range in {
				in[i] = fit.Sample{At: f(float64(i) / float64(n)), SigmaMM: 0.1, Weak: i%50 < 5}
			}
			if res, err := fit.Edge(in, fit.Options{}); err == nil {
				checkPath(t, res.Path)
			} else if n > 12 && name != "sliver" {
				t.Errorf("%s of %d points: %v", name, n, err)
			}
		}
	}
	for range 60 {
		size := math.Pow(10, 4*rnd.Float64()-1)
		in := make([]fit.Sample, 3+rnd.IntN(80))
		for i := range in {
			in[i] = fit.Sample{At: geometry.Point{X: size * rnd.NormFloat64(), Y: size * rnd.NormFloat64()}, SigmaMM: rnd.Float64()}
			if i > 0 && rnd.IntN(4) == 0 {
				in[i] = in[i-1]
			}
		}
		if res, err := fit.Edge(in, fit.Options{}); err == nil {
			checkPath(t, res.Path)
		}
	}
}

// Whatever the ring: an error or a finite path, soon.
func FuzzEdge(f *testing.F) {
	f.Add([]byte{0, 0, 200, 0, 200, 200, 0, 200}, 1.0)
	f.Add([]byte{0, 0, 255, 255, 0, 255, 255, 0}, 0.1)
	f.Add([]byte{1, 1, 1, 1, 1, 1, 9, 9, 9, 1}, 50.0)
	f.Add([]byte{0, 0, 100, 0, 50, 0, 50, 90, 50, 2, 49, 90}, 2.0)
	f.Fuzz(func(t *testing.T, b []byte, size float64) {
		if len(b) > 600 {
			return
		}
		var in []fit.Sample
		for i := 0; i+1 < len(b); i += 2 {
			in = append(in, fit.Sample{At: geometry.Point{X: size * float64(b[i]), Y: size * float64(b[i+1])}, SigmaMM: 0.1, Weak: b[i]%7 == 0})
		}
		res, err := fit.Edge(in, fit.Options{Smooth: float64(len(b)%5)/2 - 1})
		if err != nil {
			return
		}
		checkPath(t, res.Path)
		if math.IsNaN(res.UncertaintyMM + res.FrayMM) {
			t.Fatal("figures are not finite")
		}
	})
}
