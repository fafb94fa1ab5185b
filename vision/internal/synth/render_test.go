package synth_test

import (
	"bytes"
	"image/jpeg"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
	"secondcut/vision/internal/cv"
	"secondcut/vision/internal/synth"
)

// disc returns a circle as four cubics; the radius errs by less than 0.03 %.
func disc(r float64) geometry.Path {
	const k = 0.5519150244935106 // best handle length for a quarter circle, from memory
	var p geometry.Path
	for i := range 4 {
		s, c := math.Sincos(float64(i) * math.Pi / 2)
		in := geometry.Point{X: r * (c + k*s), Y: r * (s - k*c)}
		out := geometry.Point{X: r * (c - k*s), Y: r * (s + k*c)}
		p = append(p, geometry.Knot{At: geometry.Point{X: r * c, Y: r * s}, In: &in, Out: &out})
	}
	return p
}

// bare is a small scene without blur, noise or light effects.
func bare() synth.Scene {
	cam := synth.LookDown(600, 400, 900, synth.View{Distance: 300, TiltDeg: 12, TowardDeg: 30, TurnDeg: 7})
	cam.K1, cam.P1 = -0.08, 0.0004
	return synth.Scene{
		Width: 600, Height: 400, Camera: cam, Surface: synth.Plain(synth.Colour{0.2, 0.2, 0.2}),
		BlurPx: -1, Noise: -1,
	}
}

