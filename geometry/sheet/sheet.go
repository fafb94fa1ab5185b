package sheet

import (
	"fmt"
	"io"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// PDF writes the pieces at true size on the paper of the options: page one with
// test squares and the map of the sheets, then the tiles; or one large page. An
// empty title is replaced by the first piece's name. It fails with ErrNoPiece, ErrOutline, ErrMargin, ErrTooLarge, ErrNoTile, or when
// w fails.
func PDF(w io.Writer, title string, pieces []Piece, opt Options) error {
	d, err := Draw(title, pieces, opt)
	if err != nil {
		return err
	}
	return export.WritePDF(w, d)
}

// SVG writes the pieces at true size on one page with a margin, without squares
// and instructions, one group a layer. It fails as PDF does.
func SVG(w io.Writer, title string, pieces []Piece, opt Options) error {
	page, err := bare(pieces, opt)
	if err != nil {
		return err
	}
	return export.WriteSVG(w, title, page)
}

// PNG writes a picture of what SVG writes, to look at; see Options.PxPerMM. It
// fails as PDF does.
func PNG(w io.Writer, pieces []Piece, opt Options) error {
	page, err := bare(pieces, opt)
	if err != nil {
		return err
	}
	scale := opt.PxPerMM
	if scale <= 0 {
		const usual, largest = 4.0, 16e6
		scale = math.Min(usual, math.Sqrt(largest/(page.Width*page.Height)))
	}
	return export.WritePNG(w, page, scale)
}

// Draw returns the pages that PDF writes, and fails as it does.
func Draw(title string, pieces []Piece, opt Options) (export.Drawing, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return export.Drawing{}, err
	}
	pieces, err = checked(pieces)
	if err != nil {
		return export.Drawing{}, err
	}
	if title == "" {
		title = pieces[0].Name
	}
	if opt.Paper == One {
		if len(opt.Tiles) > 0 {
			return export.Drawing{}, fmt.Errorf("sheet: %q: one large page has no tiles: %w", opt.Tiles[0], ErrNoTile)
		}
		return export.Drawing{Title: title, Pages: []export.Page{onePage(title, pieces, opt.MarginMM)}}, nil
	}
	return tilePages(title, pieces, opt)
}

// bare returns the pieces side by side on a page of their own size.
func bare(pieces []Piece, opt Options) (export.Page, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return export.Page{}, err
	}
	if pieces, err = checked(pieces); err != nil {
		return export.Page{}, err
	}
	laid := oneSheet(pieces)
	area := boundsOf(laid)
	return export.Page{
		Width: area.width() + 2*opt.MarginMM, Height: area.height() + 2*opt.MarginMM,
		Items: drawn(laid, geometry.Point{X: opt.MarginMM, Y: opt.MarginMM}.Sub(area.lo)),
	}, nil
}

// rowWidth is the room for pieces side by side on one large page, in mm: an A0
// sheet or a roll of 33 in less margins.
const rowWidth = 820.0

// oneSheet lays all pieces in rows.
func oneSheet(pieces []Piece) []Piece {
	width := rowWidth
	for _, p := range pieces {
		width = math.Max(width, boundsOf([]Piece{p}).width())
	}
	return shelves(pieces, width, math.Inf(1))[0]
}

// drawn returns the pieces' art, moved.
func drawn(pieces []Piece, move geometry.Vec) []export.Item {
	var items []export.Item
	for _, p := range pieces {
		p = p.moved(move)
		items = append(items, p.art(newPlan(p, nil))...)
	}
	return items
}
