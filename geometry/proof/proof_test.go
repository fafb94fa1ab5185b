package proof_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/proof"
)

func smock(t *testing.T) pattern.Garment {
	t.Helper()
	f, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := pattern.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	for i := range g.Pieces {
		g.Pieces[i].UncertaintyMM = 0.3
	}
	return g
}

// traced returns a path as a photo would show it: turned, moved, scaled, perhaps turned
// over, its knots off by a little.
func traced(p geometry.Path, turn, scale, noise float64, over bool, seed uint64) proof.Again {
	r := rand.New(rand.NewPCG(seed, 7))
	s, c := math.Sincos(turn)
	out := p.Map(func(q geometry.Point) geometry.Point {
		if over {
			q.X = -q.X
		}
		return geometry.Point{X: scale*(c*q.X-s*q.Y) + 321 + noise*r.NormFloat64(), Y: scale*(s*q.X+c*q.Y) - 55 + noise*r.NormFloat64()}
	})
	if over {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
		for i := range out {
			out[i].In, out[i].Out = out[i].Out, out[i].In
		}
	}
	return proof.Again{Outline: out, UncertaintyMM: 0.3}
}

// Each piece of the demo garment comes back as itself, however it lies, and a print scale
// of half a per cent is told as such.
func TestUnchangedAndScaled(t *testing.T) {
	g := smock(t)
	for i, p := range g.Pieces {
		for _, turn := range []float64{0, 2.6} {
			for _, over := range []bool{false, true} {
				r, err := proof.Compare(g, i, []proof.Again{traced(p.Knots, turn, 1, 0.05, over, 1)}, proof.LineOutline, proof.Doubts{})
				if err != nil || r.Verdict != proof.VerdictSame {
					t.Fatalf("%s at %.1f, over %v: %v %s", p.Name, turn, over, err, r.Text)
				}
			}
		}
		r, err := proof.Compare(g, i, []proof.Again{traced(p.Knots, 0.7, 1.005, 0.05, false, 2)}, proof.LineOutline, proof.Doubts{})
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := p.Knots.Flatten(0.1).Bounds()
		// On a small piece half a per cent is less than the two outlines' own doubt, and that is
		// said by its size.
		if large := math.Min(hi.X-lo.X, hi.Y-lo.Y) > 300; large && (r.Verdict != proof.VerdictScale || math.Abs(r.ScalePct-0.5) > 0.03) {
			t.Errorf("%s: %.3f %% within %.3f: %s", p.Name, r.ScalePct, r.ScaleDoubtPct, r.Text)
		}
		if math.Abs(r.ScalePct-0.5) > 0.1 {
			t.Errorf("%s: %.3f %%", p.Name, r.ScalePct)
		}
	}
}

// An edge that is two millimetres out is found, by name, size and sign; the scale is not
// blamed, and edges at some distance are not.
func TestDisplacedEdge(t *testing.T) {
	for _, by := range []float64{2, -2} {
		g := smock(t)
		p := g.Pieces[0]
		k := slices.IndexFunc(p.Edges, func(e pattern.Edge) bool { return e.Name == "side left" })
		if k < 0 {
			t.Fatal("the front has no left side")
		}
		side := math.Copysign(1, p.Knots[p.Edges[k].Knot].At.X-265) // where the left side lies
		moved := p.Knots.Map(func(q geometry.Point) geometry.Point { return q })
		down := func(q *geometry.Point) {
			if q != nil {
				q.X += side * by
			}
		}
		last := p.Edges[(k+1)%len(p.Edges)].Knot
		for j := p.Edges[k].Knot; ; j = (j + 1) % len(moved) {
			down(&moved[j].At)
			down(moved[j].In)
			down(moved[j].Out)
			if j == last {
				break
			}
		}
		r, err := proof.Compare(g, 0, []proof.Again{traced(moved, 2, 1, 0, false, 1)}, proof.LineOutline, proof.Doubts{})
		if err != nil {
			t.Fatal(err)
		}
		if r.Verdict != proof.VerdictDiffers || math.Abs(r.ScalePct) > 0.05 {
			t.Errorf("%+.0f mm: scale %.3f %%, %s", by, r.ScalePct, r.Text)
		}
		for i, e := range r.Edges {
			// Those beside it end in the corners that moved.
			beside := (i+1)%len(r.Edges) == k || (k+1)%len(r.Edges) == i
			if !beside && e.Differs != (i == k) || i == k && math.Abs(e.MedianMM-by) > 0.2 {
				t.Errorf("%+.0f mm: %+v", by, e)
			}
		}
	}
}

// Of several outlines the one that fits is taken; none that fits is said.
func TestWhichOutline(t *testing.T) {
	g := smock(t)
	all := []proof.Again{traced(g.Pieces[1].Knots, 1, 1, 0, false, 1), traced(g.Pieces[0].Knots, 1, 1, 0, false, 1)}
	if r, err := proof.Compare(g, 0, all, proof.LineOutline, proof.Doubts{}); err != nil || r.Which != 1 {
		t.Errorf("%d, %v", r.Which, err)
	}
	if _, err := proof.Compare(g, 3, all, proof.LineOutline, proof.Doubts{}); !errors.Is(err, proof.ErrUnlike) {
		t.Errorf("a pocket against a front: %v", err)
	}
	if _, err := proof.Compare(g, 0, nil, proof.LineOutline, proof.Doubts{}); !errors.Is(err, proof.ErrNoOutline) {
		t.Errorf("nothing: %v", err)
	}
}

// A piece cut anew is compared with the line to cut along.
func TestCutLine(t *testing.T) {
	g := smock(t)
	d, err := pattern.Draft(g, 0, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r, err := proof.Compare(g, 0, []proof.Again{traced(d.CutLine, 1, 1, 0, false, 1)}, proof.LineCut, proof.Doubts{})
	if err != nil || r.Verdict != proof.VerdictSame {
		t.Errorf("%v %s", err, r.Text)
	}
}