func mustRender(t testing.TB, s synth.Scene) *vision.Photo {
	t.Helper()
	p, err := synth.Render(s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// linear undoes the sRGB coding of a byte.
func linear(b byte) float64 {
	v := float64(b) / 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// The light of a disc seen square on adds up to its area.
func TestDiscArea(t *testing.T) {
	s := bare()
	s.Camera = synth.LookDown(600, 400, 900, synth.View{Target: geometry.Point{X: 0.13, Y: -0.07}, Distance: 300})
	s.Surface = synth.Plain(synth.Colour{})
	// A tone that a byte holds exactly.
	tone := synth.SRGB(243, 243, 243)
	s.Pieces = []synth.Piece{{Path: disc(40), Cloth: synth.Plain(tone)}}
	s.ThicknessMM = 3
	photo := mustRender(t, s)
	sum, rim := 0.0, 0.0
	for i := 0; i < len(photo.BGR); i += 3 {
		v := linear(photo.BGR[i]) / tone[0]
		sum += v
		if v < 0.97 {
			rim++
		}
	}
	// 3 mm nearer to the camera the disc looks larger; the cut edge is drawn
	// darker by 22 % falling off over 0.35 mm.
	scale := 900.0 / (300 - 3)
	area := math.Pi * 40 * 40
	dark := 0.22 * 0.35 * 2 * math.Pi * 40
	if got, want := sum/(scale*scale), area-dark; math.Abs(got/want-1) > 0.002 {
		t.Errorf("the disc has %.1f mm2 of light, want %.1f", got, want)
	}
}

// Each saddle point stands where the camera says: the two lines at which the
// checker's contrast changes sign cross there.
func TestSaddlesStandWhereTheCameraSays(t *testing.T) {
	s := bare()
	s.Cards = []synth.Card{{ID: 11, Centre: geometry.Point{X: 6, Y: -4}, TurnDeg: 23}}
	s.BlurPx = 0.8
	photo := mustRender(t, s)
	gray, err := cv.Gray(photo.BGR, photo.Width, photo.Height)
	if err != nil {
		t.Fatal(err)
	}
	frame := geometry.Rigid{Turn: 23 * math.Pi / 180, Move: s.Cards[0].Centre}
	for i := range 4 {
		want, _ := s.Camera.Project(frame.Apply(card.SaddlePoint(i)), 0)
		got := symmetryCentre(gray, photo.Width, want)
		if d := math.Hypot(got.X-want.X, got.Y-want.Y); d > 0.03 {
			t.Errorf("saddle %d stands %.3f px from its place", i, d)
		}
	}
}

// symmetryCentre finds the point near at about which the picture is most nearly
// its own half turn, as a checker is, by descent on a grid of offsets.
func symmetryCentre(gray []byte, width int, at vision.Pixel) vision.Pixel {
	value := func(x, y float64) float64 {
		i, j := int(math.Floor(x)), int(math.Floor(y))
		u, v := x-float64(i), y-float64(j)
		g := func(i, j int) float64 { return float64(gray[j*width+i]) }
		return (g(i, j)*(1-u)+g(i+1, j)*u)*(1-v) + (g(i, j+1)*(1-u)+g(i+1, j+1)*u)*v
	}
	cost := func(c vision.Pixel) float64 {
		sum := 0.0
		for y := -6.0; y <= 6; y++ {
			for x := -6.0; x <= 6; x++ {
				d := value(c.X+x, c.Y+y) - value(c.X-x, c.Y-y)
				sum += d * d
			}
		}
		return sum
	}
	// Bilinear reading favours whole pixels, so the minimum is taken of a
	// parabola through symmetric offsets of half a pixel.
	for range 20 {
		const h = 0.5
		m := cost(at)
		l, r := cost(vision.Pixel{X: at.X - h, Y: at.Y}), cost(vision.Pixel{X: at.X + h, Y: at.Y})
		u, d := cost(vision.Pixel{X: at.X, Y: at.Y - h}), cost(vision.Pixel{X: at.X, Y: at.Y + h})
		at.X += 0.5 * h * (l - r) / (l - 2*m + r)
		at.Y += 0.5 * h * (u - d) / (u - 2*m + d)
	}
	return at
}

func TestDrawnTagsAreFound(t *testing.T) {
	s := bare()
	s.Camera = synth.LookDown(1000, 700, 1000, synth.View{Distance: 420, TiltDeg: 15})
	s.Width, s.Height = 1000, 700
	for i, id := range []int{0, 37, 581} {
		s.Cards = append(s.Cards, synth.Card{ID: id, Centre: geometry.Point{X: float64(i-1) * 110}, TurnDeg: float64(i) * 80})
	}
	photo := mustRender(t, s)
	gray, err := cv.Gray(photo.BGR, photo.Width, photo.Height)
	if err != nil {
		t.Fatal(err)
	}
	tags, err := cv.DetectTags(gray, photo.Width, photo.Height)
	if err != nil {
		t.Fatal(err)
	}
	found := map[int]bool{}
	for _, tag := range tags {
		found[tag.ID] = true
	}
	for _, c := range s.Cards {
		if !found[c.ID] {
			t.Errorf("card %d is not found among %v", c.ID, found)
		}
	}
}

// A frayed edge loses cloth inward only, so the area shrinks by less than the
// deepest loss all round; waves add as much as they take; and the same scene
// gives the same bytes.
func TestEdgeDamage(t *testing.T) {
	s := bare()
	s.Surface = synth.Plain(synth.Colour{})
	white := synth.Plain(synth.Colour{1, 1, 1})
	s.Pieces = []synth.Piece{{Path: disc(40), Cloth: white}}
	whole := brightness(mustRender(t, s))
	s.Pieces[0].Edge = synth.Edge{LossMM: 1.5, Seed: 3}
	eaten := brightness(mustRender(t, s))
	ring := whole * (1 - math.Pow((40-1.5)/40, 2))
	if lost := whole - eaten; lost < 0.1*ring || lost > 0.9*ring {
		t.Errorf("fray took %.0f of at most %.0f", lost, ring)
	}
	s.Pieces[0].Edge = synth.Edge{ScallopMM: 2, ScallopPeriod: 12, Seed: 3}
	if waves := brightness(mustRender(t, s)); math.Abs(waves-whole) > 0.01*whole {
		t.Errorf("waves changed the area from %.0f to %.0f", whole, waves)
	}
	s.Pieces[0].Edge = synth.Edge{Threads: 0.5, ThreadMM: 12, Seed: 3}
	if threads := brightness(mustRender(t, s)); threads <= whole {
		t.Error("threads added no light outside the edge")
	}
	s.Pieces[0].Edge = synth.Edge{Nicks: []synth.Nick{{Along: 0.3, DepthMM: 5, WidthMM: 4}}}
	nicked := brightness(mustRender(t, s))
	pxPerMM := whole / (math.Pi * 40 * 40)
	if got := (whole - nicked) / pxPerMM; math.Abs(got-10) > 1.5 {
		t.Errorf("a nick of 5 x 4 mm took %.1f mm2, want about 10", got)
	}
	a, b := mustRender(t, s), mustRender(t, s)
	if !bytes.Equal(a.BGR, b.BGR) {
		t.Error("the same scene gave two photos")
	}
}

func brightness(p *vision.Photo) (sum float64) {
	for i := 0; i < len(p.BGR); i += 3 {
		sum += linear(p.BGR[i])
	}
	return sum
}

func TestHolesShowTheSurface(t *testing.T) {
	s := bare()
	hole := disc(10)
	for i, j := 0, len(hole)-1; i < j; i, j = i+1, j-1 {
		hole[i], hole[j] = hole[j], hole[i]
	}
	for i := range hole {
		hole[i].In, hole[i].Out = hole[i].Out, hole[i].In
	}
	s.Pieces = []synth.Piece{{Path: disc(40), Holes: []geometry.Path{hole}, Cloth: synth.Plain(synth.Colour{0.9, 0.9, 0.9})}}
	photo := mustRender(t, s)
	for _, c := range []struct {
		at   geometry.Point
		want float64
	}{{geometry.Point{}, 0.2}, {geometry.Point{X: 25}, 0.9}, {geometry.Point{X: 60}, 0.2}} {
		px, _ := s.Camera.Project(c.at, 0)
		i := (int(px.Y+0.5)*photo.Width + int(px.X+0.5)) * 3
		if got := linear(photo.BGR[i]); math.Abs(got-c.want) > 0.02 {
			t.Errorf("at %v: %.2f, want %.2f", c.at, got, c.want)
		}
	}
}

func TestJPEG(t *testing.T) {
	s := bare()
	data, err := synth.JPEG(s)
	if err != nil {
		t.Fatal(err)
	}
	cfg, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil || cfg.Width != 600 || cfg.Height != 400 {
		t.Errorf("%v %v", cfg, err)
	}
	p, err := vision.Decode(t.Context(), data, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.FocalPx/s.Camera.F-1) > 0.02 {
		t.Errorf("focal length %.0f px, want %.0f", p.FocalPx, s.Camera.F)
	}
}

func BenchmarkRender3MP(b *testing.B) {
	s := synth.Random(1, 2048, 1536)
	for b.Loop() {
		mustRender(b, s)
	}
}
