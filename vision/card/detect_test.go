package card

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

func ids(found []Detection) (out []int) {
	for _, d := range found {
		out = append(out, d.ID)
	}
	return out
}

// Saddle points must be right to hundredths of a pixel, and say how right,
// whatever blur, noise and tone curve.
func TestSaddlePointsAreRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, k := range []struct {
		name        string
		blur, noise float64
		gamma       float64
		within      float64 // px
	}{
		{"sharp", 0.4, 1, 1, 0.04},
		{"usual", 0.9, 2, 1 / 2.2, 0.04},
		{"noisy", 1.0, 10, 1 / 2.2, 0.15},
		{"soft", 2.0, 3, 1 / 2.2, 0.12},
		{"hard tone curve", 0.9, 2, 2.2, 0.06},
	} {
		d := twoCards()
		d.blurPx, d.noise, d.gamma = k.blur, k.noise, k.gamma
		found := detect(t, d.photo(t, rng))
		if len(found) != 2 {
			t.Errorf("%s: found %v", k.name, ids(found))
			continue
		}
		for _, f := range found {
			px, sigmas := d.saddleErrors(f)
			if len(px) != 4 {
				t.Errorf("%s: card %d: %d saddle points", k.name, f.ID, len(px))
			}
			for i := range px {
				if px[i] > k.within || sigmas[i] > 4.5 {
					t.Errorf("%s: card %d: off by %.3f px, %.1f sigmas", k.name, f.ID, px[i], sigmas[i])
				}
			}
			// The box of a pixel adds a twelfth of a pixel squared; a tone curve
			// steepens or flattens the edges.
			if want := math.Sqrt(k.blur*k.blur + 1.0/12); f.BlurPx < 0.7*want || f.BlurPx > 1.3*want {
				t.Errorf("%s: blur %.2f px, drawn with %.2f", k.name, f.BlurPx, want)
			}
		}
	}
}

func TestTagCornersAreRightToTheirSigma(t *testing.T) {
	d := twoCards()
	for _, f := range detect(t, d.photo(t, rand.New(rand.NewPCG(1, 2)))) {
		for i, o := range f.Tag {
			q, _ := d.camera.Project(d.cards[f.ID].Apply(TagCorner(i)), 0)
			if e := math.Hypot(o.At.X-q.X, o.At.Y-q.Y); o.SigmaPx == 0 || e > 3*math.Sqrt2*o.SigmaPx {
				t.Errorf("card %d corner %d is off by %.2f px, sigma %.2f", f.ID, i, e, o.SigmaPx)
			}
		}
	}
}

// Cloth over the right edge of card 300 hides saddle points; those that are
// reported still have to be right.
func TestCoveredSaddlePointsAreNotReported(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	for _, edge := range []float64{38, 32, 27, 22} {
		d := twoCards()
		cloth := d.cards[300].Inverse()
		d.over = func(p geometry.Point, v float64) float64 {
			if q := cloth.Apply(p); q.X > edge && q.X < 60 && math.Abs(q.Y) < 60 {
				return 0.3 + 0.03*math.Sin(p.Y*4)
			}
			return v
		}
		found := detect(t, d.photo(t, rng))
		if len(found) != 2 {
			t.Fatalf("cloth at %g mm: found %v", edge, ids(found))
		}
		for i, s := range found[1].Saddles {
			// Below 34 mm the cloth comes within 2 mm of the saddle point.
			if right := i == TopRight || i == BottomRight; right && edge < 34 && s.SigmaPx != 0 || !right && s.SigmaPx == 0 {
				t.Errorf("cloth at %g mm: saddle point %d has sigma %.3f", edge, i, s.SigmaPx)
			}
		}
		if px, _ := d.saddleErrors(found[1]); len(px) > 0 && maxOf(px) > 0.06 {
			t.Errorf("cloth at %g mm: off by %.3f px", edge, maxOf(px))
		}
	}
}

func maxOf(v []float64) (m float64) {
	for _, x := range v {
		m = max(m, x)
	}
	return m
}

func TestGlareHidesSaddlePoints(t *testing.T) {
	d := twoCards()
	spot := d.cards[7].Apply(SaddlePoint(TopLeft))
	d.over = func(p geometry.Point, v float64) float64 {
		return min(1, v+2*math.Exp(-p.Dist(spot)*p.Dist(spot)/30))
	}
	found := detect(t, d.photo(t, rand.New(rand.NewPCG(3, 4))))
	if len(found) != 2 || found[0].Saddles[TopLeft].SigmaPx != 0 || found[0].Saddles[BottomRight].SigmaPx == 0 {
		t.Errorf("%+v", found)
	}
}

