package card_test

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision/card"
	"secondcut/vision/internal/synth"
)

// Close up and off the middle of a lens with strong barrel distortion, the corner
// crosses lie a millimetre from where the tag alone puts them: all are found.
func TestSaddlesThroughAStrongLens(t *testing.T) {
	cam := synth.LookDown(2400, 1800, 1330, synth.View{Distance: 150, TiltDeg: 10, TowardDeg: 70})
	cam.K1, cam.K2 = -0.26, 0.078
	k := synth.Card{ID: 42, Centre: geometry.Point{X: 62, Y: -38}, TurnDeg: 31}
	p, err := synth.Render(synth.Scene{
		Width: 2400, Height: 1800, Camera: cam, Cards: []synth.Card{k}, Seed: 1,
		Surface: synth.Plain(synth.Colour{0.2, 0.2, 0.2}),
	})
	if err != nil {
		t.Fatal(err)
	}
	got, err := card.Detect(t.Context(), p)
	if err != nil || len(got) != 1 {
		t.Fatalf("%d cards, %v", len(got), err)
	}
	frame := geometry.Rigid{Turn: k.TurnDeg * math.Pi / 180, Move: k.Centre}
	for i, o := range got[0].Saddles {
		want, _ := cam.Project(frame.Apply(card.SaddlePoint(i)), 0)
		if off := math.Hypot(o.At.X-want.X, o.At.Y-want.Y); o.SigmaPx == 0 || off > 0.1 {
			t.Errorf("saddle %d: %+v, want %v", i, o, want)
		}
	}
}
