package pattern_test

import (
	"math"
	"testing"

	"secondcut/geometry/pattern"
)

// runOn is a rectangle of 600 x 400 mm whose lower side is two edges that run on into
// each other, with old allowances of 10 and 15 mm there and 10 elsewhere.
func runOn() pattern.Garment {
	g := one(pt(0, 0), pt(300, 0), pt(600, 0), pt(600, 400), pt(0, 400))
	p := &g.Pieces[0]
	p.Knots[1].Corner = false
	for k := range p.Edges {
		p.Edges[k].OldAllowance = length(10)
	}
	p.Edges[1].OldAllowance = length(15)
	return g
}

// Where edges run on into each other the stitch line has no step: the allowance runs
// from one to the other, over ten times the difference (worked out by hand).
func TestOldAllowancesRunOn(t *testing.T) {
	d := drafted(t, runOn())
	if codes(d.Findings) != pattern.CodeOldStep || d.Findings[0].Amount != 5 {
		t.Errorf("findings %+v; want the step of 5 mm", d.Findings)
	}
	// 2.5 mm on either side over 50 mm each, then straight on to the corners.
	slope := math.Hypot(50, 2.5)
	for k, want := range []float64{300 - 10 - 50 + slope, 300 - 10 - 50 + slope} {
		if got := d.Edges[k].LengthMM; math.Abs(got-want) > 0.02 {
			t.Errorf("edge %s is %.3f mm long, want %.3f", d.Edges[k].ID, got, want)
		}
	}
	for _, q := range d.StitchLine {
		if q.At.X > 1 && q.At.X < 599 && q.At.Y < 100 && (q.At.Y < 9.99 || q.At.Y > 15.01) {
			t.Errorf("the stitch line leaves the strip at %v", q.At)
		}
	}
	// The step is gone from the line: it never runs square to the edge.
	for i := range d.StitchLine {
		s := d.StitchLine.Segment(i)
		if v := s.D.Sub(s.A); s.A.Y < 100 && s.D.Y < 100 && math.Abs(v.Y) > math.Abs(v.X) {
			t.Errorf("a step from %v to %v", s.A, s.D)
		}
	}
}

// What is kept is cut as it was traced, beside a new finish too.
func TestKeptEdgesAreCutAsTraced(t *testing.T) {
	g := withEdge(runOn(), 3, length(10), seam(30))
	d := drafted(t, g)
	for _, q := range d.CutLine.Flatten(0.1) {
		if q.Y < 200 && q.X > 1 && q.X < 599 && math.Abs(q.Y) > 0.02 {
			t.Fatalf("the cut line lies at %v, %.3f mm off the traced edge", q, q.Y)
		}
	}
	if _, h := size(d.CutLine); math.Abs(h-420) > 0.02 {
		t.Errorf("the piece is cut %.3f mm high, want 400 - 10 + 30", h)
	}
}

// A corner keeps its step, an unknown allowance is not made to meet a known one, and
// a difference of a hair is not reported.
func TestWhereNothingRunsOn(t *testing.T) {
	corner := runOn()
	corner.Pieces[0].Knots[1].At.Y = -80 // a corner of 30 degrees
	unknown := withEdge(runOn(), 1, nil, nil)
	hair := withEdge(runOn(), 1, length(10.5), nil)
	for name, g := range map[string]pattern.Garment{"corner": corner, "unknown": unknown, "hair": hair} {
		d := drafted(t, g)
		for _, f := range d.Findings {
			if f.Code == pattern.CodeOldStep {
				t.Errorf("%s: %s", name, f.Message)
			}
		}
	}
	lo, hi := drafted(t, hair).StitchLine.Flatten(0.01).Bounds()
	if lo.Y < 9.99 || hi.Y > 390.01 || math.Abs(lo.X-10) > 0.01 {
		t.Errorf("stitch line from %v to %v", lo, hi)
	}
}
