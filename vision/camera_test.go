package vision_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

// A tilted camera 900 mm above the plane with barrel distortion.
func tilted() *vision.Camera {
	s, c := math.Sincos(0.4)
	return &vision.Camera{
		F: 3100, Cx: 2010, Cy: 1490, K1: -0.12, K2: 0.02, P1: 0.0005, P2: -0.0003,
		R: [9]float64{1, 0, 0, 0, -c, s, 0, -s, -c}, T: [3]float64{5, -20, 900},
	}
}

func TestPlaneUndoesProject(t *testing.T) {
	cam, rng := tilted(), rand.New(rand.NewPCG(1, 2))
	for range 1000 {
		p := geometry.Point{X: rng.Float64()*800 - 400, Y: rng.Float64()*600 - 300}
		z := rng.Float64() * 3
		px, ok := cam.Project(p, z)
		if !ok {
			t.Fatalf("%v is behind the camera", p)
		}
		q, ok := cam.Plane(px, z)
		if !ok || q.Dist(p) > 1e-6 {
			t.Fatalf("%v at height %.2f came back as %v", p, z, q)
		}
	}
}

func TestCentreProjectsNowhere(t *testing.T) {
	cam := tilted()
	o := cam.Centre()
	if o[2] < 800 {
		t.Errorf("camera height %.1f mm, want above the plane", o[2])
	}
	if _, ok := cam.Project(geometry.Point{X: o[0], Y: o[1]}, o[2]); ok {
		t.Error("the camera sees its own centre")
	}
}
