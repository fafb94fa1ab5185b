package segment

import (
	"testing"
)

// A patch between two pieces that counts as cloth by a hair is taken away when it looks
// like the floor, and stays when it looks like the pieces or nothing is in doubt.
func TestPatchesOfFloorAreTakenAway(t *testing.T) {
	pieces, patch := box(100, 100, 480, 380), box(250, 100, 330, 380)
	for _, c := range []struct {
		name  string
		floor bool
		odds  float32
		taken bool
	}{
		{"floor, by a hair", true, 0.7, true},
		{"cloth, by a hair", false, 0.7, false},
		{"looks like floor, but is sure", true, 4, false},
	} {
		d := newDrawing(640, 480, wood, 4, 4)
		d.cloth(pieces, all(blue))
		if c.floor {
			d.hole(patch, wood)
		}
		f, err := newFind(d.pl, Options{NoPrior: true})
		if err != nil {
			t.Fatal(err)
		}
		s := f.scene
		f.cells = make([]bool, len(s.feat))
		at := func(i int) (in, doubted bool) {
			p := d.pl.At((float64(i%s.width)+0.5)*float64(s.side)-0.5, (float64(i/s.width)+0.5)*float64(s.side)-0.5)
			return pieces.Contains(p), patch.Contains(p)
		}
		for i := range f.cells {
			in, doubted := at(i)
			switch f.cells[i] = in; {
			case doubted:
				f.odds.all[i] = c.odds
			case in:
				f.odds.all[i] = 5
			default:
				f.odds.all[i] = -5
			}
		}
		if got := f.reconsider(); got != c.taken {
			t.Errorf("%s: taken %v", c.name, got)
		}
		wrong := 0
		for i, cloth := range f.cells {
			in, doubted := at(i)
			if cloth != (in && !(doubted && c.taken)) {
				wrong++
			}
		}
		if wrong > len(f.cells)/200 {
			t.Errorf("%s: %d of %d cells are wrong", c.name, wrong, len(f.cells))
		}
	}
}
