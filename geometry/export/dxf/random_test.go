package dxf

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/interchange"

	"pgregory.net/rapid"
)

// randomPiece draws a piece with a number of everything that the format carries.
func randomPiece(t *rapid.T) interchange.Piece {
	mm := func(label string, lo, hi float64) float64 {
		return math.Round(rapid.Float64Range(lo, hi).Draw(t, label)*1e4) / 1e4
	}
	at := func(label string) geometry.Point {
		return geometry.Point{X: mm(label, 250, 550), Y: mm(label, 250, 550)}
	}
	// Rings stay apart: points are marked by their place, so two in one place are one.
	ring := func(r, sign, shift float64) geometry.Path {
		n := rapid.IntRange(3, 7).Draw(t, "knots")
		p := make(geometry.Path, n)
		for i := range p {
			s, c := math.Sincos(sign * 2 * math.Pi * float64(i) / float64(n))
			d := r * mm("r", 0.6, 1)
			p[i] = geometry.Knot{At: geometry.Point{X: round(400 + shift + d*c), Y: round(400 + d*s)}, Corner: rapid.Bool().Draw(t, "corner")}
		}
		return p
	}
	q := interchange.Piece{
		Name: rapid.StringMatching(`[A-Za-z0-9]{1,9}( [a-z]{1,9})?`).Draw(t, "name"), Quantity: rapid.IntRange(0, 9).Draw(t, "quantity"),
		Material: rapid.SampledFrom([]string{"", "calico", "wool 2"}).Draw(t, "material"), Cut: ring(400, 1, 0),
	}
	if q.Quantity > 0 {
		q.Mirrored = rapid.IntRange(0, q.Quantity).Draw(t, "mirrored")
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "holes") {
		q.CutOuts = append(q.CutOuts, ring(60, -1, 0.37*float64(i)))
	}
	if rapid.Bool().Draw(t, "sewn") {
		q.Sew = ring(170, 1, 0.19)
	}
	for range rapid.IntRange(0, 3).Draw(t, "lines") {
		l := interchange.Line{Kind: rapid.SampledFrom([]interchange.LineKind{interchange.LineInternal, interchange.LineSew, interchange.LineMirror}).Draw(t, "kind")}
		for i := range rapid.IntRange(2, 5).Draw(t, "points") {
			p := at("line")
			l.Points = append(l.Points, geometry.Point{X: round(p.X + 10*float64(i)), Y: p.Y})
		}
		q.Lines = append(q.Lines, l)
	}
	for range rapid.IntRange(0, 4).Draw(t, "notches") {
		q.Notches = append(q.Notches, interchange.Notch{
			At: at("notch"), Turn: rapid.Float64Range(-3, 3).Draw(t, "turn"), DepthMM: mm("depth", 0, 20),
			Shape: rapid.SampledFrom([]interchange.NotchShape{interchange.NotchSlit, interchange.NotchT}).Draw(t, "shape"),
		})
	}
	for range rapid.IntRange(0, 3).Draw(t, "drills") {
		q.Drills = append(q.Drills, at("drill"))
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "notes") {
		q.Notes = append(q.Notes, interchange.Note{At: at("note"), Text: fmt.Sprintf("note %d: sew last", i)})
	}
	if rapid.Bool().Draw(t, "grained") {
		q.Grain = &[2]geometry.Point{{X: 300, Y: mm("grain", 200, 300)}, {X: 320, Y: 500}}
	}
	return q
}

func round(x float64) float64 { return math.Round(x*1e4) / 1e4 }

// Random pieces are written and read, and nothing that the format carries is lost.
func TestRandomPiecesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := randomPiece(t)
		if want.Cut.Area() < 1 || len(want.Sew) > 0 && want.Sew.Area() < 1 {
			t.Skip("no outline")
		}
		for _, h := range want.CutOuts {
			if h.Area() > -1 {
				t.Skip("no hole")
			}
		}
		var b bytes.Buffer
		if err := Write(&b, interchange.Pattern{Name: "x", Size: "42", Pieces: []interchange.Piece{want}}); err != nil {
			t.Fatal(err)
		}
		p, err := Read(&b)
		if err != nil {
			t.Fatal(err)
		}
		if p.Name != "x" || p.Size != "42" || len(p.Skipped) > 0 || len(p.Pieces) != 1 {
			t.Fatalf("got %+v", p)
		}
		got := p.Pieces[0]
		if got.Name != want.Name || got.Quantity != want.Quantity || got.Mirrored != want.Mirrored || got.Material != want.Material {
			t.Fatalf("got %q %d %d %q, want %+v", got.Name, got.Quantity, got.Mirrored, got.Material, want)
		}
		rings := func(q interchange.Piece) string { return text(append([]geometry.Path{q.Cut, q.Sew}, q.CutOuts...)) }
		if rings(got) != rings(want) {
			t.Fatalf("rings\n%s\nwant\n%s", rings(got), rings(want))
		}
		lines := func(q interchange.Piece) string { return fmt.Sprint(q.Lines, q.Drills, q.Notes, q.Grain) }
		if want.Grain != nil && got.Grain != nil && *got.Grain == *want.Grain {
			got.Grain = want.Grain
		}
		if lines(got) != lines(want) {
			t.Fatalf("lines\n%s\nwant\n%s", lines(got), lines(want))
		}
		if len(got.Notches) != len(want.Notches) {
			t.Fatalf("%d notches, want %d", len(got.Notches), len(want.Notches))
		}
		for i, n := range want.Notches {
			if g := got.Notches[i]; g.At != n.At || g.DepthMM != n.DepthMM || g.Shape != n.Shape || math.Abs(g.Turn-n.Turn) > 1e-5 {
				t.Fatalf("notch %+v, want %+v", g, n)
			}
		}
	})
}

func text(paths []geometry.Path) string {
	s := ""
	for _, p := range paths {
		for _, k := range p {
			s += fmt.Sprint(k.At, k.Corner, " ")
		}
		s += "\n"
	}
	return s
}
