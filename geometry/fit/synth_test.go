package fit_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

// shape is a true outline: exact segments and true corners.
type shape struct {
	name    string
	segs    []geometry.Segment
	corners []geometry.Point
}

// dense is a true outline as close points with their normals out of the cloth.
type dense struct {
	p []geometry.Point
	n []geometry.Vec
}

// sampled walks the outline at even steps.
func (s shape) sampled(step float64) dense {
	var d dense
	var carry float64
	for _, g := range s.segs {
		l := g.Length()
		// Parameters by arc length from a fine table.
		const m = 400
		cum := make([]float64, m+1)
		for i := 1; i <= m; i++ {
			cum[i] = cum[i-1] + g.At(float64(i)/m).Dist(g.At(float64(i-1)/m))
		}
		k := 0
		at := carry
		for ; at < l; at += step {
			for k < m-1 && cum[k+1] < at {
				k++
			}
			t := (float64(k) + math.Min(1, (at-cum[k])/math.Max(cum[k+1]-cum[k], 1e-12))) / m
			d.p = append(d.p, g.At(t))
			d.n = append(d.n, g.Deriv(t).Unit().Perp().Scale(-1))
		}
		carry = at - l
	}
	return d
}

// wear says how an edge is spoilt.
type wear struct {
	sigma   float64 // white noise of the samples, mm
	loss    float64 // most of the cloth lost along the edge, mm
	half    bool    // loss half normal rather than even
	uneven  bool    // loss varies over some 30 mm
	threads float64 // per mm
	scallop float64 // amplitude peak to peak, mm, period 13 mm
	nicks   int
}

// spoil returns samples of the worn edge.
func (w wear) spoil(d dense, step float64, rnd *rand.Rand) []fit.Sample {
	n := len(d.p)
	out := make([]fit.Sample, n)
	const corr = 3.0
	a := math.Exp(-step / corr)
	z := rnd.NormFloat64()
	phase := rnd.Float64() * 2 * math.Pi
	off := make([]float64, n)
	slow, b := rnd.NormFloat64(), math.Exp(-step/30)
	for i := range off {
		slow = b*slow + math.Sqrt(1-b*b)*rnd.NormFloat64()
		z = a*z + math.Sqrt(1-a*a)*rnd.NormFloat64()
		loss := w.loss * (0.5 + 0.5*math.Erf(z/math.Sqrt2))
		if w.half {
			loss = w.loss * 0.5 * math.Abs(z)
		}
		if w.uneven {
			loss *= 0.3 + 0.7*(0.5+0.5*math.Erf(slow/math.Sqrt2))
		}
		off[i] = -loss + w.scallop/2*math.Sin(2*math.Pi*float64(i)*step/13+phase)
	}
	for i := 0; i < n; i++ {
		if rnd.Float64() < w.threads*step {
			l := math.Min(15, rnd.ExpFloat64()*4)
			for k := range 1 + rnd.IntN(2) {
				off[(i+k)%n] = l
			}
		}
	}
	for range w.nicks {
		at, half, depth := rnd.IntN(n), 1.5+rnd.Float64()*3, 3+3*rnd.Float64()
		m := int(half / step)
		for k := -m; k <= m; k++ {
			off[(at+k+n)%n] -= depth * (1 - math.Abs(float64(k))/float64(m+1))
		}
	}
	for i := range out {
		e := off[i] + w.sigma*rnd.NormFloat64()
		out[i] = fit.Sample{At: d.p[i].Add(d.n[i].Scale(e)), SigmaMM: w.sigma}
	}
	return out
}

