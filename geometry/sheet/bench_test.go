package sheet_test

import (
	"fmt"
	"io"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// garment12 is a garment of 12 pieces with 60 knots each, 250 to 700 mm large, with
// a hem, seam allowances, notches and marks.
func garment12() pattern.Garment {
	g := pattern.Garment{Format: pattern.Format, Name: "Twelve pieces"}
	for n := range 12 {
		p := pattern.Piece{ID: fmt.Sprint("p", n), Name: fmt.Sprintf("Piece %d", n+1), UncertaintyMM: 0.3}
		wide, high := 125+20*float64(n%4), 350-15*float64(n)
		const knots = 60
		for k := range knots {
			s, c := math.Sincos(2 * math.Pi * float64(k) / knots)
			r := 1 + 0.04*math.Sin(2*math.Pi*3*float64(k)/knots)
			p.Knots = append(p.Knots, geometry.Knot{At: geometry.Point{X: wide * (1 + r*c), Y: high * (1 + r*s)}, Corner: k%15 == 0})
		}
		for k := range p.Knots { // handles along the chord of the neighbours
			d := p.Knots[(k+1)%knots].At.Sub(p.Knots[(k+knots-1)%knots].At).Scale(1.0 / 6)
			in, out := p.Knots[k].At.Add(d.Scale(-1)), p.Knots[k].At.Add(d)
			p.Knots[k].In, p.Knots[k].Out = &in, &out
		}
		for e := range 4 {
			f := pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 10}
			id := fmt.Sprint("e", e)
			p.Edges = append(p.Edges, pattern.Edge{ID: id, Name: "edge " + id, Knot: 15 * e, OldAllowance: &pattern.OldAllowance{Is: pattern.OldNone}, Finish: &f})
			p.Marks = append(p.Marks, pattern.Mark{ID: "n" + id, Kind: pattern.MarkNotch, Edge: id, At: 0.4, Count: 1 + e%2})
		}
		deg := 90.0
		p.Marks = append(p.Marks, pattern.Mark{ID: "grain", Kind: pattern.MarkGrain, Deg: &deg},
			pattern.Mark{ID: "drill", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: wide * 0.8, Y: high}}, Text: "pocket"})
		p.Label = &pattern.Label{Cuts: []pattern.Cut{{Count: 2, Mirrored: true}}, Notes: "a note that is as long as notes are"}
		g.Pieces = append(g.Pieces, p)
	}
	return g
}

// BenchmarkExports writes every form of a garment of 12 pieces: the goal is about
// two seconds for all of them.
func BenchmarkExports(b *testing.B) {
	g := garment12()
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		b.Fatal(err)
	}
	pieces := sheet.Drafts(g, drafts)
	forms := []struct {
		name  string
		write func(io.Writer) error
	}{
		{"JSON", func(w io.Writer) error { return pattern.WriteDraft(w, g.Name, drafts) }},
		{"SVG", func(w io.Writer) error { return sheet.SVG(w, g.Name, pieces, sheet.Options{}) }},
		{"PNG", func(w io.Writer) error { return sheet.PNG(w, pieces, sheet.Options{}) }},
		{"A4", func(w io.Writer) error { return sheet.PDF(w, g.Name, pieces, sheet.Options{}) }},
		{"A0", func(w io.Writer) error { return sheet.PDF(w, g.Name, pieces, sheet.Options{Paper: sheet.A0}) }},
		{"One", func(w io.Writer) error { return sheet.PDF(w, g.Name, pieces, sheet.Options{Paper: sheet.One}) }},
	}
	for _, f := range forms {
		b.Run(f.name, func(b *testing.B) {
			for b.Loop() {
				if err := f.write(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("All", func(b *testing.B) {
		for b.Loop() {
			for _, f := range forms {
				if err := f.write(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}
