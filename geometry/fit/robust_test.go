package fit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"secondcut/geometry"
)

func TestQuantileAgainstSorting(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		v := make([]float64, 1+rnd.IntN(40))
		for i := range v {
			v[i] = math.Round(rnd.NormFloat64() * 4) // many equal values
		}
		s := slices.Clone(v)
		slices.Sort(s)
		q := rnd.Float64()
		at := q * float64(len(v)-1)
		i := int(at)
		want := s[i]
		if i+1 < len(s) {
			want += (s[i+1] - s[i]) * (at - float64(i))
		}
		if got := quantile(v, q); math.Abs(got-want) > 1e-12 {
			t.Fatalf("quantile %v of %v: %v, want %v", q, s, got, want)
		}
	}
	if quantile(nil, 0.5) != 0 {
		t.Error("no values must give 0")
	}
}

// The efficiencies are the published ones: 95 % for Tukey's bisquare with
// c = 4.685 under normal noise (manuals of statistics; recomputed by quadrature
// for this test). Efficiency = E[psi']^2 / E[psi^2].
func TestBisquareEfficiency(t *testing.T) {
	var d, s float64
	const h = 1e-3
	for x := -8.0; x <= 8; x += h {
		phi := math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * h
		psi := x * bisquare(x, 1)
		next := (x + 1e-5) * bisquare(x+1e-5, 1)
		d += (next - psi) / 1e-5 * phi
		s += psi * psi * phi
	}
	if eff := d * d / s; math.Abs(eff-0.95) > 1e-3 {
		t.Errorf("efficiency %.4f, want 0.95", eff)
	}
}

// Noise with the autocorrelation exp(-lag/range) hangs together over twice the
// range (integral of the autocorrelation over both sides).
func TestCorrelationLength(t *testing.T) {
	rnd := rand.New(rand.NewPCG(5, 6))
	for _, want := range []float64{2, 6} {
		a := math.Exp(-0.5 / (want / 2))
		v := make([]float64, 20000)
		z := rnd.NormFloat64()
		for i := range v {
			z = a*z + math.Sqrt(1-a*a)*rnd.NormFloat64()
			v[i] = z
		}
		got, _ := correlation(v, 0.5, 3, 60)
		if math.Abs(got-want) > 0.15*want {
			t.Errorf("correlation length %.2f mm, want %.2f", got, want)
		}
	}
}

func TestSolve(t *testing.T) {
	a := [][]float64{{4, 0, 0}, {2, 5, 0}, {1, 3, 6}} // lower half of a symmetric matrix
	b := []float64{4 + 4 + 3, 2 + 10 + 9, 1 + 6 + 18} // times (1, 2, 3)
	if !solve(a, b) {
		t.Fatal("not solved")
	}
	for i, want := range []float64{1, 2, 3} {
		if math.Abs(b[i]-want) > 1e-9 {
			t.Errorf("x[%d] = %v, want %v", i, b[i], want)
		}
	}
	if solve([][]float64{{1, 0}, {3, 1}}, []float64{1, 1}) {
		t.Error("an indefinite matrix must be refused")
	}
}

// A spline through samples of a cubic is that cubic, whatever its breaks, and
// its derivative is the slope of a small step.
func TestSplineReproducesCubic(t *testing.T) {
	f := func(u float64) (x, y float64) { return u, 0.01 * u * (u - 20) * (u - 50) }
	sp := spline{breaks: []float64{0, 7, 30, 60}}
	tt := thinned{}
	for u := 0.0; u <= 60; u += 0.5 {
		x, y := f(u)
		tt.p = append(tt.p, pt(x, y))
		tt.u = append(tt.u, u)
		tt.w = append(tt.w, 1e6) // drowns the faint stiffness
	}
	if !sp.fit(tt.p, tt.u, tt.w) {
		t.Fatal("no fit")
	}
	for u := 0.0; u <= 60; u += 1.7 {
		p, d := sp.at(u)
		x, y := f(u)
		if math.Hypot(p.X-x, p.Y-y) > 1e-3 {
			t.Fatalf("at %v: %v, want %v %v", u, p, x, y)
		}
		q, _ := sp.at(math.Min(60, u+1e-5))
		if u < 59 && math.Abs((q.Y-p.Y)/1e-5-d.Y) > 1e-3*(1+math.Abs(d.Y)) {
			t.Fatalf("derivative at %v: %v, step %v", u, d.Y, (q.Y-p.Y)/1e-5)
		}
	}
}

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// The median of |x| of a standard normal variable times madToSigma is 1: the
// factor is one over the 75 % point of the normal distribution (1.4826022,
// computed; Huber, Robust Statistics, 1981, gives 1.483).
func TestMADFactor(t *testing.T) {
	want := 1 / (math.Sqrt2 * math.Erfinv(0.5))
	if math.Abs(madToSigma-want) > 1e-4 {
		t.Errorf("factor %v, want %v", madToSigma, want)
	}
	rnd := rand.New(rand.NewPCG(7, 7))
	v := make([]float64, 200000)
	for i := range v {
		v[i] = 3 * rnd.NormFloat64()
	}
	if s := scale(v); math.Abs(s/3-1) > 0.01 {
		t.Errorf("deviation %v of simulated noise, want 3", s)
	}
}
