package sheet

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

const (
	textWidth = 82.0 // of a column of words
	apart     = 10.0 // between what stands in the strip
	barRoom   = 8.0  // beside everything, for the upright bar
	leastHigh = 262.0
	stripHigh = 200.0 // at most, of the list of pieces
)

// onePage returns all pieces on one page as large as they need, with the
// squares, bars and words in a strip below.
func onePage(title string, pieces []Piece, margin float64) export.Page {
	laid := oneSheet(pieces)
	area := boundsOf(laid)
	columns := 2
	if area.width() < stripWidth(2) {
		columns = 1
	}
	width := math.Max(area.width(), stripWidth(columns)) + barRoom
	bottom := geometry.Point{X: margin, Y: margin + 6} // above the bar across
	window := box{geometry.Point{X: margin, Y: margin}, geometry.Point{X: margin + width, Y: margin + leastHigh}}

	_, depth := stripWords(title, laid, bottom, columns, window)
	high := math.Max(squareIn, bottom.Y-depth)
	items, _ := stripWords(title, laid, bottom.Add(geometry.Vec{Y: high}), columns, window)
	items = append(items, square(bottom, squareMM, "100\u00a0mm")...)
	items = append(items, square(bottom.Add(geometry.Vec{X: squareMM + apart}), squareIn, "4\u00a0in")...)

	above := bottom.Y + high + apart
	page := export.Page{Width: width + 2*margin, Height: math.Max(above+area.height(), margin+leastHigh) + margin}
	page.Items = append(drawn(laid, geometry.Point{X: margin, Y: page.Height - margin}.Sub(geometry.Point{X: area.lo.X, Y: area.hi.Y})), items...)
	page.Items = append(page.Items, bars(window)...)
	return page
}

func stripWidth(columns int) float64 {
	return squareMM + apart + squareIn + float64(columns)*(apart+textWidth)
}

// stripWords returns the words of one large page, in columns to the right of
// the squares, and where the longest column ends. The corner is the upper left
// one of the strip.
func stripWords(title string, pieces []Piece, corner geometry.Point, columns int, window box) (items []export.Item, bottom float64) {
	first := column{at: corner.Add(geometry.Vec{X: stripWidth(0) + apart}), width: textWidth}
	first.add(7, true, short(title, 60))
	first.skip(1)
	first.add(noteSize, false, "True size. Print at 100\u00a0%, not “fit to page”.")
	aboutPrint(&first, pieces, window, false)
	second := &first
	if columns > 1 {
		second = &column{at: corner.Add(geometry.Vec{X: stripWidth(1) + apart}), width: textWidth}
	}
	cautions(second)
	aboutPieces(second, pieces, corner.Y-stripHigh)
	items = first.items
	if columns > 1 {
		items = append(items, second.items...)
	}
	return items, math.Min(first.at.Y, second.at.Y)
}
