package cv

import (
	"math"
	"testing"
)

// Draws tag 17 from its own cells at 20 px a module and finds it again: the
// corners are known exactly, the border of the black square lying between
// pixels 39 and 40.
func TestDetectDrawnTag(t *testing.T) {
	cells, err := TagCells(17)
	if err != nil {
		t.Fatal(err)
	}
	const module, margin, side = 20, 40, 8*20 + 2*40
	gray := make([]byte, side*side)
	for i := range gray {
		x, y := (i%side-margin)/module, (i/side-margin)/module
		inside := i%side >= margin && i/side >= margin && x < 8 && y < 8
		if !inside || cells[8*y+x] {
			gray[i] = 255
		}
	}
	tags, err := DetectTags(gray, side, side)
	if err != nil || len(tags) != 1 || tags[0].ID != 17 {
		t.Fatalf("got %v, %v; want tag 17", tags, err)
	}
	if c := tags[0].Corners[0]; c[0] < 39 || c[0] > 40.5 || c[1] < 39 || c[1] > 40.5 {
		t.Errorf("top left corner at %v, want about 39.5, 39.5", c)
	}
}

func TestSizesAreChecked(t *testing.T) {
	if _, err := DetectTags(make([]byte, 3), 2, 2); err == nil {
		t.Error("3 bytes passed for 2 x 2 pixels")
	}
	if _, err := ResizeArea(make([]byte, 4), 2, 2, 1, 0, 1); err == nil {
		t.Error("a width of 0 passed")
	}
	if _, err := OpenNet([]byte("no network")); err == nil {
		t.Error("nonsense passed for a network")
	}
}

// A tag of 32 pixels seen aslant and out of focus by a third of a module (standard
// deviation) is read: 40 of 40, of which 25 when all of a module counts and not
// only its middle.
func TestSmallBlurredTagsAreRead(t *testing.T) {
	read := 0
	for k := range 40 {
		cells, err := TagCells(14 * k)
		if err != nil {
			t.Fatal(err)
		}
		gray := blurredTag(cells, 32, 0.85, 0.37*float64(k), 1.2)
		tags, err := DetectTags(gray, tagPicture, tagPicture)
		if err != nil {
			t.Fatal(err)
		}
		if len(tags) == 1 && tags[0].ID == 14*k {
			read++
		}
	}
	if read < 38 {
		t.Errorf("%d of 40 are read, want 38", read)
	}
}

const tagPicture = 96 // pixels to a side

// blurredTag draws a tag of so many pixels a side, turned, squeezed from top to
// bottom and then blurred.
func blurredTag(cells [64]bool, side, squeeze, turn, sigma float64) []byte {
	const n, fine = tagPicture, 4
	sin, cos := math.Sincos(turn)
	v := make([]float64, n*n)
	for i := range v {
		for k := range fine * fine {
			x := float64(i%n) + float64(k%fine)/fine - n/2
			y := (float64(i/n) + float64(k/fine)/fine - n/2) / squeeze
			u, w := (cos*x+sin*y)/side*8+4, (cos*y-sin*x)/side*8+4
			if u >= 0 && w >= 0 && u < 8 && w < 8 && !cells[8*int(w)+int(u)] {
				v[i] += 25.0 / (fine * fine)
			} else {
				v[i] += 230.0 / (fine * fine)
			}
		}
	}
	v = smear(smear(v, 1, sigma), n, sigma)
	out := make([]byte, n*n)
	for i := range out {
		out[i] = byte(v[i])
	}
	return out
}

// smear blurs along one direction, step values from one pixel to the next; beyond
// the ends lies white.
func smear(v []float64, step int, sigma float64) []float64 {
	out := make([]float64, len(v))
	for i := range v {
		var sum, weight float64
		for k := -5; k <= 5; k++ {
			w, at := math.Exp(-float64(k*k)/(2*sigma*sigma)), 230.0
			if j := i + k*step; j >= 0 && j < len(v) {
				at = v[j]
			}
			sum, weight = sum+w*at, weight+w
		}
		out[i] = sum / weight
	}
	return out
}
