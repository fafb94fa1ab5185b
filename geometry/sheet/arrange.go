package sheet

import (
	"cmp"
	"slices"

	"secondcut/geometry"
)

// gapMM is the room between pieces that share a sheet.
const gapMM = 10.0

// shelves moves the pieces side by side in rows of at most width mm and at most
// height mm together, tallest first, and returns them in as many sheets as that
// takes. A piece that is too large stands alone on a sheet. Pieces are not
// turned: that would turn their grain.
func shelves(pieces []Piece, width, height float64) [][]Piece {
	order := slices.Clone(pieces)
	slices.SortStableFunc(order, func(a, b Piece) int {
		return -cmp.Compare(boundsOf([]Piece{a}).height(), boundsOf([]Piece{b}).height())
	})
	var sheets [][]Piece
	var x, top, bottom float64 // next free place, upper and lower end of the row
	for _, p := range order {
		b := boundsOf([]Piece{p})
		if len(sheets) > 0 && x > 0 && x+b.width() > width {
			x, top = 0, bottom-gapMM
			bottom = top - b.height()
		}
		if len(sheets) == 0 || -(top-b.height()) > height {
			sheets = append(sheets, nil)
			x, top, bottom = 0, 0, -b.height()
		}
		last := len(sheets) - 1
		sheets[last] = append(sheets[last], p.moved(geometry.Point{X: x, Y: top}.Sub(geometry.Point{X: b.lo.X, Y: b.hi.Y})))
		x += b.width() + gapMM
	}
	return sheets
}

// arrange returns the grids of a tiled print: one for each piece that is larger
// than a window, its paper on its side where that takes fewer sheets, and one
// for as many small pieces as share a sheet.
func arrange(pieces []Piece, paper Paper, margin float64) ([]tiled, error) {
	width, height := paper.Width-2*margin-2*lineRoom, paper.Height-2*margin-2*lineRoom
	var small []Piece
	var out []tiled
	for _, p := range pieces {
		if b := boundsOf([]Piece{p}); b.width() <= width && b.height() <= height {
			small = append(small, p)
			continue
		}
		t, err := tileUp([]Piece{p}, paper, margin)
		if err != nil {
			return nil, err
		}
		if side, err := tileUp([]Piece{p}, paper.turned(), margin); err == nil && len(side.tiles) < len(t.tiles) {
			t = side
		}
		out = append(out, t)
	}
	for _, shared := range shelves(small, width, height) {
		t, err := tileUp(shared, paper, margin)
		if err != nil {
			return nil, err
		}
		out = append(out, t)
	}
	rows := 0
	for i := range out {
		out[i].firstRow = rows
		rows += out[i].rows
	}
	return out, nil
}
