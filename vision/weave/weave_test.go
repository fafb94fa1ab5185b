package weave_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/internal/synth"
	"secondcut/vision/weave"
)

// cloth is a drawn piece that fills the photo, and the way its warp runs.
type cloth struct {
	photo *vision.Photo
	cal   *calib.Calibration
	path  geometry.Path
	warp  float64 // degrees in [0, 180)
}

func rectangle(w, h float64) geometry.Path {
	pen := synth.NewPen(geometry.Point{X: -w / 2, Y: -h / 2})
	pen.Line(geometry.Point{X: w / 2, Y: -h / 2})
	pen.Line(geometry.Point{X: w / 2, Y: h / 2})
	pen.Line(geometry.Point{X: -w / 2, Y: h / 2})
	return pen.Close()
}

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func colour(r *rand.Rand) synth.Colour {
	l := math.Exp(between(r, math.Log(0.05), math.Log(0.6)))
	return synth.Colour{l * between(r, 0.8, 1.2), l, l * between(r, 0.7, 1.2)}
}

// draw photographs a paint, turned at random, through a tilted camera and JPEG,
// at pxPerMM.
func draw(t testing.TB, r *rand.Rand, paint synth.Paint, pxPerMM float64) cloth {
	t.Helper()
	const w, h = 720, 560
	turn := between(r, 0, 180)
	f := between(r, 2500, 3500)
	path := rectangle(2*w/pxPerMM, 2*h/pxPerMM)
	s := synth.Scene{
		Width: w, Height: h, Seed: r.Uint64(), Surface: synth.Plain(synth.Colour{0.2, 0.2, 0.2}),
		BlurPx: between(r, 0.5, 1.2), Noise: between(r, 0.6, 2.5),
		Light: synth.Light{Slope: geometry.Vec{X: between(r, -0.5, 0.5), Y: between(r, -0.5, 0.5)}},
		Camera: synth.LookDown(w, h, f, synth.View{
			Distance: f / pxPerMM, TiltDeg: between(r, 0, 25), TowardDeg: between(r, 0, 360), TurnDeg: between(r, 0, 360),
		}),
		Pieces: []synth.Piece{{Path: path, Cloth: paint.Turned(turn)}},
	}
	photo, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	data, err := vision.EncodeJPEG(photo, 80+r.IntN(15))
	if err != nil {
		t.Fatal(err)
	}
	if photo, err = vision.Decode(t.Context(), data, vision.Limits{}); err != nil {
		t.Fatal(err)
	}
	return cloth{photo, &calib.Calibration{Camera: s.Camera, Width: w, Height: h}, path, math.Mod(90+turn, 180)}
}

func apart(a, b float64) float64 {
	d := math.Mod(math.Abs(a-b), 180)
	return min(d, 180-d)
}

func read(t testing.TB, c cloth) (weave.Reading, bool) {
	t.Helper()
	r, ok, err := weave.Read(t.Context(), c.photo, c.cal, c.path, nil)
	if err != nil {
		t.Fatal(err)
	}
	if ok && (r.Grain.Deg < 0 || r.Grain.Deg >= 180 || r.Grain.Sure < 0 || r.Grain.Sure > 1) {
		t.Errorf("%+v is out of range", r)
	}
	return r, ok
}

