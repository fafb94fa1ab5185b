package outline

import (
	"context"
	"math"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
)

// view3 shows 3 pixels a millimetre on a photo of 600 pixels: 200 mm, room for a
// round piece in the middle and a tag beside it.
var view3 = above{scale: 3, half: 299.5}

const side3 = 600

// besideTag puts white paper with a black square, as large as a card's tag, on the
// ground at the right.
func besideTag(ground func(geometry.Point) [3]float64) (func(geometry.Point) [3]float64, ink) {
	at := geometry.Point{X: 70, Y: 4}
	cards := newInk([]vision.CardReport{{Used: true, Centre: at, TurnDeg: 7}})
	sin, cos := math.Sincos(7 * math.Pi / 180)
	return func(p geometry.Point) [3]float64 {
		d := p.Sub(at)
		switch r := math.Max(math.Abs(cos*d.X+sin*d.Y), math.Abs(cos*d.Y-sin*d.X)); {
		case r < 20:
			return [3]float64{35, 35, 35}
		case r < 26:
			return [3]float64{225, 228, 230}
		}
		return ground(p)
	}, cards
}

// lit dims a colour by the share of light that is lost.
func lit(c [3]float64, lost float64) [3]float64 {
	f := math.Pow(1-lost, 1/2.2)
	return [3]float64{c[0] * f, c[1] * f, c[2] * f}
}

// laws are shares of light that the ground loses d mm beside the cloth.
var laws = []struct {
	name string
	lost func(d float64) float64
}{
	{"no shadow", func(float64) float64 { return 0 }},
	{"fading fast", func(d float64) float64 { return 0.3 * math.Exp(-d/0.7) }},
	{"fading slowly", func(d float64) float64 { return 0.35 * math.Exp(-d/2.5) }},
	// The sky above the foot of a wall 0.6 mm high.
	{"wall", func(d float64) float64 { return 0.5 * (1 - d/math.Hypot(d, 0.6)) }},
	{"lamp", func(d float64) float64 { return 0.4 * math.Min(1, math.Max(0, 2-d/1.2)) }},
}

// However the ground's light fades toward the cloth, and whether the cloth is the
// darker or the lighter, the edge is found where the cloth ends, and what is
// shared by all samples is stated.
func TestEdgeStandsWhateverTheShadow(t *testing.T) {
	pale, dark, red := [3]float64{190, 200, 205}, [3]float64{60, 52, 50}, [3]float64{70, 80, 170}
	for _, law := range laws {
		for _, c := range []struct {
			name          string
			cloth, ground [3]float64
			blurPx, power float64
			limit         float64 // mm; a pixel is 0.33 mm
		}{
			{"dark on pale, sharp", dark, pale, 0.7, 2.2, 0.11},
			{"pale on dark, soft", pale, dark, 1.3, 2.2, 0.11},
			{"red on pale, coded", red, pale, 1, 1, 0.11},
			{"close, soft", [3]float64{120, 135, 140}, pale, 1.3, 2.2, 0.11},
		} {
			t.Run(law.name+", "+c.name, func(t *testing.T) {
				t.Parallel()
				cloth, dist := disc(34)
				floor, cards := besideTag(func(p geometry.Point) [3]float64 { return lit(c.ground, law.lost(math.Max(0, dist(p)))) })
				s := scene{cloth: cloth, inside: plain(c.cloth[0], c.cloth[1], c.cloth[2]), ground: floor, blurPx: c.blurPx, blurIn: c.power, noise: 2}
				samples, err := trace(context.Background(), s.draw(view3, side3, 41), view3, cards, rough(dist, 2, 42), nil, Options{})
				if err != nil {
					t.Fatal(err)
				}
				bias, p95 := errorsOf(samples, dist)
				said := middleBias(samples)
				t.Logf("%s: bias %+.4f, p95 %.4f, stated %.4f mm", t.Name(), bias, p95, said)
				if math.Abs(bias) > c.limit {
					t.Errorf("bias %+.4f mm, at most %.2f", bias, c.limit)
				}
				if math.Abs(bias) > 2.5*said {
					t.Errorf("bias %+.4f mm, stated with a standard deviation of %.4f", bias, said)
				}
			})
		}
	}
}

func middleBias(samples []fit.Sample) float64 {
	var all []float64
	for _, s := range samples {
		all = append(all, s.BiasMM)
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// The borders of a card's tag tell in which values the photo was blurred, and by
// how much.
func TestLensIsReadOffTheCards(t *testing.T) {
	for _, c := range []lens{{0.7, 1}, {1, 2.2}, {1.5, 2.2}, {1.3, 1.5}} {
		floor, cards := besideTag(plain(120, 130, 140))
		s := scene{cloth: func(geometry.Point) bool { return false }, ground: floor, blurPx: c.blurPx, blurIn: c.power, noise: 2}
		tr := tracer{photo: s.draw(view3, side3, 43), view: view3, cards: cards}
		got, ok := tr.measureLens()
		want := math.Hypot(c.blurPx, math.Sqrt(1.0/12)) // a pixel is a blur itself
		t.Logf("%v: %.2f", c, got)
		if !ok || math.Abs(got.blurPx-want) > 0.08*want {
			t.Errorf("%v: blur %.2f px, want about %.2f", c, got.blurPx, want)
		}
		if math.Abs(got.power-c.power) > 0.25 {
			t.Errorf("%v: power %.2f", c, got.power)
		}
	}
}
