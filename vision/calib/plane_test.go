package calib

import (
	"context"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

// tilted is a camera some 800 mm above the plane that looks down at an angle,
// with a lens that bends lines.
func tilted() *Calibration {
	s, c := math.Sincos(0.35)
	return &Calibration{
		Camera: vision.Camera{
			F: 1500, Cx: 1001, Cy: 748, K1: -0.1, K2: 0.02, P1: 0.0004, P2: -0.0003,
			R: [9]float64{1, 0, 0, 0, -c, s, 0, -s, -c}, T: [3]float64{5, -20, 800},
		},
		Width: 2000, Height: 1500, ThicknessMM: 0.6,
	}
}

// The colour at each place of the plane says where the place is; the rectified
// photo has to show the same colours at its own places.
func TestRectifyPutsEveryPlaceWhereItIs(t *testing.T) {
	c := tilted()
	photo := &vision.Photo{Width: c.Width, Height: c.Height, BGR: make([]byte, 3*c.Width*c.Height)}
	shade := func(v float64) float64 { return 127 + 100*math.Sin(v/40) }
	for y := range c.Height {
		for x := range c.Width {
			p, ok := c.ToPlane(vision.Pixel{X: float64(x), Y: float64(y)})
			if !ok {
				continue
			}
			at := 3 * (y*c.Width + x)
			photo.BGR[at], photo.BGR[at+1] = byte(shade(p.X)+0.5), byte(shade(p.Y)+0.5)
		}
	}
	for _, pxPerMM := range []float64{0.5, 1, 2} {
		pl, err := c.Rectify(context.Background(), photo, pxPerMM, RectifyOptions{MaxPixels: 4_000_000})
		if err != nil {
			t.Fatal(err)
		}
		var worst float64
		seen := 0
		for y := range pl.Height {
			for x := range pl.Width {
				if pl.Known[y*pl.Width+x] != KnownScene {
					continue
				}
				seen++
				p, at := pl.At(float64(x), float64(y)), 3*(y*pl.Width+x)
				worst = max(worst, math.Abs(float64(pl.BGR[at])-shade(p.X)), math.Abs(float64(pl.BGR[at+1])-shade(p.Y)))
			}
		}
		// One mm is 2.5 grey levels at the steepest.
		if worst > 2.5 || seen < pl.Width*pl.Height/2 {
			t.Errorf("%g px/mm: off by %.2f grey levels, %d of %d pixels seen", pxPerMM, worst, seen, pl.Width*pl.Height)
		}
	}
}

func TestRectifyKeepsItsLimit(t *testing.T) {
	c := tilted()
	photo := &vision.Photo{Width: c.Width, Height: c.Height, BGR: make([]byte, 3*c.Width*c.Height)}
	for _, limit := range []int{1, 1000, 300_000} {
		pl, err := c.Rectify(context.Background(), photo, 3, RectifyOptions{MaxPixels: limit})
		if err != nil || pl.Width*pl.Height > limit {
			t.Errorf("limit %d: %v, %v", limit, pl, err)
		}
	}
	if _, err := c.Rectify(context.Background(), &vision.Photo{Width: 1, Height: 1}, 1, RectifyOptions{}); err == nil {
		t.Error("a photo of another size passed")
	}
}

func TestToImageUndoesToPlane(t *testing.T) {
	c := tilted()
	for x := 0.0; x < 2000; x += 97 {
		for y := 0.0; y < 1500; y += 89 {
			p, ok := c.ToPlane(vision.Pixel{X: x, Y: y})
			if !ok {
				t.Fatalf("(%g, %g) sees nothing", x, y)
			}
			px, ok := c.ToImage(p)
			if !ok || math.Hypot(px.X-x, px.Y-y) > 1e-6 {
				t.Errorf("(%g, %g) came back as %v", x, y, px)
			}
		}
	}
}

// Beyond the radius where strong barrel distortion turns back, points must not
// land inside the photo.
func TestNothingFoldsBackIntoThePhoto(t *testing.T) {
	c := tilted()
	c.Camera.K1, c.Camera.K2 = -0.3, 0
	for _, p := range []geometry.Point{{X: 2500}, {X: -2500}, {X: 2000, Y: 2000}} {
		if px, ok := c.ToImage(p); ok {
			t.Errorf("%v is said to be seen at %v", p, px)
		}
	}
}

func TestWholeSheetIsMasked(t *testing.T) {
	c := tilted()
	photo := &vision.Photo{Width: c.Width, Height: c.Height, BGR: make([]byte, 3*c.Width*c.Height)}
	at := geometry.Rigid{Turn: 0.3, Move: geometry.Point{X: 40, Y: 30}}
	for id := 6; id < 12; id++ {
		c.Cards = append(c.Cards, vision.CardReport{ID: id, Used: true, TurnDeg: 0.3 * 180 / math.Pi, Centre: at.Apply(sheetPlace(id))})
	}
	known := func(q geometry.Point) byte {
		pl, err := c.Rectify(context.Background(), photo, 1, RectifyOptions{})
		if err != nil {
			t.Fatal(err)
		}
		x, y := pl.Pixel(at.Apply(q))
		return pl.Known[int(y+0.5)*pl.Width+int(x+0.5)]
	}
	ruler := geometry.Point{X: 0, Y: -145}
	if known(ruler) != KnownCard || known(geometry.Point{X: 0, Y: 170}) != KnownScene {
		t.Error("the uncut sheet is not masked as a whole")
	}
	c.Cards[0].Centre.X += 60
	if known(ruler) != KnownScene || known(geometry.Point{X: 40, Y: 0}) != KnownCard {
		t.Error("cut cards are masked as a sheet")
	}
}
