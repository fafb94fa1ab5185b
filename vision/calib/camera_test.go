package calib

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// Numbers of OpenCV 4.6, cv2.projectPoints (with cv2.Rodrigues of the rotation
// vector pi-0.31, 0.12, -0.2), so that cameras mean the same here as elsewhere.
func TestProjectionAgreesWithOpenCV(t *testing.T) {
	c := &Calibration{
		Camera: vision.Camera{
			F: 3010, Cx: 2011.5, Cy: 1488.25, K1: -0.17, K2: 0.045, P1: 0.0006, P2: -0.0004,
			R: [9]float64{
				0.9868236462326979, 0.10313183228480903, -0.1246712332720793,
				0.061471402400159816, -0.9517272874632774, -0.3007265152671938,
				-0.14966749120286882, 0.2891003207666331, -0.9455266503963117,
			},
			T: [3]float64{12.5, -33, 742},
		},
		Width: 4000, Height: 3000,
	}
	for _, k := range []struct {
		x, y, z, u, v float64
	}{
		{0, 0, 0, 2062.181949, 1354.446550},
		{250, -140, 0, 3090.629662, 1998.343941},
		{-260, 150.5, 0.6, 1194.117142, 800.765219},
		{310, 205, 0.6, 3305.307306, 691.153739},
		{-120.25, -80.5, 1.2, 1544.484000, 1634.407209},
	} {
		c.ThicknessMM = k.z
		px, ok := c.ToImage(geometry.Point{X: k.x, Y: k.y})
		if !ok || math.Hypot(px.X-k.u, px.Y-k.v) > 2e-6 {
			t.Errorf("(%g, %g, %g) falls on %v, want (%g, %g)", k.x, k.y, k.z, px, k.u, k.v)
		}
	}
}

// The solver's own rotation vectors mean the same: the same source.
func TestRotationAgreesWithOpenCV(t *testing.T) {
	got := rotation([3]float64{math.Pi - 0.31, 0.12, -0.2})
	want := [9]float64{
		0.9868236462326979, 0.10313183228480903, -0.1246712332720793,
		0.061471402400159816, -0.9517272874632774, -0.3007265152671938,
		-0.14966749120286882, 0.2891003207666331, -0.9455266503963117,
	}
	for i := range got {
		if math.Abs(got[i]-want[i]) > 1e-12 {
			t.Errorf("element %d is %v, want %v", i, got[i], want[i])
		}
	}
}

// Numbers of OpenCV 4.6, cv2.findHomography (no outliers): four points fix it, of
// eight noisy ones it minimises the distances in the picture and ours those of the
// linear form, which differ by less than the noise.
func TestHomographyAgreesWithOpenCV(t *testing.T) {
	from := []geometry.Point{{X: -32, Y: 32}, {X: 32, Y: 32}, {X: 32, Y: -32}, {X: -32, Y: -32}, {X: -20, Y: 20}, {X: 20, Y: 20}, {X: 20, Y: -20}, {X: -20, Y: -20}}
	to := []vision.Pixel{{X: 1009.9, Y: 836.3}, {X: 1285.8, Y: 869.5}, {X: 1264.2, Y: 1137.1}, {X: 985.6, Y: 1118.0}, {X: 1059.2, Y: 894.8}, {X: 1232.0, Y: 914.0}, {X: 1218.5, Y: 1082.8}, {X: 1044.4, Y: 1069.4}}
	at := []geometry.Point{{X: 0, Y: 0}, {X: 50, Y: -50}, {X: -60, Y: 10}}
	for _, k := range []struct {
		points int
		want   []vision.Pixel
		near   float64
	}{
		{4, []vision.Pixel{{X: 1140.0006, Y: 990.1901}, {X: 1331.6176, Y: 1216.8453}, {X: 870.9864, Y: 919.3874}}, 1e-3},
		{8, []vision.Pixel{{X: 1139.9772, Y: 990.2098}, {X: 1331.7289, Y: 1216.8811}, {X: 870.8186, Y: 919.4138}}, 0.05},
	} {
		h, ok := card.FitHomography(from[:k.points], to[:k.points])
		for i, p := range at {
			if q := h.Apply(p); !ok || math.Hypot(q.X-k.want[i].X, q.Y-k.want[i].Y) > k.near {
				t.Errorf("of %d points: %v falls on %v, want %v", k.points, p, q, k.want[i])
			}
		}
	}
}
