package pipeline_test

import (
	"os"
	"reflect"
	"testing"
	"time"

	"secondcut/api/pipeline"
	"secondcut/vision"
	"secondcut/vision/segment"
)

// bite returns a stroke that takes a bite out of the piece's edge.
func bite(p vision.TracedPiece) segment.Stroke {
	st := segment.Stroke{Kind: segment.StrokeNotCloth, WidthMM: 40}
	a, b := p.Outline[0], p.Outline[len(p.Outline)/2]
	for k := range 3 {
		st.Points = append(st.Points, a.Lerp(b, 0.06*float64(k)))
	}
	return st
}

func opened(t testing.TB, photo string) *pipeline.Session {
	t.Helper()
	data, err := os.ReadFile(photo)
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A stroke on one of two pieces changes that one alone, to what a first look with
// the stroke gives.
func TestStrokeChangesItsPieceAlone(t *testing.T) {
	if testing.Short() {
		t.Skip("traces whole photos")
	}
	const photo = "../../testdata/photos/d6_two_pieces.jpg"
	s := opened(t, photo)
	first, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	strokes := []segment.Stroke{bite(first.Pieces[1])}
	second, err := s.Trace(t.Context(), strokes, nil)
	if err != nil {
		t.Fatal(err)
	}
	fresh, err := opened(t, photo).Trace(t.Context(), strokes, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(first.Pieces) != 2 || len(second.Pieces) != 2 || len(fresh.Pieces) != 2 {
		t.Fatalf("%d pieces, %d and %d after the stroke", len(first.Pieces), len(second.Pieces), len(fresh.Pieces))
	}
	if !reflect.DeepEqual(second.Pieces[0], first.Pieces[0]) {
		t.Error("the piece without a stroke changed")
	}
	if d := farthest(second.Pieces[1].Outline, first.Pieces[1].Outline); d < 2 {
		t.Errorf("the stroke moved the edge by %.2f mm only", d)
	}
	for i, p := range second.Pieces {
		if d := farthest(p.Outline, fresh.Pieces[i].Outline); d > 0.3 {
			t.Errorf("piece %d lies up to %.2f mm beside what a first look gives", i+1, d)
		}
	}
	back, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range back.Pieces {
		if d := farthest(p.Outline, first.Pieces[i].Outline); d > 0.05 {
			t.Errorf("without the stroke, piece %d lies up to %.2f mm beside the first outline", i+1, d)
		}
	}
}

// BenchmarkStroke measures the answer to a stroke in processor time, also as a
// share of the first trace of the same photo, and by the clock.
func BenchmarkStroke(b *testing.B) {
	for _, photo := range []string{"d1_plain_on_paper", "d6_two_pieces"} {
		b.Run(photo, func(b *testing.B) {
			file := "../../testdata/photos/" + photo + ".jpg"
			var one, two, clock time.Duration
			for b.Loop() {
				start := cpu()
				s := opened(b, file)
				first, err := s.Trace(b.Context(), nil, nil)
				if err != nil {
					b.Fatal(err)
				}
				one += cpu() - start
				start, then := cpu(), time.Now()
				if _, err := s.Trace(b.Context(), []segment.Stroke{bite(first.Pieces[0])}, nil); err != nil {
					b.Fatal(err)
				}
				two, clock = two+cpu()-start, clock+time.Since(then)
			}
			n := float64(b.N)
			b.ReportMetric(two.Seconds()*1000/n, "cpu-ms/stroke")
			b.ReportMetric(clock.Seconds()*1000/n, "clock-ms/stroke")
			b.ReportMetric(float64(two)/float64(one), "of-first")
		})
	}
}