// distances returns how far points are from a closed ring.
func distances(p []geometry.Point, ring geometry.Polyline) []float64 {
	// Segments in cells of a grid keep this fast.
	const cell = 8.0
	type key struct{ x, y int }
	grid := map[key][]int{}
	at := func(q geometry.Point) key { return key{int(math.Floor(q.X / cell)), int(math.Floor(q.Y / cell))} }
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		m := int(a.Dist(b)/(cell/2)) + 1
		last := key{math.MinInt, 0}
		for k := 0; k <= m; k++ {
			c := at(a.Lerp(b, float64(k)/float64(m)))
			if c != last {
				grid[c] = append(grid[c], i)
				last = c
			}
		}
	}
	out := make([]float64, len(p))
	for j, q := range p {
		c := at(q)
		best := math.Inf(1)
		for ring0 := 1; math.IsInf(best, 1) && ring0 < 20; ring0 *= 4 {
			for x := c.x - ring0; x <= c.x+ring0; x++ {
				for y := c.y - ring0; y <= c.y+ring0; y++ {
					for _, i := range grid[key{x, y}] {
						a, b := ring[i], ring[(i+1)%len(ring)]
						v := b.Sub(a)
						t := 0.0
						if l2 := v.Dot(v); l2 > 0 {
							t = math.Max(0, math.Min(1, q.Sub(a).Dot(v)/l2))
						}
						best = math.Min(best, q.Dist(a.Lerp(b, t)))
					}
				}
			}
		}
		out[j] = best
	}
	return out
}

// deviation pools both directions, as percentile 95 and maximum.
func deviation(truth shape, path geometry.Path) (all []float64) {
	t := truth.sampled(1)
	ring := path.Flatten(0.01)
	all = distances(t.p, ring)
	var back []geometry.Point
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		m := int(a.Dist(b)) + 1
		for k := range m {
			back = append(back, a.Lerp(b, float64(k)/float64(m)))
		}
	}
	return append(all, distances(back, truth.sampled(0.25).p)...)
}

// score counts corners found within tol and false ones further than 5 mm from
// any true one.
func score(truth, got []geometry.Point, tol float64) (found, wrong int, worst float64) {
	for _, c := range truth {
		d := math.Inf(1)
		for _, g := range got {
			d = math.Min(d, c.Dist(g))
		}
		if d <= tol {
			found++
		}
		if d < 5 {
			worst = math.Max(worst, d)
		}
	}
	for _, g := range got {
		d := math.Inf(1)
		for _, c := range truth {
			d = math.Min(d, c.Dist(g))
		}
		if d > 5 {
			wrong++
		}
	}
	return
}

// trueCorners returns the joins that turn by 20 degrees and more. ok is false
// when a join is neither that nor smooth.
func trueCorners(segs []geometry.Segment) (out []geometry.Point, ok bool) {
	ok = true
	for i, s := range segs {
		a := segs[(i+len(segs)-1)%len(segs)].Deriv(1)
		b := s.Deriv(0)
		t := math.Abs(math.Atan2(a.Cross(b), a.Dot(b))) * 180 / math.Pi
		switch {
		case t >= 20:
			out = append(out, s.A)
		case t > 3:
			ok = false
		}
		if t > 152 {
			ok = false
		}
	}
	return out, ok
}

// readOutlines reads the shapes of real pieces.
func readOutlines(t testing.TB, dir string) []shape {
	names, err := filepath.Glob(filepath.Join(dir, "*.json"))
	if err != nil || len(names) == 0 {
		t.Fatal("no outlines in", dir, err)
	}
	var out []shape
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		var f struct {
			Name    string
			Path    [][]geometry.Point
			Corners []geometry.Point
			Holes   [][][]geometry.Point
		}
		if err := json.Unmarshal(b, &f); err != nil {
			t.Fatal(name, err)
		}
		out = append(out, shape{f.Name, segments(f.Path), f.Corners})
		for _, h := range f.Holes {
			segs := segments(h)
			c, _ := trueCorners(segs)
			out = append(out, shape{f.Name + " hole", segs, c})
		}
	}
	return out
}

