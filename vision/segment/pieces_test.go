package segment

import (
	"context"
	"testing"

	"secondcut/geometry"
)

// A cord is no piece, unless a stroke says so; a belt is.
func TestSlimThingsAreNoPieces(t *testing.T) {
	d := newDrawing(640, 480, wood, 4, 4)
	d.cloth(box(60, 60, 400, 400), all(blue))
	d.cloth(box(450, 60, 462, 420), all(blue))
	d.cloth(box(520, 60, 552, 420), all(blue))
	cord, belt := geometry.Point{X: 456, Y: 240}, geometry.Point{X: 536, Y: 240}
	regions, _, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil || contains(regions, cord) || !contains(regions, belt) {
		t.Errorf("cord a piece: %v, belt a piece: %v, %v", contains(regions, cord), contains(regions, belt), err)
	}
	said := Stroke{Kind: StrokeCloth, Points: []geometry.Point{cord, {X: 456, Y: 300}}}
	regions, _, err = Cloth(context.Background(), d.pl, nil, Options{Strokes: []Stroke{said}})
	if err != nil || !contains(regions, cord) {
		t.Errorf("a cord that a stroke calls cloth is left out; %v", err)
	}
}

// Something small that runs out of the picture beside a whole piece is left out,
// and said; a large one is refused.
func TestSmallThingAtTheFrameIsLeftOut(t *testing.T) {
	d := newDrawing(640, 480, wood, 4, 4)
	d.cloth(box(60, 60, 400, 400), all(blue))
	d.cloth(box(560, 200, 700, 270), all(blue))
	regions, findings, err := Cloth(context.Background(), d.pl, nil, Options{})
	if err != nil || len(regions) != 1 || !contains(regions, geometry.Point{X: 200, Y: 200}) {
		t.Fatalf("%d pieces, %v; want the whole one", len(regions), err)
	}
	for _, f := range findings {
		if f.Code == "piece-cut-by-frame" {
			if off := f.Where.Dist(geometry.Point{X: 600, Y: 235}); off > 6 {
				t.Errorf("said to lie %.0f mm from where it does", off)
			}
			if want := "Something that runs out of the picture on the right was left out."; f.Message != want {
				t.Errorf("%q, want %q", f.Message, want)
			}
			return
		}
	}
	t.Errorf("nothing is said of what was left out: %v", findings)
}

// A guess that is misled by a bare stretch of floor is turned down, and only there.
func TestMisledGuessIsTurnedDown(t *testing.T) {
	d := newDrawing(640, 480, wood, 4, 4)
	piece, bare := box(80, 100, 280, 380), box(340, 80, 580, 400)
	d.cloth(piece, all(bgr{120, 160, 120}))
	f, err := newFind(d.pl, Options{NoPrior: true})
	if err != nil {
		t.Fatal(err)
	}
	s := f.scene
	for i := range f.odds.guess {
		p := d.pl.At(float64(i%s.width*s.side), float64(i/s.width*s.side))
		f.odds.guess[i] = -2
		if piece.Contains(p) || bare.Contains(p) {
			f.odds.guess[i] = guessCap
		}
	}
	r, pieces, err := f.search(context.Background(), Options{})
	if err != nil || len(pieces) != 1 {
		t.Fatalf("%d pieces, %v", len(pieces), err)
	}
	g, ok := r.region(pieces[0])
	if v := d.overlap([]Region{g}); !ok || v < 0.97 {
		t.Errorf("overlap %.3f", v)
	}
}
