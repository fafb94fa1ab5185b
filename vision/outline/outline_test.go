package outline

import (
	"context"
	"math"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/segment"
)

// view4 shows 4 pixels a millimetre on a photo of 480 pixels: 120 mm.
var view4 = above{scale: 4, half: 239.5}

const side4 = 480

// follow traces a drawn scene and returns the samples.
func follow(t *testing.T, photo *vision.Photo, contour geometry.Polyline) []fit.Sample {
	t.Helper()
	out, err := trace(context.Background(), photo, view4, nil, contour, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// errorsOf returns mean and 95th percentile of the samples' distances.
func errorsOf(samples []fit.Sample, dist func(geometry.Point) float64) (bias, p95 float64) {
	var all []float64
	for _, s := range samples {
		d := dist(s.At)
		bias += d / float64(len(samples))
		all = append(all, math.Abs(d))
	}
	slices.Sort(all)
	return bias, all[len(all)*95/100]
}

func weakShare(samples []fit.Sample) float64 {
	n := 0.0
	for _, s := range samples {
		if s.Weak {
			n++
		}
	}
	return n / float64(len(samples))
}

func stripes(p geometry.Point) [3]float64 {
	if math.Mod(p.X+0.4*p.Y+1000, 9) < 4 {
		return [3]float64{170, 190, 210}
	}
	return [3]float64{120, 60, 50}
}

// One pixel is 0.25 mm. The last cases blur in light, or in coded values, while
// the edge is read from something between (see soft): they show what that costs.
func TestDiscIsFoundToAFractionOfAPixel(t *testing.T) {
	cloth, dist := disc(42)
	for _, c := range []struct {
		name      string
		s         scene
		bias, p95 float64 // mm
	}{
		{"dark on light", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft}, 0.005, 0.03},
		{"light on dark", scene{inside: plain(200, 215, 220), ground: plain(40, 60, 80), blurPx: 1, blurIn: soft}, 0.005, 0.03},
		{"noisy", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 8}, 0.01, 0.13},
		{"sharp", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 0.4, blurIn: soft, noise: 2}, 0.008, 0.04},
		{"soft", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 4, blurIn: soft, noise: 2}, 0.1, 0.16},
		{"blurred in linear light", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: 2.2, noise: 2}, 0.12, 0.15},
		{"blurred as coded", scene{inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: 1, noise: 2}, 0.06, 0.1},
		{"striped", scene{inside: stripes, ground: plain(70, 110, 150), blurPx: 1, blurIn: soft, noise: 2}, 0.02, 0.1},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.s.cloth = cloth
			samples := follow(t, c.s.draw(view4, side4, 3), rough(dist, 2.5, 4))
			bias, p95 := errorsOf(samples, dist)
			t.Logf("bias %+.4f, p95 %.4f mm, weak %.2f", bias, p95, weakShare(samples))
			if math.Abs(bias) > c.bias || p95 > c.p95 {
				t.Errorf("bias %+.4f (at most %.3f), p95 %.4f (at most %.3f) mm", bias, c.bias, p95, c.p95)
			}
			if w := weakShare(samples); w > 0.02 {
				t.Errorf("%.0f %% of a clear edge called weak", 100*w)
			}
		})
	}
}

// The stated uncertainty is that of the errors, where noise rules them.
func TestSigmaIsTheErrorsOwn(t *testing.T) {
	cloth, dist := disc(42)
	for _, noise := range []float64{8, 16} {
		s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: noise}
		var true2, said2 float64
		for _, p := range follow(t, s.draw(view4, side4, 36), rough(dist, 2.5, 37)) {
			true2 += dist(p.At) * dist(p.At)
			said2 += p.SigmaMM * p.SigmaMM
		}
		if r := math.Sqrt(said2 / true2); r < 0.7 || r > 1.6 {
			t.Errorf("noise %.0f: stated uncertainty is %.2f of the true error", noise, r)
		}
	}
}

// The ground gets darker towards the cloth on one side, as a shadow does: same
// hue, less light.
func TestShadowBesideTheClothIsNotItsEdge(t *testing.T) {
	cloth, dist := disc(42)
	ground := func(p geometry.Point) [3]float64 {
		light := 1.0
		if d := dist(p); p.Y < 0 {
			light -= 0.45 * math.Exp(-d/1.5) * math.Min(1, -p.Y/20)
		}
		return [3]float64{120 * light, 160 * light, 190 * light}
	}
	for _, c := range []struct {
		name   string
		inside func(geometry.Point) [3]float64
	}{{"blue", plain(130, 70, 50)}, {"green", plain(70, 110, 60)}, {"pale", plain(215, 220, 225)}} {
		t.Run(c.name, func(t *testing.T) {
			s := scene{cloth: cloth, inside: c.inside, ground: ground, blurPx: 1, blurIn: soft, noise: 2}
			samples := follow(t, s.draw(view4, side4, 5), rough(dist, 2, 6))
			bias, p95 := errorsOf(samples, dist)
			t.Logf("bias %+.4f, p95 %.4f mm", bias, p95)
			if math.Abs(bias) > 0.05 || p95 > 0.2 {
				t.Errorf("bias %+.4f (at most 0.05), p95 %.4f (at most 0.2) mm", bias, p95)
			}
		})
	}
}