// A tag without a card round it is no proof unless it is whole; one whose cells
// were guessed is no card at all.
func TestTagsWithoutSaddlePoints(t *testing.T) {
	d := twoCards()
	d.bare = true
	found := detect(t, d.photo(t, rand.New(rand.NewPCG(5, 4))))
	if len(found) != 2 {
		t.Fatalf("found %v", ids(found))
	}
	for _, f := range found {
		if n, _ := seen(f); n != 0 {
			t.Errorf("card %d has %d saddle points that were not drawn", f.ID, n)
		}
	}
	d.scrambled = true
	if found := detect(t, d.photo(t, rand.New(rand.NewPCG(5, 4)))); len(found) != 0 {
		t.Errorf("scrambled tags were read as %v", ids(found))
	}
}

// Small tags in a large photo are read in a finer copy.
func TestSmallCardsAreFound(t *testing.T) {
	d := &drawing{
		width: 2400, height: 300, camera: above(2400, 300, 1000, 1100, 0.02), blurPx: 0.6, noise: 2, gamma: 1 / 2.2,
		cards: map[int]geometry.Rigid{4: {Turn: 0.3, Move: geometry.Point{X: -500}}, 5: {Turn: 1.3, Move: geometry.Point{X: 700, Y: 20}}},
	}
	found := detect(t, d.photo(t, rand.New(rand.NewPCG(9, 4))))
	if len(found) != 2 {
		t.Fatalf("found %v", ids(found))
	}
	for _, f := range found {
		if px, _ := d.saddleErrors(f); len(px) != 4 || maxOf(px) > 0.1 {
			t.Errorf("card %d: %v", f.ID, px)
		}
	}
}

func TestCardsSeenFromBehindAreNone(t *testing.T) {
	d := twoCards()
	p := d.photo(t, rand.New(rand.NewPCG(5, 4)))
	for y := range p.Height {
		for x := range p.Width / 2 {
			a, b := 3*(y*p.Width+x), 3*(y*p.Width+p.Width-1-x)
			for k := range 3 {
				p.BGR[a+k], p.BGR[b+k] = p.BGR[b+k], p.BGR[a+k]
			}
		}
	}
	if found := detect(t, p); len(found) != 0 {
		t.Errorf("mirrored cards were read as %v", ids(found))
	}
}

func TestOneOfEachKeepsTheBetter(t *testing.T) {
	at := func(id int, sigma float64, count int) (d Detection) {
		d.ID = id
		for i := range count {
			d.Saddles[i].SigmaPx = sigma
		}
		return
	}
	got := oneOfEach([]Detection{at(5, 0.1, 4), at(2, 0.1, 2), at(5, 0.05, 4), at(2, 0.3, 3)})
	if len(got) != 2 || got[0].ID != 2 || got[1].ID != 5 || !got[0].Repeated || !got[1].Repeated {
		t.Fatalf("%+v", got)
	}
	if n, _ := seen(got[0]); n != 3 {
		t.Error("the card with fewer saddle points was kept")
	}
	if _, sigma := seen(got[1]); math.Abs(sigma-0.05) > 1e-12 {
		t.Error("the less precise card was kept")
	}
}

func TestBlurIsToldFromSharp(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for _, k := range []struct{ blur, least, most float64 }{{0.5, 0.4, 2.5}, {2, 1.9, 3.3}, {4, 3.5, 5.5}} {
		d := twoCards()
		d.blurPx = k.blur
		if got := Blur(d.photo(t, rng)); got < k.least || got > k.most {
			t.Errorf("drawn with %.1f px of blur: %.2f", k.blur, got)
		}
	}
	// A camera that moved: one direction is smeared by 12 px, the other is not.
	p := twoCards().photo(t, rng)
	moved := &vision.Photo{Width: p.Width, Height: p.Height, BGR: make([]byte, len(p.BGR))}
	for i := range p.BGR {
		sum := 0
		for k := range 12 {
			sum += int(p.BGR[max(0, i-3*k)])
		}
		moved.BGR[i] = byte(sum / 12)
	}
	if got := Blur(moved); got < 3.3 {
		t.Errorf("smeared over 12 px: blur %.2f", got)
	}
	if got := Blur(&vision.Photo{Width: 50, Height: 50, BGR: make([]byte, 7500)}); got != 0 {
		t.Errorf("a black picture has a blur of %.2f", got)
	}
}

// Noise, flat pictures and tiny ones hold no card and break nothing.
func TestPicturesWithoutCards(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 7))
	for _, size := range [][2]int{{1, 1}, {1, 50}, {3, 2}, {64, 48}, {300, 200}} {
		p := &vision.Photo{Width: size[0], Height: size[1], BGR: make([]byte, 3*size[0]*size[1])}
		for fill := range 3 {
			for i := range p.BGR {
				p.BGR[i] = [3]byte{0, 255, byte(rng.Uint32())}[fill]
			}
			if found := detect(t, p); len(found) != 0 {
				t.Errorf("%v: found %v", size, ids(found))
			}
		}
	}
	if _, err := Detect(context.Background(), &vision.Photo{Width: 5, Height: 5}); err == nil {
		t.Error("a photo without pixels passed")
	}
	stopped, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Detect(stopped, &vision.Photo{Width: 1, Height: 1, BGR: make([]byte, 3)}); err == nil {
		t.Error("went on although it was told to stop")
	}
}

