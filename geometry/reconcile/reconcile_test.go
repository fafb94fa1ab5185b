package reconcile

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// tally sums squared errors before and after, and what theory says they should be.
type tally struct{ before, after, prior, post, seamBefore, seamAfter, n, seams, worse float64 }

// run reconciles one worn garment and adds it up. edge limits it to some edges.
func (t *tally) run(tb testing.TB, truth pattern.Garment, pairs []twin.Pair, seed uint64, only func(piece, edge string) bool) {
	tb.Helper()
	g := worn(truth, rand.New(rand.NewPCG(seed, 7)))
	r, err := Solve(g, pairs)
	if err != nil {
		tb.Fatal(err)
	}
	sound(tb, g, r)
	after := r.Accept(all(g))
	var b0, a0 float64
	for k, p := range truth.Pieces {
		for e, edge := range p.Edges {
			if only != nil && !only(p.ID, edge.ID) {
				continue
			}
			b, a := errorsOf(g.Pieces[k], p, e), errorsOf(after.Pieces[k], p, e)
			was, is := variancesOf(r, r.solver.blocks, k, e), variancesOf(r, r.after, k, e)
			for i := range b {
				if math.IsNaN(b[i] + a[i]) {
					continue
				}
				t.n++
				b0 += b[i] * b[i]
				a0 += a[i] * a[i]
				t.prior += was[i]
				t.post += is[i]
			}
		}
	}
	t.before += b0
	t.after += a0
	if a0 > b0 {
		t.worse++
	}
	for _, s := range r.Seams {
		t.seamBefore += s.BeforeMM * s.BeforeMM
		t.seamAfter += s.AfterMM * s.AfterMM
		t.seams++
	}
}

// sound holds what always holds: the cost never grows, no stretch moves beyond its
// uncertainty, the pieces are valid.
func sound(tb testing.TB, g pattern.Garment, r Result) {
	tb.Helper()
	if r.CostAfter > r.CostBefore {
		tb.Errorf("the cost grew from %v to %v", r.CostBefore, r.CostAfter)
	}
	for i, b := range r.solver.bounds() {
		if math.Abs(r.moves[i]) > b*(1+1e-9) {
			tb.Errorf("a node moves by %v mm, its bound is %v", r.moves[i], b)
		}
	}
	after := r.Accept(all(g))
	if err := after.Validate(); err != nil {
		tb.Error(err)
	}
	for k, p := range g.Pieces {
		d := p.Doubts()
		for j := range p.Knots { // along the outline, not only at the nodes
			s := p.Knots.Segment(j)
			for _, t := range []float64{0.2, 0.5, 0.8} {
				// What a neighbour cuts off at a corner lies apart, but did not move.
				if slices.ContainsFunc(p.Knots.Corners(), func(c geometry.Point) bool { return c.Dist(s.At(t)) < 20 }) {
					continue
				}
				if off := distanceTo(after.Pieces[k].Knots, s.At(t)); off > Bound*d.At(float64(j)+t)+0.02 {
					tb.Errorf("%s moves by %.3f mm at knot %d + %.1f, its bound is %.3f", p.ID, off, j, t, d.At(float64(j)+t))
				}
			}
		}
	}
}

func distanceTo(path geometry.Path, p geometry.Point) float64 {
	ring := path.Flatten(0.01)
	least := math.Inf(1)
	for a, q := range ring {
		d := ring[(a+1)%len(ring)].Sub(q)
		t := math.Min(math.Max(p.Sub(q).Dot(d)/math.Max(d.Dot(d), 1e-12), 0), 1)
		least = math.Min(least, p.Dist(q.Lerp(ring[(a+1)%len(ring)], t)))
	}
	return least
}