func segments(path [][]geometry.Point) []geometry.Segment {
	var out []geometry.Segment
	for _, s := range path {
		if len(s) == 2 {
			out = append(out, geometry.Segment{A: s[0], B: s[0], C: s[1], D: s[1]})
		} else {
			out = append(out, geometry.Segment{A: s[0], B: s[1], C: s[2], D: s[3], Curved: true})
		}
	}
	return out
}

// randomPiece draws a piece of 3 to 7 corners with straight and curved edges,
// convex and concave corners, and here and there a soft corner of 10 to 40 mm
// radius.
func randomPiece(rnd *rand.Rand) shape {
	for {
		if s, ok := tryPiece(rnd); ok {
			return s
		}
	}
}

func tryPiece(rnd *rand.Rand) (shape, bool) {
	k := 3 + rnd.IntN(5)
	size := 70 * math.Exp(rnd.Float64()*1.6)
	p := make([]geometry.Point, k)
	for i := range p {
		th := 2 * math.Pi * (float64(i) + 0.6*rnd.Float64()) / float64(k)
		r := size * (0.55 + 0.6*rnd.Float64())
		p[i] = geometry.Point{X: r * math.Cos(th), Y: r * 1.3 * math.Sin(th)}
	}
	var segs []geometry.Segment
	for i := range p {
		a, b := p[i], p[(i+1)%k]
		v := b.Sub(a)
		if v.Len() < 45 {
			return shape{}, false
		}
		if rnd.Float64() < 0.5 {
			segs = append(segs, geometry.Segment{A: a, B: a, C: b, D: b})
			continue
		}
		bend := func() geometry.Vec { return v.Perp().Scale((rnd.Float64() - 0.5) * 0.5) }
		segs = append(segs, geometry.Segment{A: a, B: a.Lerp(b, 0.35).Add(bend()), C: a.Lerp(b, 0.65).Add(bend()), D: b, Curved: true})
	}
	if rnd.Float64() < 0.4 {
		segs = soften(segs, rnd.IntN(k), 10+30*rnd.Float64())
	}
	c, ok := trueCorners(segs)
	for i, s := range segs {
		for j := range i {
			if j+1 < i && !(j == 0 && i == len(segs)-1) && near(s, segs[j]) {
				return shape{}, false
			}
		}
	}
	return shape{"random", segs, c}, ok && len(c) > 0
}

func near(a, b geometry.Segment) bool {
	for i := 0; i <= 20; i++ {
		for j := 0; j <= 20; j++ {
			if a.At(float64(i)/20).Dist(b.At(float64(j)/20)) < 15 {
				return true
			}
		}
	}
	return false
}

// soften rounds the corner before segment i, if both neighbours are lines and
// long enough, with about the given radius.
func soften(segs []geometry.Segment, i int, radius float64) []geometry.Segment {
	k := len(segs)
	a, b := segs[(i+k-1)%k], segs[i]
	if a.Curved || b.Curved {
		return segs
	}
	u, v := a.Deriv(1).Unit(), b.Deriv(0).Unit()
	th := math.Abs(math.Atan2(u.Cross(v), u.Dot(v)))
	cut := radius * math.Tan(th/2)
	if th > 2.2 || cut > 0.4*math.Min(a.Length(), b.Length()) {
		return segs
	}
	h := 4.0 / 3 * math.Tan(th/4) * radius
	p, q := b.A.Add(u.Scale(-cut)), b.A.Add(v.Scale(cut))
	arc := geometry.Segment{A: p, B: p.Add(u.Scale(h)), C: q.Add(v.Scale(-h)), D: q, Curved: true}
	out := append([]geometry.Segment{}, segs...)
	out[(i+k-1)%k] = geometry.Segment{A: a.A, B: a.A, C: p, D: p}
	out[i] = geometry.Segment{A: q, B: q, C: b.D, D: b.D}
	return append(out[:i:i], append([]geometry.Segment{arc}, out[i:]...)...)
}

// outlines holds true outlines of pieces.
const outlines = "../../testdata/outlines"
