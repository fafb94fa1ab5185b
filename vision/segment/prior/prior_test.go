package prior

import "testing"

// A plain dark square on a pale floor is seen as cloth, the floor is not, and
// both at the right place whatever the picture's shape.
func TestGuessLiesWhereTheClothIs(t *testing.T) {
	for _, size := range [][2]int{{640, 480}, {300, 420}, {160, 160}} {
		w, h := size[0], size[1]
		bgr, seen := make([]byte, 3*w*h), make([]bool, w*h)
		for i := range seen {
			seen[i] = true
			x, y := i%w, i/w
			c := [3]byte{170, 190, 205}
			if x > w/4 && x < w*6/10 && y > h/4 && y < h*7/10 {
				c = [3]byte{120, 60, 40}
			}
			copy(bgr[3*i:], c[:])
		}
		g, err := Run(bgr, seen, w, h)
		if err != nil {
			t.Fatal(err)
		}
		in, out := g.At(float64(w)*0.42, float64(h)*0.48), g.At(float64(w)*0.85, float64(h)*0.5)
		if in < 1 || out > -1 {
			t.Errorf("%d x %d: log odds %.1f on the cloth, %.1f beside it", w, h, in, out)
		}
	}
}

func TestGuessChecksSizes(t *testing.T) {
	if _, err := Run(make([]byte, 12), make([]bool, 3), 2, 2); err == nil {
		t.Error("3 flags passed for 4 pixels")
	}
	if _, err := Run(nil, nil, 0, 0); err == nil {
		t.Error("an empty picture passed")
	}
	if _, err := Run(make([]byte, 3), make([]bool, 1), 1, 1); err != nil {
		t.Errorf("one pixel: %v", err)
	}
}