func TestHomographyTakesPointsWhereTheyBelong(t *testing.T) {
	h := Homography{3.1, -0.4, 200, 0.3, -2.9, 150, 0.0004, -0.0003}
	var from []geometry.Point
	var to []vision.Pixel
	for i := range 4 {
		from = append(from, TagCorner(i), SaddlePoint(i))
		to = append(to, h.Apply(TagCorner(i)), h.Apply(SaddlePoint(i)))
	}
	for _, n := range []int{4, 6, 8} {
		// The first four alternate between tag and saddle points: no three on a line.
		got, ok := FitHomography(from[:n], to[:n])
		if q, w := got.Apply(geometry.Point{X: 9, Y: -30}), h.Apply(geometry.Point{X: 9, Y: -30}); n > 4 && (!ok || length(sub(q, w)) > 1e-6) {
			t.Errorf("%d points: %v, want %v", n, q, w)
		}
	}
	if _, ok := FitHomography(from[:3], to[:3]); ok {
		t.Error("three points passed")
	}
	line := []geometry.Point{{X: 0}, {X: 1}, {X: 2}, {X: 3}}
	if _, ok := FitHomography(line, to[:4]); ok {
		t.Error("points on a line passed")
	}
}

func TestBlurredStepIsTheErrorFunction(t *testing.T) {
	for d := -4.0; d <= 4; d += 0.003 {
		e, slope := blurredStep(d)
		const h = 1e-5
		want := (math.Erf(d+h) - math.Erf(d-h)) / (2 * h)
		if math.Abs(e-math.Erf(d)) > 4e-6 || math.Abs(slope-want) > 3e-5 {
			t.Fatalf("at %.3f: %.7f, slope %.6f, want %.7f and %.6f", d, e, slope, math.Erf(d), want)
		}
	}
}

// A copy in green alone shows the scene in the right place, whatever the photo's
// size, and no byte beyond the photo is read.
func TestReducedGreenAveragesBlocks(t *testing.T) {
	for _, k := range []struct{ w, h, shrink int }{{40, 30, 4}, {43, 31, 4}, {21, 17, 1}, {22, 18, 2}, {35, 29, 5}, {37, 25, 3}} {
		p := &vision.Photo{Width: k.w, Height: k.h, BGR: make([]byte, 3*k.w*k.h)}
		for y := range k.h {
			for x := range k.w {
				p.BGR[3*(y*k.w+x)+1] = byte(x + 3*(y/k.shrink)) // a ramp across, steps down
			}
		}
		green, w, h := reducedGreen(p, k.shrink)
		if w != k.w/k.shrink || h != k.h/k.shrink || len(green) != w*h {
			t.Fatalf("%+v: %d x %d", k, w, h)
		}
		for i, v := range green {
			want := (float64(i%w)+0.5)*float64(k.shrink) - 0.5 + 3*float64(i/w)
			if math.Abs(float64(v)-want) > 1 {
				t.Fatalf("%+v: pixel %d is %d, want %.1f", k, i, v, want)
			}
		}
	}
}

// A photo of 48 MP is looked at in copies as small as those of any other, and its
// cards are measured in its own pixels.
func TestFortyEightMegapixels(t *testing.T) {
	if testing.Short() {
		t.Skip("draws 48 megapixels")
	}
	d := twoCards()
	small := d.photo(t, rand.New(rand.NewPCG(1, 2)))
	k := max(1, 8000/small.Width)
	big := &vision.Photo{Width: small.Width * k, Height: small.Height * k}
	big.BGR = make([]byte, 3*big.Width*big.Height)
	for y := range big.Height {
		row := big.BGR[3*y*big.Width:][:3*big.Width]
		if y%k != 0 {
			copy(row, big.BGR[3*(y-1)*big.Width:])
			continue
		}
		for x := range big.Width {
			copy(row[3*x:3*x+3], small.BGR[3*(y/k*small.Width+x/k):])
		}
	}
	if shrink := firstShrink(big); big.Width/shrink > 1400 {
		t.Errorf("the first copy of a photo %d px wide is %d px wide", big.Width, big.Width/shrink)
	}
	want := detect(t, small)
	for i, f := range detect(t, big) {
		for j, s := range f.Saddles {
			w := want[i].Saddles[j]
			x, y := (w.At.X+0.5)*float64(k)-0.5, (w.At.Y+0.5)*float64(k)-0.5
			if off := math.Hypot(s.At.X-x, s.At.Y-y); s.SigmaPx == 0 || off > 0.15*float64(k) {
				t.Errorf("card %d: saddle %d is %.2f px off", f.ID, j, off)
			}
		}
	}
}
