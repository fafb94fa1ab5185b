package sheet

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
)

const (
	overlapMM = 10.0
	// joinMM is the distance of a join line from the window's edge.
	joinMM = overlapMM / 2
	// lineRoom keeps the widest line's own width inside the window.
	lineRoom = 1.5
	// maxTiles bounds a print; 400 sheets of A4 are 20 square metres.
	maxTiles = 400
)

// tile is one sheet of a grid: column from the left, row from the top, both
// counted from 0.
type tile struct{ col, row int }

func byRow(a, b tile) int { return cmp.Or(cmp.Compare(a.row, b.row), cmp.Compare(a.col, b.col)) }

// grid covers the plane with windows of one size, overlapping by overlapMM. The
// upper left corner of the first window is the origin; rows run down.
type grid struct{ width, height float64 }

// window returns what a tile shows.
func (g grid) window(t tile) box {
	left, top := float64(t.col)*(g.width-overlapMM), -float64(t.row)*(g.height-overlapMM)
	return box{geometry.Point{X: left, Y: top - g.height}, geometry.Point{X: left + g.width, Y: top}}
}

// span returns the fewest windows of a size, counted from 0, that show the
// stretch from lo to hi.
func span(lo, hi, size float64) (first, last int) {
	// A thousandth of a millimetre over the window is still shown: lines have
	// lineRoom to spare.
	const spare = 1e-3
	step := size - overlapMM
	first = int(math.Floor((lo + spare) / step))
	last = int(math.Ceil((hi - size - spare) / step))
	return first, max(first, last)
}

// spans returns the columns and rows that a box needs.
func (g grid) spans(b box) (first, last tile) {
	c0, c1 := span(b.lo.X, b.hi.X, g.width)
	r0, r1 := span(-b.hi.Y, -b.lo.Y, g.height)
	return tile{c0, r0}, tile{c1, r1}
}

// core returns what is left to see of a tile, among those from first to last,
// after joining: its window up to the join lines.
func (g grid) core(t, first, last tile) box {
	b := g.window(t)
	if t.col > first.col {
		b.lo.X += joinMM
	}
	if t.col < last.col {
		b.hi.X -= joinMM
	}
	if t.row > first.row {
		b.hi.Y -= joinMM
	}
	if t.row < last.row {
		b.lo.Y += joinMM
	}
	return b
}

// tilesOf returns the tiles, row by row, whose core shows any part of a piece,
// its inside included: a tile inside a piece without a line on it is paper that
// the piece needs.
func (g grid) tilesOf(p Piece) []tile {
	rings := p.rings()
	first, last := g.spans(p.reach().grown(lineRoom))
	var out []tile
	for row := first.row; row <= last.row; row++ {
		for col := first.col; col <= last.col; col++ {
			core := g.core(tile{col, row}, first, last)
			if core.touched(rings) || within(rings, core.centre()) || slices.ContainsFunc(p.details(), core.shows) {
				out = append(out, tile{col, row})
			}
		}
	}
	return out
}

// shows reports whether an open line passes through the box.
func (b box) shows(line []geometry.Point) bool {
	for i, q := range line {
		if b.crosses(line[max(i-1, 0)], q) {
			return true
		}
	}
	return false
}

// laid is a piece in its place, with the tiles that show it.
type laid struct {
	Piece
	tiles []tile
}

// layout is a print on tiles: pieces in their places, and the tiles that show
// them.
type layout struct {
	grid
	leaf  leaf
	laid  []laid
	tiles []tile
	// block is the room kept for instructions on the first tile; empty for none.
	block box
}

// newLayout lists the tiles of pieces in their places.
func newLayout(g grid, l leaf, pieces []Piece, block box) layout {
	out := layout{grid: g, leaf: l, block: block}
	if block != (box{}) {
		out.tiles = append(out.tiles, tile{})
	}
	for _, p := range pieces {
		tiles := g.tilesOf(p)
		out.laid = append(out.laid, laid{p, tiles})
		out.tiles = append(out.tiles, tiles...)
	}
	slices.SortFunc(out.tiles, byRow)
	out.tiles = slices.Compact(out.tiles)
	return out
}

// joined reports whether two neighbours are to be joined: a piece runs over both.
func (l layout) joined(a, b tile) bool {
	return slices.ContainsFunc(l.laid, func(p laid) bool { return slices.Contains(p.tiles, a) && slices.Contains(p.tiles, b) })
}

// joints returns how many joins there are.
func (l layout) joints() int {
	n := 0
	for _, t := range l.tiles {
		for _, next := range []tile{{t.col + 1, t.row}, {t.col, t.row + 1}} {
			if l.joined(t, next) {
				n++
			}
		}
	}
	return n
}

// core returns what is left to see of a tile after joining.
func (l layout) core(t tile) box {
	first, last := t, t
	if l.joined(t, tile{t.col - 1, t.row}) {
		first.col--
	}
	if l.joined(t, tile{t.col + 1, t.row}) {
		last.col++
	}
	if l.joined(t, tile{t.col, t.row - 1}) {
		first.row--
	}
	if l.joined(t, tile{t.col, t.row + 1}) {
		last.row++
	}
	return l.grid.core(t, first, last)
}

// shown returns the pieces that are drawn on a tile: those that need it, and
// those of the tiles it is joined with, which the overlap shows too.
func (l layout) shown(t tile) []int {
	var out []int
	for i, p := range l.laid {
		if slices.ContainsFunc(p.tiles, func(u tile) bool {
			return u == t || abs(u.col-t.col) <= 1 && abs(u.row-t.row) <= 1 && l.linked(t, u)
		}) {
			out = append(out, i)
		}
	}
	return out
}

// linked reports whether two tiles that touch, at a side or a corner, hang
// together through joins.
func (l layout) linked(a, b tile) bool {
	if a.col == b.col || a.row == b.row {
		return l.joined(a, b)
	}
	over, under := tile{a.col, b.row}, tile{b.col, a.row}
	return l.joined(a, over) && l.joined(over, b) || l.joined(a, under) && l.joined(under, b)
}

func abs(n int) int { return max(n, -n) }

// name returns a tile's row letters and column number, such as B2.
func (t tile) name() string { return fmt.Sprintf("%s%d", letters(t.row), t.col+1) }

// tileList names the tiles of a piece, row by row, runs shortened: A1–A4, B2.
func tileList(tiles []tile) string {
	var out []string
	for i := 0; i < len(tiles); {
		k := i
		for k+1 < len(tiles) && tiles[k+1] == (tile{tiles[k].col + 1, tiles[k].row}) {
			k++
		}
		name := tiles[i].name()
		if k > i {
			name += "–" + tiles[k].name()
		}
		out = append(out, name)
		i = k + 1
	}
	return strings.Join(out, ", ")
}

// letters returns A, B ... Z, AA, AB ... for 0, 1 ...
func letters(n int) string {
	var b strings.Builder
	if n >= 26 {
		b.WriteString(letters(n/26 - 1))
	}
	b.WriteByte(byte('A' + n%26))
	return b.String()
}
