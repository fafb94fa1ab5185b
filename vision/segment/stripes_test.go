package segment

import "testing"

// Notches of the floor's colour in the edge of striped cloth are closed; such
// notches in plain cloth are its shape.
func TestNotchesOfStripesAreClosed(t *testing.T) {
	for _, striped := range []bool{true, false} {
		d := newDrawing(480, 360, wood, 0, 4)
		d.cloth(box(120, 60, 360, 300), func(_, y int) bgr {
			if striped && y%24 < 9 {
				return wood
			}
			return blue
		})
		f, err := newFind(d.pl, Options{NoPrior: true})
		if err != nil {
			t.Fatal(err)
		}
		s := f.scene
		f.models = models{paper: s.learnPaper()}
		f.cells = make([]bool, len(s.feat))
		for i := range f.cells {
			x, y := min(i%s.width*s.side+s.side/2, d.pl.Width-1), min(i/s.width*s.side+s.side/2, d.pl.Height-1)
			f.cells[i] = d.truth[y*d.pl.Width+x]
		}
		r := f.refine(Options{})
		copy(r.mask, d.truth)
		notch, filled := 0, 0
		for i := range r.mask {
			r.mask[i] = r.mask[i] && !inNotch(d, i)
		}
		if !striped {
			d.each(box(120, 60, 128, 300), func(i, _, y int) {
				if inNotch(d, i) {
					d.set(i, wood, 0)
				}
			})
		}
		r.closeStripes()
		for i := range r.mask {
			if inNotch(d, i) {
				notch++
				if r.mask[i] {
					filled++
				}
			}
		}
		if striped && filled < notch/2 || !striped && filled > 0 {
			t.Errorf("striped %v: %d of %d pixels of notches are filled", striped, filled, notch)
		}
	}
}

// inNotch reports whether pixel i lies where a stripe ends at the cloth's left.
func inNotch(d *drawing, i int) bool {
	x, y := i%d.pl.Width, i/d.pl.Width
	return y > 80 && y < 280 && y%24 < 9 && x < 126 && d.truth[i]
}

// A look of two colours explains either, and what lies between them badly; one
// colour with scatter, cut at its middle, is not two.
func TestLookOfTwoColours(t *testing.T) {
	look := func(at func(k int) float32) *look {
		d := newDrawing(1, 1, wood, 0, 0)
		dark, light := newTally(1), newTally(1)
		for k := range 4000 {
			v := at(k) + 3*float32(d.rand.NormFloat64())
			if v < 50 {
				dark.add(0, lab{v, 0, 0})
			} else {
				light.add(0, lab{v, 0, 0})
			}
		}
		l := &look{lobes: [2]blob{dark.blob(0), light.blob(0)}}
		for k := range dark {
			dark[k][0] += light[k][0]
		}
		l.blob = dark.blob(0)
		return l
	}
	two := look(func(k int) float32 { return 35 + 30*float32(k%2) })
	if !two.twofold() {
		t.Error("two colours were not told")
	}
	for _, v := range []float32{35, 65} {
		if two.logDensity(lab{v, 0, 0}) < two.logDensity(lab{50, 0, 0})+5 {
			t.Errorf("lightness %.0f is no likelier than what lies between", v)
		}
	}
	if look(func(int) float32 { return 50 }).twofold() {
		t.Error("one colour counts as two")
	}
	if look(func(k int) float32 {
		if k%20 == 0 {
			return 70
		}
		return 40
	}).twofold() {
		t.Error("a twentieth of another colour counts as half")
	}
}
