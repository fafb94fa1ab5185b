package pattern_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// doubtful is a square of 100 mm, known to 0.4 mm, with two stretches in doubt: one of
// which something is said, and one that runs past the first knot.
func doubtful() pattern.Piece {
	p := pattern.Piece{ID: "p", Name: "p", UncertaintyMM: 0.4}
	for _, q := range []geometry.Point{{}, {X: 100}, {X: 100, Y: 100}, {Y: 100}} {
		p.Knots = append(p.Knots, geometry.Knot{At: q, Corner: true})
	}
	p.Edges = pattern.NewEdges(p.Knots)
	p.Unsure = []geometry.Stretch{
		{From: geometry.Point{X: 100, Y: 20}, To: geometry.Point{X: 100, Y: 60}, UncertaintyMM: 5},
		{From: geometry.Point{X: 0.3, Y: 10}, To: geometry.Point{X: 10, Y: 0.2}},
		{From: geometry.Point{X: 50, Y: 50}, To: geometry.Point{X: 60, Y: 50}, UncertaintyMM: 9}, // on a hole
	}
	return p
}

func TestDoubts(t *testing.T) {
	d := doubtful().Doubts()
	for _, c := range []struct{ pos, want float64 }{
		{0.5, 0.4}, {1.1, 0.4}, {1.3, 5}, {1.7, 0.4}, {3.95, 2}, {0.05, 2}, {0.15, 0.4}, {2.5, 0.4},
	} {
		if got := d.At(c.pos); got != c.want {
			t.Errorf("at %v: %v mm, want %v", c.pos, got, c.want)
		}
	}
}

// What a stretch may be off by is kept by the file, and left out where nothing is said.
func TestDoubtInTheFile(t *testing.T) {
	g := pattern.Garment{Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{doubtful()}}
	var b bytes.Buffer
	if err := pattern.Write(&b, g); err != nil {
		t.Fatal(err)
	}
	if n := bytes.Count(b.Bytes(), []byte(`"uncertainty_mm"`)); n != 3 { // the piece's and two stretches'
		t.Errorf("uncertainty_mm is written %d times, want 3", n)
	}
	back, err := pattern.Read(&b)
	if err != nil {
		t.Fatal(err)
	}
	was, _ := json.Marshal(g)
	is, _ := json.Marshal(back)
	if !bytes.Equal(was, is) {
		t.Error("the file reads back as another garment")
	}
	g.Pieces[0].Unsure[0].UncertaintyMM = -1
	if err := g.Validate(); err == nil {
		t.Error("a negative uncertainty was accepted")
	}
}
