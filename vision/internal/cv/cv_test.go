package cv

import "testing"

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