// A wide shadow with a sharp border of its own, 3 mm outside the cloth.
func TestBorderOfAWideShadowIsNotTheEdge(t *testing.T) {
	cloth, dist := disc(40)
	ground := func(p geometry.Point) [3]float64 {
		if d := dist(p); d < 3 && p.X > 0 {
			return [3]float64{96, 112, 122}
		}
		return [3]float64{140, 165, 180}
	}
	s := scene{cloth: cloth, inside: plain(120, 60, 60), ground: ground, blurPx: 1, blurIn: soft, noise: 2}
	samples := follow(t, s.draw(view4, side4, 7), rough(dist, 2, 8))
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.05 || p95 > 0.2 {
		t.Errorf("bias %+.4f (at most 0.05), p95 %.4f (at most 0.2) mm", bias, p95)
	}
}

// The contour took a shadow 4 mm wide for cloth: what is the ground with less
// light, and is not met deeper in the piece, is given back.
func TestShadowTakenForClothIsGivenBack(t *testing.T) {
	cloth, dist := disc(40)
	ground := func(p geometry.Point) [3]float64 {
		if dist(p) < 4 {
			return [3]float64{90, 108, 122}
		}
		return [3]float64{140, 165, 185}
	}
	_, wide := disc(44)
	s := scene{cloth: cloth, inside: plain(120, 60, 60), ground: ground, blurPx: 1, blurIn: soft, noise: 2}
	samples := follow(t, s.draw(view4, side4, 30), rough(wide, 0.5, 31))
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.05 || p95 > 0.2 {
		t.Errorf("bias %+.4f (at most 0.05), p95 %.4f (at most 0.2) mm", bias, p95)
	}
}

// A stripe that runs along one side of the piece and looks like the ground with less
// light is cloth: it is met deep in the cloth where stripes end at the other sides.
func TestStripeLikeAShadowIsCloth(t *testing.T) {
	cloth, dist := square(42, 0)
	inside := func(p geometry.Point) [3]float64 {
		if math.Mod(p.X+42, 30) < 12 {
			return [3]float64{90, 107, 119}
		}
		return [3]float64{60, 120, 60}
	}
	s := scene{cloth: cloth, inside: inside, ground: plain(140, 165, 185), blurPx: 1, blurIn: soft, noise: 2}
	samples := follow(t, s.draw(view4, side4, 34), rough(dist, 2, 35))
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.05 || p95 > 0.2 {
		t.Errorf("bias %+.4f (at most 0.05), p95 %.4f (at most 0.2) mm", bias, p95)
	}
}

// Through the exported door: a calibration, a contour with doubt on one half.
func TestTraceThroughACalibration(t *testing.T) {
	cloth, dist := disc(40)
	cal := &calib.Calibration{
		Camera: vision.Camera{F: 2000, Cx: view4.half, Cy: view4.half, R: [9]float64{1, 0, 0, 0, -1, 0, 0, 0, -1}, T: [3]float64{0, 0, 500.6}},
		Width:  side4, Height: side4, ThicknessMM: 0.6,
	}
	s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 2}
	contour := segment.Contour{Points: rough(dist, 2, 32)}
	for _, p := range contour.Points {
		doubt := 0.0
		if p.X > 0 {
			doubt = 0.9
		}
		contour.Doubt = append(contour.Doubt, doubt)
	}
	samples, err := Trace(context.Background(), s.draw(view4, side4, 33), cal, contour, Options{SpacingMM: 1})
	if err != nil {
		t.Fatal(err)
	}
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.02 || p95 > 0.1 {
		t.Errorf("bias %+.4f (at most 0.02), p95 %.4f (at most 0.1) mm", bias, p95)
	}
	for _, p := range samples {
		if math.Abs(p.At.X) > 4 && p.Weak != (p.At.X > 0) {
			t.Fatalf("weak is %v at %v", p.Weak, p.At)
		}
	}
	if n := len(samples); n < 230 || n > 270 {
		t.Errorf("%d samples about 1 mm apart on %.0f mm", n, 2*math.Pi*40)
	}
}

func TestThreadIsCrossedNotFollowed(t *testing.T) {
	cloth, dist := disc(40)
	thread := func(p geometry.Point) bool {
		return cloth(p) || math.Abs(p.Y-p.X/3) < 0.4 && p.X > 0 && math.Hypot(p.X, p.Y) < 52
	}
	s := scene{cloth: thread, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 2}
	worst := 0.0
	for _, p := range follow(t, s.draw(view4, side4, 9), rough(dist, 2, 10)) {
		worst = math.Max(worst, dist(p.At))
	}
	if worst > 2 {
		t.Errorf("the path ran %.1f mm out along a thread", worst)
	}
}

