package sheet

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// onePage returns all pieces on one page as large as they need, with the
// squares, bars and words in a strip below.
func onePage(title string, pieces []Piece, margin float64) export.Page {
	laid := oneSheet(pieces)
	area := boundsOf(laid)
	const (
		textWidth = 82.0
		space     = 10.0
	)
	stripWidth := squareMM + squareIn + 2*textWidth + 3*space
	base := margin + 6 // above the bar across
	words := func(top float64) (items []export.Item, bottom float64) {
		first := column{at: geometry.Point{X: margin + squareMM + squareIn + 2*space, Y: top}, width: textWidth}
		second := column{at: geometry.Point{X: first.at.X + textWidth + space, Y: top}, width: textWidth}
		first.add(7, true, short(title, 60))
		first.skip(1)
		first.add(noteSize, false, "True size. Print at 100 %, not “fit to page”.")
		aboutPrint(&first, false)
		aboutPieces(&second, laid)
		cautions(&second)
		return append(first.items, second.items...), math.Min(first.at.Y, second.at.Y)
	}
	_, depth := words(0)
	stripHeight := math.Max(squareIn, -depth)
	items, _ := words(base + stripHeight)
	items = append(items, square(geometry.Point{X: margin, Y: base}, squareMM, "100 mm")...)
	items = append(items, square(geometry.Point{X: margin + squareMM + space, Y: base}, squareIn, "4 in")...)
	const besides = 8.0 // room for the upright bar
	base += stripHeight + space
	page := export.Page{
		Width:  math.Max(area.width(), stripWidth) + besides + 2*margin,
		Height: base + area.height() + margin,
	}
	page.Items = append(drawn(laid, geometry.Point{X: margin, Y: base}.Sub(area.lo)), items...)
	page.Items = append(page.Items, bars(box{geometry.Point{X: margin, Y: margin}, geometry.Point{X: page.Width - margin, Y: math.Min(page.Height-margin, margin+upBar+20)}})...)
	return page
}
