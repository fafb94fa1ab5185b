package pipeline_test

import (
	"math"
	"os"
	"testing"

	"secondcut/api/pipeline"
	"secondcut/geometry"
)

// The raw edge and the doubt of each stretch are kept with the trace: the raw edge lies
// about the clean one by no more than fray, and no stretch is surer than the whole.
func TestRawEdgeIsKept(t *testing.T) {
	data, err := os.ReadFile("../../testdata/demo/pocket.jpg")
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	tr, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range tr.Pieces {
		if len(p.Seen) != 1+len(p.Holes) {
			t.Fatalf("%d raw edges for %d holes", len(p.Seen), len(p.Holes))
		}
		raw := p.Seen[0]
		if d := math.Abs(raw.Points.Area() - p.Outline.Area()); d > p.Outline.Length()*math.Max(p.FrayMM, 0.3) {
			t.Errorf("raw and clean edge differ by %.0f mm²", d)
		}
		if far := farthest(raw.Points, p.Outline); far > 8 {
			t.Errorf("the raw edge leaves the clean one by %.1f mm", far)
		}
		if n, most := len(raw.Points), int(p.Outline.Length()/0.5); n < 20 || n > most {
			t.Errorf("%d points along %.0f mm", n, p.Outline.Length())
		}
		worst, next := 0.0, raw.Doubts[0].From
		for _, d := range raw.Doubts {
			if d.From != next || d.To < 0 || d.To >= len(p.Knots) || !(d.UncertaintyMM > 0) {
				t.Errorf("stretch %+v does not follow knot %d", d, next)
			}
			next, worst = d.To, math.Max(worst, d.UncertaintyMM)
		}
		if next != raw.Doubts[0].From {
			t.Errorf("the stretches end at knot %d and begin at %d", next, raw.Doubts[0].From)
		}
		if worst < p.UncertaintyMM/2 || worst > 4*p.UncertaintyMM {
			t.Errorf("the least sure stretch is known to %.2f mm, the piece to %.2f", worst, p.UncertaintyMM)
		}
	}
}

// farthest returns the greatest distance of the points of a ring from another.
func farthest(from, to geometry.Polyline) float64 {
	var most float64
	for _, q := range from {
		least := math.Inf(1)
		for i, a := range to {
			d := to[(i+1)%len(to)].Sub(a)
			t := math.Max(0, math.Min(1, q.Sub(a).Dot(d)/math.Max(d.Dot(d), 1e-12)))
			least = math.Min(least, q.Dist(a.Add(d.Scale(t))))
		}
		most = math.Max(most, least)
	}
	return most
}
