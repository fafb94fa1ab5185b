package segment

import (
	"context"
	"testing"
)

// Stripes in the floor's colour that run out at the edge leave no notches.
func TestStripesInTheFloorsColour(t *testing.T) {
	d := newDrawing(480, 360, wood, 0, 4)
	d.cloth(box(120, 60, 360, 300), func(_, y int) bgr {
		if y%24 < 9 {
			return wood
		}
		return blue
	})
	regions, _, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if v := d.overlap(regions); len(regions) != 1 || v < 0.97 {
		t.Errorf("%d pieces, overlap %.3f", len(regions), v)
	}
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
