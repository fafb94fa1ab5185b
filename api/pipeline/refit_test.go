package pipeline_test

import (
	"errors"
	"os"
	"reflect"
	"testing"

	"secondcut/api/pipeline"
)

// The slider works on what was traced: at 0 it gives the trace again, further up
// fewer knots, and the photo is not needed.
func TestRefit(t *testing.T) {
	if testing.Short() {
		t.Skip("traces a whole photo")
	}
	data, err := os.ReadFile("../../testdata/photos/d6_two_pieces.jpg")
	if err != nil {
		t.Fatal(err)
	}
	s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Refit(t.Context(), 0); !errors.Is(err, pipeline.ErrNotTraced) {
		t.Errorf("before a trace: %v", err)
	}
	first, err := s.Trace(t.Context(), nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	knots := map[float64]int{}
	for _, smooth := range []float64{-1, 0, 1} {
		start := cpu()
		again, err := s.Refit(t.Context(), smooth)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("smooth %+.0f: %v", smooth, cpu()-start)
		for _, p := range again.Pieces {
			knots[smooth] += len(p.Knots)
		}
		if smooth == 0 && !reflect.DeepEqual(first, again) {
			t.Error("at 0 the second fit differs from the first")
		}
		if len(again.Pieces) != len(first.Pieces) || again.Calibration.RMSPx != first.Calibration.RMSPx {
			t.Errorf("smooth %v lost a part of the trace", smooth)
		}
	}
	if knots[-1] < knots[0] || knots[0] < knots[1] || knots[-1] == knots[1] {
		t.Errorf("knots %v for -1, 0, 1", knots)
	}
}
