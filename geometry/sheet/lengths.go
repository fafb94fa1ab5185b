package sheet

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// MaxLengthMM is the longest page that [Lengths] leaves whole. PDF viewers need not take
// more than 14,400 units of 1/72 in, 5,080 mm (ISO 32000-1, annex C.2). Larger units
// (UserUnit, since PDF 1.6) would get round that, but what does not know them prints the
// page far too small; pages in numbered lengths print right everywhere.
const MaxLengthMM = 5000.0

// gluedMM is what two lengths share beyond their join line, to glue.
const gluedMM = 15.0

// Lengths cuts a page whose side is longer than MaxLengthMM into numbered pages to be
// joined: each ends in a dashed line with two crosses, which also stands on the next, a
// strip to glue beyond it. A shorter page is returned as it is.
func Lengths(page export.Page) []export.Page {
	across := page.Width >= page.Height
	long := math.Max(page.Width, page.Height)
	if long <= MaxLengthMM {
		return []export.Page{page}
	}
	n := int(math.Ceil(long / (MaxLengthMM - 2*gluedMM)))
	step := long / float64(n)
	var out []export.Page
	for k := range n {
		from, to := step*float64(k), step*float64(k+1)
		lo, hi := math.Max(0, from-gluedMM), math.Min(long, to+gluedMM)
		p := page // paper and stretch
		move := geometry.Vec{X: -lo}
		p.Width = hi - lo
		if !across {
			p.Width, p.Height, move = page.Width, hi-lo, geometry.Vec{Y: -lo}
		}
		p.Items = []export.Item{export.Window{Hi: geometry.Point{X: p.Width, Y: p.Height}, Move: move, Items: page.Items}}
		if k > 0 {
			p.Items = append(p.Items, joinLine(p, across, from-lo, k, fmt.Sprintf("length %d of %d; lay join %d on the same line of length %d and glue", k+1, n, k, k))...)
		}
		if k < n-1 {
			p.Items = append(p.Items, joinLine(p, across, to-lo, k+1, fmt.Sprintf("length %d of %d; join %d, length %d follows", k+1, n, k+1, k+2))...)
		}
		out = append(out, p)
	}
	return out
}

// joinLine draws a join line across a page, at a distance from its beginning.
func joinLine(p export.Page, across bool, at float64, number int, words string) []export.Item {
	const arm, inset, size = 6.0, 25.0, 3.5
	place := func(along, side float64) geometry.Point {
		if across {
			return geometry.Point{X: along, Y: side}
		}
		return geometry.Point{X: side, Y: along}
	}
	wide, turn := p.Height, math.Pi/2
	if !across {
		wide, turn = p.Width, 0
	}
	pen := export.Pen{Width: 0.3, Ink: export.Black}
	items := []export.Item{export.Line(LayerText, export.Pen{Width: 0.3, Ink: export.Black, Dash: []float64{4, 2}}, place(at, 0), place(at, wide))}
	for _, side := range []float64{math.Min(inset, wide/4), wide - math.Min(inset, wide/4)} {
		items = append(
			items,
			export.Line(LayerText, pen, place(at-arm, side-arm), place(at+arm, side+arm)),
			export.Line(LayerText, pen, place(at-arm, side+arm), place(at+arm, side-arm)),
			export.Text{Layer: LayerText, At: place(at+2, side+arm+2), Size: size, Ink: export.Black, Bold: true, Turn: turn, Content: fmt.Sprint(number)},
		)
	}
	return append(items, export.Text{Layer: LayerText, At: place(at-2, wide/2), Size: size, Ink: export.Black, Align: export.AlignCentre, Turn: turn, Content: words})
}
