package outline

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

// hiddenSky is which part of a clouded sky an upright wall of height t hides from a
// point of the ground at distance d: (1-cos(atan(t/d)))/2, from the view factor of a
// strip to a wall (a configuration factor of any handbook of heat transfer).
func hiddenSky(d, t float64) float64 { return (1 - d/math.Hypot(d, t)) / 2 }

// The course that is assumed is that of the hidden sky, within a twelfth of it at
// the foot.
func TestShadeFallsAsTheSkyIsHidden(t *testing.T) {
	for d := 0.0; d < 4; d += 0.01 {
		want, got := hiddenSky(d, shadeMM)/hiddenSky(0, shadeMM), math.Exp(-d/shadeMM)
		if math.Abs(want-got) > 1.0/12 {
			t.Fatalf("%.2f mm off the edge: %.3f, want %.3f", d, got, want)
		}
	}
}

// The blurred course against a plain sum over a Gaussian, and the mean of a strip
// against that of many points.
func TestShadeIsBlurredAndAveraged(t *testing.T) {
	for _, blur := range []float64{0.1, 0.3, 0.8} {
		table := newShade(blur)
		for u := -2.5; u <= 2.5; u += 0.25 {
			want, weight := 0.0, 0.0
			for v := -6.0; v <= 6; v += 0.001 {
				w := math.Exp(-v * v / 2)
				if d := (u - v) * blur; d > 0 {
					want += w * math.Exp(-d/shadeMM)
				}
				weight += w
			}
			if got, _ := table.at(u); math.Abs(got-want/weight) > 1e-3 {
				t.Errorf("blur %.1f, %+.2f: %.4f, want %.4f", blur, u, got, want/weight)
			}
		}
	}
	want := 0.0
	for i := range 1000 {
		want += math.Exp(-(0.6+1.2*(float64(i)+0.5)/1000)/shadeMM) / 1000
	}
	if got := meanShade(0.6, 1.8); math.Abs(got-want) > 1e-5 {
		t.Errorf("mean of a strip: %.5f, want %.5f", got, want)
	}
}

// shaded returns a ground that is darker by part at the foot of the edge; what
// blurs is values raised to soft, and so is what darkens.
func shaded(dist func(geometry.Point) float64, part float64, b, g, r float64) func(geometry.Point) [3]float64 {
	return func(p geometry.Point) [3]float64 {
		light := math.Pow(1-2*part*hiddenSky(math.Max(dist(p), 0), shadeMM), 1/soft)
		return [3]float64{b * light, g * light, r * light}
	}
}

// Cloth and ground of the same hue: only the light tells them apart, and the shade
// beside the edge is a change of light as well. Unseen, it moves the edge of dark
// cloth out and that of light cloth in.
func TestShadeBesideTheClothDoesNotMoveItsEdge(t *testing.T) {
	cloth, dist := disc(42)
	for _, c := range []struct {
		name           string
		inside, ground float64
		part, bias     float64
	}{
		{"dark on light", 60, 170, 0.2, 0.03},
		{"dark on light, no shade", 60, 170, 0, 0.02},
		{"middling on light", 130, 190, 0.15, 0.05},
		{"light on dark", 220, 70, 0.2, 0.02},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := scene{
				cloth: cloth, inside: plain(c.inside, c.inside, c.inside),
				ground: shaded(dist, c.part, c.ground, c.ground, c.ground), blurPx: 1, blurIn: soft, noise: 3,
			}
			bias, p95 := errorsOf(follow(t, s.draw(view4, side4, 3), rough(dist, 2, 4)), dist)
			t.Logf("bias %+.4f, p95 %.4f mm", bias, p95)
			if math.Abs(bias) > c.bias {
				t.Errorf("bias %+.4f, at most %.3f mm", bias, c.bias)
			}
		})
	}
}

// JPEG stores hue for every second pixel and more coarsely than light. Where hue is
// all there is, it must do; where a little of it goes with much light, more is made
// of it than it is worth, and the limit says what that costs.
func TestEdgeThroughJPEG(t *testing.T) {
	cloth, dist := disc(42)
	for _, c := range []struct {
		name           string
		inside, ground [3]float64
		bias, p95      float64
	}{
		{"light alone", [3]float64{80, 80, 80}, [3]float64{150, 150, 150}, 0.02, 0.12},
		{"light and a little hue", [3]float64{82, 80, 78}, [3]float64{144, 150, 156}, 0.1, 0.42},
		// The same luma of ITU-R BT.601: 0.114 B + 0.587 G + 0.299 R = 126.
		{"hue alone", [3]float64{170, 128, 105}, [3]float64{80, 124, 147.5}, 0.06, 0.35},
	} {
		t.Run(c.name, func(t *testing.T) {
			flat := func(v [3]float64) func(geometry.Point) [3]float64 { return plain(v[0], v[1], v[2]) }
			s := scene{cloth: cloth, inside: flat(c.inside), ground: flat(c.ground), blurPx: 1, blurIn: soft, noise: 2}
			data, err := vision.EncodeJPEG(s.draw(view4, side4, 5), 80) // 4:2:0
			if err != nil {
				t.Fatal(err)
			}
			photo, err := vision.Decode(t.Context(), data, vision.Limits{})
			if err != nil {
				t.Fatal(err)
			}
			bias, p95 := errorsOf(follow(t, photo, rough(dist, 2, 6)), dist)
			t.Logf("bias %+.4f, p95 %.4f mm", bias, p95)
			if math.Abs(bias) > c.bias || p95 > c.p95 {
				t.Errorf("bias %+.4f (at most %.3f), p95 %.4f (at most %.3f) mm", bias, c.bias, p95, c.p95)
			}
		})
	}
}
