//go:build matprofile

package vision_test

import (
	"os"
	"testing"

	"secondcut/api/pipeline"
	"secondcut/vision/internal/cv"
	"secondcut/vision/internal/synth"
)

// No matrix of OpenCV's outlives a call: after fifty traces as many are alive as
// after the first, which may have loaded the network.
func TestTracesLeakNoMatrices(t *testing.T) {
	data, err := synth.JPEG(synth.Random(3, 1600, 1200))
	if err != nil {
		t.Fatal(err)
	}
	trace := func() {
		s, err := pipeline.Open(t.Context(), data, pipeline.Options{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Trace(t.Context(), nil, nil); err != nil {
			t.Fatal(err)
		}
	}
	trace()
	before := cv.LiveMats()
	for range 50 {
		trace()
	}
	if after := cv.LiveMats(); after != before {
		t.Errorf("%d matrices are alive after 50 traces, %d before", after, before)
	}
}

// The count itself must move, or the test above could not fail.
func TestLeakCountMoves(t *testing.T) {
	onnx, err := os.ReadFile("segment/prior/cloth-prior.onnx")
	if err != nil {
		t.Fatal(err)
	}
	before := cv.LiveMats()
	net, err := cv.OpenNet(onnx)
	if err != nil {
		t.Fatal(err)
	}
	open := cv.LiveMats()
	net.Close()
	if open <= before || cv.LiveMats() != before {
		t.Errorf("%d matrices before, %d with a network open, %d after", before, open, cv.LiveMats())
	}
}
