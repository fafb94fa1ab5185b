package pipeline_test

import (
	"math"
	"os"
	"testing"

	"secondcut/api/pipeline"
	"secondcut/vision"
)

// A row of old stitch holes is offered with its distance, on the edge that has it
// and no other, in words as well, and stays when the outline is smoothed.
func TestStitchRowsAreOffered(t *testing.T) {
	data, err := os.ReadFile("../../testdata/sewn/sewn.jpg") // 10 mm inside the lower edge, every 2.6 mm
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	traced, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	smooth, err := s.Refit(t.Context(), 0.5)
	if err != nil {
		t.Fatal(err)
	}
	for name, tr := range map[string]*vision.Trace{"traced": traced, "smoothed": smooth} {
		if len(tr.Pieces) != 1 || len(tr.Pieces[0].StitchRows) != 1 {
			t.Fatalf("%s: %+v", name, tr.Pieces)
		}
		r := tr.Pieces[0].StitchRows[0]
		if math.Abs(r.DistanceMM-10) > 0.3 || math.Abs(r.SpacingMM-2.6) > 0.15 || r.Sure < 0.5 || r.From.Dist(r.To) < 150 {
			t.Errorf("%s: %+v", name, r)
		}
		said := 0
		for _, f := range tr.Findings {
			if f.Code == "stitch-row" {
				said++
			}
		}
		if said != 1 {
			t.Errorf("%s: said %d times", name, said)
		}
	}
}