func TestLowContrastIsWeak(t *testing.T) {
	cloth, dist := disc(40)
	// On the right half, cloth and ground look the same.
	ground := func(p geometry.Point) [3]float64 {
		if p.X > 0 {
			return [3]float64{120, 70, 50}
		}
		return [3]float64{150, 170, 190}
	}
	s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: ground, blurPx: 1, blurIn: soft, noise: 4}
	var right, left, weakRight, weakLeft float64
	for _, p := range follow(t, s.draw(view4, side4, 11), rough(dist, 1, 12)) {
		switch {
		case p.At.X > 8:
			right++
			if p.Weak {
				weakRight++
			}
		case p.At.X < -8:
			left++
			if p.Weak {
				weakLeft++
			}
		}
	}
	if weakRight < 0.9*right || weakLeft > 0.05*left {
		t.Errorf("weak: %.0f of %.0f samples without an edge, %.0f of %.0f with one", weakRight, right, weakLeft, left)
	}
}

func TestCornerStaysSharp(t *testing.T) {
	cloth, dist := square(35, 0.3)
	s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 2}
	samples := follow(t, s.draw(view4, side4, 13), rough(dist, 1.5, 14))
	sn, c := math.Sincos(0.3)
	for k := range 4 {
		x, y := 35.0, 35.0
		if k&1 != 0 {
			x = -x
		}
		if k&2 != 0 {
			y = -y
		}
		corner := geometry.Point{X: c*x - sn*y, Y: sn*x + c*y}
		near := math.Inf(1)
		for _, p := range samples {
			near = math.Min(near, p.At.Dist(corner))
		}
		// Blur of a pixel alone rounds a right angle by 0.2 mm here.
		if near > 0.5 {
			t.Errorf("corner %d is %.2f mm from the nearest sample", k, near)
		}
	}
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.02 || p95 > 0.15 {
		t.Errorf("bias %+.4f (at most 0.02), p95 %.4f (at most 0.15) mm", bias, p95)
	}
}

// A coarse photo of a large piece: a pixel is 2 mm.
func TestFewPixelsAreEnough(t *testing.T) {
	cloth, dist := disc(170)
	view := above{scale: 0.5, half: 119.5}
	s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 0.8, blurIn: soft, noise: 2}
	samples, err := trace(context.Background(), s.draw(view, 240, 34), view, nil, rough(dist, 3, 35), nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.1 || p95 > 0.3 {
		t.Errorf("bias %+.4f (at most 0.1), p95 %.4f (at most 0.3) mm", bias, p95)
	}
}

func TestRingKeepsItsDirectionAndSpacing(t *testing.T) {
	cloth, dist := disc(40)
	outer := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft}
	hole := outer
	hole.cloth = func(p geometry.Point) bool { return !cloth(p) }
	contour := rough(dist, 2, 15)
	for _, c := range []struct {
		name    string
		s       scene
		contour geometry.Polyline
		sign    float64
	}{{"outline", outer, contour, 1}, {"hole", hole, reversed(contour), -1}} {
		samples := follow(t, c.s.draw(view4, side4, 16), c.contour)
		ring := make(geometry.Polyline, len(samples))
		for i, p := range samples {
			ring[i] = p.At
		}
		if a := c.sign * ring.Area(); math.Abs(a-math.Pi*1600) > 15 {
			t.Errorf("%s: area %.0f mm2, want %.0f", c.name, a, math.Pi*1600)
		}
		for i, p := range ring {
			if d := p.Dist(ring[(i+1)%len(ring)]); d > 1.2 {
				t.Errorf("%s: %.2f mm between neighbours", c.name, d)
			}
		}
	}
}

// A contour that is off by more than the band is put right in steps.
func TestFarContourCreepsToTheEdge(t *testing.T) {
	cloth, dist := disc(40)
	s := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 2}
	_, wide := disc(46)
	samples := follow(t, s.draw(view4, side4, 17), rough(wide, 1, 18))
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.02 || p95 > 0.1 {
		t.Errorf("bias %+.4f, p95 %.4f mm", bias, p95)
	}
}

func TestInkOfACardDoesNotAttract(t *testing.T) {
	cloth, dist := square(30, 0)
	// The card's left rim touches the cloth's right edge at x = 30.
	cards := newInk([]vision.CardReport{{Centre: geometry.Point{X: 70}, TurnDeg: 0}})
	ground := func(p geometry.Point) [3]float64 {
		switch {
		case cards.covers(p):
			return [3]float64{30, 30, 30}
		case math.Abs(p.X-70) < 40 && math.Abs(p.Y) < 40:
			return [3]float64{235, 235, 235}
		}
		return [3]float64{100, 140, 170}
	}
	s := scene{cloth: cloth, inside: plain(50, 40, 40), ground: ground, blurPx: 1, blurIn: soft, noise: 2}
	samples, err := trace(context.Background(), s.draw(view4, side4, 19), view4, cards, rough(dist, 2, 20), nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if bias, p95 := errorsOf(samples, dist); math.Abs(bias) > 0.03 || p95 > 0.2 {
		t.Errorf("bias %+.4f (at most 0.03), p95 %.4f (at most 0.2) mm", bias, p95)
	}
}

// reversed returns a ring in the other direction.
func reversed(ring geometry.Polyline) geometry.Polyline {
	out := slices.Clone(ring)
	slices.Reverse(out)
	return out
}