// Over many drawn garments, each stretch off by smooth noise of its stated uncertainty,
// errors come down by the factor that the posterior covariance of linear least squares
// predicts (Rasmussen and Williams 2006, eq. 2.24), and mismatches of seams nearly to
// none. Sums over a garment never come out worse where there are twins.
func TestErrorsFallAsTheoryPredicts(t *testing.T) {
	whole := func(string, string) bool { return true }
	frayed := func(edge string) (map[string]float64, func(p, e string) bool) {
		return map[string]float64{"front-left " + edge: 3}, func(p, e string) bool { return p == "front-left" && e == edge }
	}
	side, onlySide := frayed("side")
	hole, onlyHole := frayed("armhole")
	three := map[string]float64{"front-left side": 3, "sleeve-right cap": 2, "yoke-left armhole": 2}
	for _, c := range []struct {
		name         string
		shapes       []shape
		frayed       map[string]float64
		twins, seams bool
		only         func(piece, edge string) bool
		seeds        uint64
		most         float64 // the factor, which a change must not make worse
	}{
		{"equal twins", shapes[:1], nil, true, false, whole, 40, 0.85},
		{"a frayed side and its twin", shapes[:1], side, true, false, onlySide, 80, 0.35},
		{"a frayed armhole and its twin", shapes[:1], hole, true, false, onlyHole, 80, 0.35},
		{"seams alone", shapes, three, false, true, whole, 8, 0.98},
		{"12 pieces, twins and seams", shapes, three, true, true, whole, 8, 0.75},
	} {
		t.Run(c.name, func(t *testing.T) {
			truth, pairs := smock(t, c.shapes)
			if !c.seams {
				truth.SeamPairs = nil
			}
			if !c.twins {
				pairs = nil
			}
			truth = doubtOf(truth, c.frayed)
			var all tally
			for seed := range c.seeds {
				all.run(t, truth, pairs, seed+1000, c.only)
			}
			t.Logf("error %.3f -> %.3f mm rms, factor %.3f; theory %.3f -> %.3f, factor %.3f; worse in %v of %d", math.Sqrt(all.before/all.n), math.Sqrt(all.after/all.n),
				math.Sqrt(all.after/all.before), math.Sqrt(all.prior/all.n), math.Sqrt(all.post/all.n), math.Sqrt(all.post/all.prior), all.worse, c.seeds)
			// What is off by more than the bound stays off by the rest, of normal errors
			// E (|z| - 1.96)^2 = 0.0132 of the variance. Of some 100 independent errors a root
			// mean square is known to 7 %.
			if off := math.Sqrt(all.after / (all.post + 0.0132*all.prior)); off < 0.85 || off > 1.15 {
				t.Errorf("the errors that are left are %.2f times what theory predicts", off)
			}
			if f := math.Sqrt(all.after / all.before); f > c.most {
				t.Errorf("factor %.3f, want %.2f at most", f, c.most)
			}
			if c.twins && all.n/float64(c.seeds) > 20 && all.worse > 0 {
				t.Errorf("%v garments came out worse", all.worse)
			}
			if c.seams {
				before, after := math.Sqrt(all.seamBefore/all.seams), math.Sqrt(all.seamAfter/all.seams)
				t.Logf("seams %.3f -> %.3f mm rms", before, after)
				if after > 0.1*before {
					t.Errorf("seams are off by %.3f mm, were by %.3f", after, before)
				}
			}
		})
	}
}

// What is known of averaging two measurements: equal ones give 1/sqrt(2) of the error,
// unequal ones s1 s2 / sqrt(s1^2 + s2^2), and the better one counts more.
func TestConditionAverages(t *testing.T) {
	for _, s := range [][2]float64{{1, 1}, {3, 0.5}, {0.2, 2}} {
		b := block{0, 2, mat.NewSymDense(2, []float64{s[0] * s[0], 0, 0, s[1] * s[1]})}
		x, after, _ := condition([]block{b}, []float64{0, 0}, []row{{at: []int{0, 1}, by: []float64{1, -1}, want: 1}})
		want := s[0] * s[1] / math.Hypot(s[0], s[1])
		for i := range 2 {
			if got := math.Sqrt(after[0].cov.At(i, i)); math.Abs(got-want) > 1e-6 {
				t.Errorf("%v: the error of %d is %.6f, want %.6f", s, i, got, want)
			}
		}
		if got := s[0] * s[0] / (s[0]*s[0] + s[1]*s[1]); math.Abs(x[0]-got) > 1e-6 || math.Abs(x[0]-x[1]-1) > 1e-6 {
			t.Errorf("%v: moved by %.6f and %.6f, want %.6f", s, x[0], x[1], got)
		}
	}
}

// Two blocks that are solved one after the other give what one dense solve gives.
func TestConditionByBlocks(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 3))
	const n = 8
	var root mat.Dense
	root.CloneFrom(mat.NewDense(n, n, nil))
	for i := range n {
		for j := range n {
			if (i < 5) == (j < 5) {
				root.Set(i, j, rnd.NormFloat64())
			}
		}
	}
	var full mat.Dense
	full.Mul(&root, root.T())
	part := func(from, to int) block {
		c := mat.NewSymDense(to-from, nil)
		for i := from; i < to; i++ {
			for j := i; j < to; j++ {
				c.SetSym(i-from, j-from, full.At(i, j))
			}
		}
		return block{from, to - from, c}
	}
	draw := func(at ...int) row {
		r := row{want: rnd.NormFloat64(), sd: 0.3}
		for _, i := range at {
			r.add(i, rnd.NormFloat64())
		}
		return r
	}
	inner, outer := []row{draw(0, 1, 3), draw(2, 4)}, []row{draw(1, 6), draw(0, 5, 7)}
	once, whole, _ := condition([]block{part(0, n)}, make([]float64, n), append(inner[:2:2], outer...))
	x, first, _ := condition([]block{part(0, 5)}, make([]float64, n), inner)
	x, then, _ := condition([]block{first[0], part(5, n)}, x, outer)
	for i := range n {
		b, k := then[0], i
		if i >= 5 {
			b, k = then[1], i-5
		}
		if math.Abs(x[i]-once[i]) > 1e-6 || math.Abs(b.cov.At(k, k)-whole[0].cov.At(i, i)) > 1e-6 {
			t.Errorf("unknown %d: %v +- %v, at once %v +- %v", i, x[i], b.cov.At(k, k), once[i], whole[0].cov.At(i, i))
		}
	}
}

func BenchmarkSolve12(b *testing.B) {
	truth, pairs := smock(b, shapes)
	g := worn(doubtOf(truth, map[string]float64{"front-left side": 3}), rand.New(rand.NewPCG(1, 1)))
	for b.Loop() {
		if _, err := Solve(g, pairs); err != nil {
			b.Fatal(err)
		}
	}
}
