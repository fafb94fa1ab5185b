package sheet

import (
	"fmt"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// On every paper and at every margin, nothing reaches into the margin, and on
// page one no words lie on a square's sides or on each other.
func TestNothingInTheMargin(t *testing.T) {
	front := rectangle(430, 610)
	front.Name = "Front, the one with a name that is longer than most"
	front.Unsure = []geometry.Stretch{{From: at(0, 0), To: at(20, 0)}}
	two := []Piece{front, rectangle(90, 120)}
	many := []Piece{front}
	for range 9 {
		p := rectangle(150, 250)
		p.Name = "A patch that somebody sewed over another patch"
		many = append(many, p)
	}
	for _, paper := range Papers() {
		for _, margin := range []float64{10, 17.5, 25} {
			for _, pieces := range [][]Piece{two, many} {
				if margin == 17.5 && len(pieces) > 2 {
					continue
				}
				d, err := Draw("A rather long title for a smock, with a few more words", pieces, Options{Paper: paper, MarginMM: margin})
				if err != nil {
					t.Fatal(err)
				}
				for n, page := range d.Pages {
					checkMargin(t, fmt.Sprintf("%s, margin %g, page %d", paper.Label, margin, n+1), page, margin)
				}
				checkWords(t, fmt.Sprintf("%s, margin %g", paper.Label, margin), d.Pages[0])
			}
		}
	}
}

func checkMargin(t *testing.T, name string, page export.Page, margin float64) {
	inner := box{at(margin, margin), at(page.Width-margin, page.Height-margin)}
	for _, it := range page.Items {
		covers := inked(it)
		if w, ok := it.(export.Window); ok {
			covers = box{w.Lo, w.Hi}
		}
		if in := covers.inside(inner); in < -0.2 { // half a pen
			t.Errorf("%s: %+v reaches %.2f mm into the margin", name, it, -in)
			return
		}
	}
}

func checkWords(t *testing.T, name string, page export.Page) {
	var words []export.Text
	for _, it := range page.Items {
		if w, ok := it.(export.Text); ok && w.Layer != LayerGrain {
			words = append(words, w)
		}
	}
	for i, w := range words {
		for _, v := range words[:i] {
			if d := inked(w).gap(inked(v)); d < -0.01 {
				t.Errorf("%s: %q and %q overlap by %.2f mm", name, w.Content, v.Content, -d)
			}
		}
		for _, it := range page.Items {
			s, ok := it.(export.Shape)
			if !ok || s.Layer != LayerCheck {
				continue
			}
			for _, c := range s.Contours {
				for _, g := range c.Segments() {
					if inked(w).crosses(g.A, g.D) {
						t.Errorf("%s: a line to measure runs through %q", name, w.Content)
					}
				}
			}
		}
	}
}
