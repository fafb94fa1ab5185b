package sheet

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

const (
	textWidth = 82.0 // of a column of words
	apart     = 10.0 // between what stands in the block
	leastHigh = 262.0
)

// layOne lays all pieces on one page as long as they need, below and beside a
// block at its upper left; the origin of the places is the upper left corner
// inside the margins. It fails as together does.
func layOne(title string, pieces []Piece, opt Options) (leaf, []Piece, error) {
	page := opt.leaf(false)
	if opt.Paper.Width == 0 {
		page.width = rowWidth + 2*opt.MarginMM
		for _, p := range pieces {
			b := p.reach().grown(lineRoom)
			page.width = math.Max(page.width, math.Min(b.width(), b.height())/page.across+2*opt.MarginMM)
		}
	}
	width := page.inner().width()
	size := blockSize(title, pieces, width, page, nil)
	placed, err := together(pieces, width, size)
	if err != nil {
		return leaf{}, nil, err
	}
	high := math.Max(math.Max(size.height(), -reachOf(placed).lo.Y+lineRoom), leastHigh)
	page.height = high/page.up + 2*opt.MarginMM
	return page, placed, nil
}

// onePage returns all pieces on one page, with the squares, bars and words. It
// fails as together does.
func onePage(title string, pieces []Piece, opt Options) (export.Page, error) {
	page, placed, err := layOne(title, pieces, opt)
	if err != nil {
		return export.Page{}, err
	}
	window := page.inner()
	top := geometry.Point{X: window.lo.X, Y: window.hi.Y}
	size := blockSize(title, pieces, window.width(), page, nil)
	items := drawn(placed, top.Sub(geometry.Point{}))
	items = append(items, blockItems(title, pieces, top, size.width(), page, nil)...)
	items = append(items, bars(window)...)
	return export.Page{Width: page.width, Height: page.height, Stretch: page.stretch(), Items: items}, nil
}

// blockSize returns the room of the block at the upper left of the first sheet,
// as many columns wide as are useful: a layout is given where sheets are joined.
func blockSize(title string, pieces []Piece, width float64, page leaf, l *layout) box {
	for columns := 2.0; columns >= 0; columns-- {
		wide := blockWidth(columns)
		if wide > width {
			continue
		}
		low := blockFoot(blockItems(title, pieces, geometry.Point{}, wide, page, l))
		return box{geometry.Point{X: 0, Y: low}, geometry.Point{X: wide, Y: 0}}
	}
	return box{}
}

func blockWidth(columns float64) float64 {
	return squareMM + apart + squareIn + columns*(apart+textWidth)
}

// blockFoot returns how far down the items reach.
func blockFoot(items []export.Item) float64 {
	foot := 0.0
	for _, it := range items {
		switch it := it.(type) {
		case export.Text:
			foot = math.Min(foot, it.At.Y-it.Size)
		case export.Shape:
			for _, c := range it.Contours {
				for _, k := range c.Knots {
					foot = math.Min(foot, k.At.Y)
				}
			}
		}
	}
	return foot
}

// blockItems returns the squares, the words and, on sheets that are joined, the
// map, from an upper left corner.
func blockItems(title string, pieces []Piece, corner geometry.Point, width float64, page leaf, l *layout) []export.Item {
	const mapHigh = 78.0
	low := corner.Add(geometry.Vec{Y: -squareIn})
	items := square(low, squareMM, "100\u00a0mm")
	second := low.Add(geometry.Vec{X: squareMM + apart})
	items = append(items, square(second, squareIn, "4\u00a0in")...)
	inside := column{at: second.Add(geometry.Vec{X: 9, Y: squareIn - 5}), width: squareIn - 16}
	legend(&inside, pieces)
	if l != nil {
		items = append(items, l.mapItems(box{low.Add(geometry.Vec{X: 9, Y: 9}), low.Add(geometry.Vec{X: squareMM - 5, Y: 9 + mapHigh})})...)
	}
	columns := []*column{{at: low.Add(geometry.Vec{Y: -4}), width: math.Min(width, blockWidth(0))}}
	for x := blockWidth(0) + apart; x+textWidth <= width+0.1; x += textWidth + apart {
		columns = append(columns, &column{at: corner.Add(geometry.Vec{X: x}), width: textWidth})
	}
	at := func(k int) *column { return columns[min(k, len(columns)-1)] }
	if len(columns) > 1 {
		columns = columns[1:]
	}
	first := at(0)
	first.add(7, true, short(title, 60))
	first.skip(1)
	first.add(noteSize, false, "True size. Print at 100\u00a0%, not “fit to page”.")
	if s := page.corrected(); s != "" {
		first.skip(1)
		first.add(bodySize, true, s)
	}
	aboutPrint(first, pieces, l != nil)
	if l != nil {
		joining(at(1), len(l.tiles), l.joints())
	}
	cautions(first)
	aboutPieces(at(1), pieces, l, corner.Y-260)
	items = append(items, inside.items...)
	for _, c := range columns {
		items = append(items, c.items...)
	}
	return items
}