// What is called sure is right within 2 degrees, and most cloth is read.
func TestSureIsRight(t *testing.T) {
	second := func(r *rand.Rand) synth.Colour {
		return synth.Colour{between(r, 0.5, 0.8), between(r, 0.5, 1.2), between(r, 0.5, 1.2)}
	}
	plain := func(r *rand.Rand, seed uint64) synth.Paint {
		return synth.Weave(colour(r), between(r, 0.4, 0.9), between(r, 0.3, 0.7), seed)
	}
	kinds := map[string]struct {
		paint     func(r *rand.Rand, seed uint64) synth.Paint
		leastSure float64 // share of the photos
	}{
		"weave": {plain, 0.4},
		"stripes": {func(r *rand.Rand, seed uint64) synth.Paint {
			p := between(r, 8, 30)
			return synth.Stripes(plain(r, seed), second(r), p, p*between(r, 0.25, 0.6))
		}, 0.7},
		"checks": {func(r *rand.Rand, seed uint64) synth.Paint {
			p := between(r, 10, 40)
			return synth.Checks(plain(r, seed), second(r), p, p*between(r, 0.3, 0.5))
		}, 0.6},
		"dots": {func(r *rand.Rand, seed uint64) synth.Paint {
			return synth.Dots(plain(r, seed), second(r), between(r, 9, 30), between(r, 1, 4))
		}, 0},
	}
	photos := 6
	if testing.Short() {
		photos = 3
	}
	for name, k := range kinds {
		sure, wrong := 0, 0
		for i := range photos {
			r := rand.New(rand.NewPCG(uint64(i), 0x9ea1))
			c := draw(t, r, k.paint(r, uint64(i)), between(r, 3, 9))
			got, _ := read(t, c)
			if got.Grain.Sure < 0.6 {
				continue
			}
			sure++
			off := apart(got.Grain.Deg, c.warp)
			if got.Either {
				off = min(off, 90-off)
			}
			if off > 2 {
				wrong++
				t.Logf("%s %d: %+v, the warp runs at %.1f", name, i, got, c.warp)
			}
		}
		t.Logf("%s: sure on %d of %d", name, sure, photos)
		if wrong > 0 {
			t.Errorf("%s: wrong on %d of the %d that are called sure", name, wrong, sure)
		}
		if !testing.Short() && float64(sure) < k.leastSure*float64(photos) {
			t.Errorf("%s: sure on %d of %d only", name, sure, photos)
		}
	}
}

// Surfaces without threads, and the ribs of a twill, never give a sure direction.
func TestNothingToSee(t *testing.T) {
	kinds := map[string]func(r *rand.Rand, seed uint64) synth.Paint{
		"plain": func(r *rand.Rand, _ uint64) synth.Paint { return synth.Plain(colour(r)) },
		"felt":  func(r *rand.Rand, seed uint64) synth.Paint { return synth.Paper(colour(r), seed) },
		"twill": func(r *rand.Rand, seed uint64) synth.Paint {
			return synth.Twill(colour(r), between(r, 1.2, 2.5), seed)
		},
	}
	for name, paint := range kinds {
		for i := range 6 {
			r := rand.New(rand.NewPCG(uint64(i), 0xfe17))
			c := draw(t, r, paint(r, uint64(i)), between(r, 2.5, 9))
			if got, _ := read(t, c); got.Grain.Sure >= 0.6 {
				t.Errorf("%s %d: %+v", name, i, got)
			}
		}
	}
}

// The same cloth on the same plane reads the same when the camera is turned.
func TestCameraTurns(t *testing.T) {
	paint := synth.Weave(synth.Colour{0.3, 0.28, 0.22}, 0.6, 0.6, 5).Turned(33)
	path := rectangle(250, 200)
	for _, turn := range []float64{0, 8, 45, 120, 270} {
		const w, h = 720, 560
		cam := synth.LookDown(w, h, 3000, synth.View{Distance: 600, TiltDeg: 15, TowardDeg: turn * 2, TurnDeg: turn})
		photo, err := synth.Render(synth.Scene{
			Width: w, Height: h, Camera: cam, Surface: synth.Plain(synth.Colour{}), Seed: 3,
			Pieces: []synth.Piece{{Path: path, Cloth: paint}},
		})
		if err != nil {
			t.Fatal(err)
		}
		got, ok := read(t, cloth{photo, &calib.Calibration{Camera: cam, Width: w, Height: h}, path, 123})
		off := apart(got.Grain.Deg, 123)
		if off = min(off, 90-off); !ok || off > 1 {
			t.Errorf("camera turned by %v: %+v %v, want 33 or 123", turn, got, ok)
		}
	}
}

func TestTooSmall(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	c := draw(t, r, synth.Weave(colour(r), 0.6, 0.5, 1), 5)
	c.path = rectangle(25, 25)
	if got, ok := read(t, c); ok {
		t.Errorf("a piece of 25 mm gives %+v", got)
	}
	c.path = nil
	if _, ok := read(t, c); ok {
		t.Error("no piece gives a direction")
	}
}

func TestWrongPhotoAndCancel(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	c := draw(t, r, synth.Weave(colour(r), 0.6, 0.5, 1), 5)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := weave.Grain(ctx, c.photo, c.cal, c.path, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, _, err := weave.Grain(t.Context(), &vision.Photo{Width: 3, Height: 3}, c.cal, c.path, nil); err == nil {
		t.Error("a photo of another size is taken")
	}
}

func BenchmarkRead(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	c := draw(b, r, synth.Weave(colour(r), 0.6, 0.5, 1), 5)
	for b.Loop() {
		read(b, c)
	}
}
