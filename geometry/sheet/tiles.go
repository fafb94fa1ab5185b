package sheet

import (
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
	// lineRoom keeps the outline's own width inside the window.
	lineRoom = 1.0
	// maxTiles bounds a print; 400 sheets of A4 are 20 square metres.
	maxTiles = 400
	// tries is how many places of the grid under the pieces are tried in each
	// direction, to need fewer tiles.
	tries = 5
)

// tile is one sheet of a grid: column from the left, row from the top, both
// counted from 0.
type tile struct{ col, row int }

// grid covers an area with overlapping windows of one size.
type grid struct {
	cols, rows    int
	width, height float64        // of a window, mm
	origin        geometry.Point // lower left corner of the lower left window
}

// count returns how many windows cover a length when neighbours share overlap.
func count(length, window, overlap float64) int {
	// A thousandth of a millimetre over the window is still covered: lines
	// have lineRoom to spare.
	return 1 + int(math.Max(0, math.Ceil((length-window-1e-3)/(window-overlap))))
}

// newGrid returns the smallest grid that covers the box, centred on it.
func newGrid(area box, width, height float64) grid {
	g := grid{
		cols: count(area.width(), width, overlapMM), rows: count(area.height(), height, overlapMM),
		width: width, height: height,
	}
	size := g.size()
	g.origin = area.centre().Add(size.Scale(-0.5))
	return g
}

func (g grid) size() geometry.Vec {
	return geometry.Vec{
		X: g.width + float64(g.cols-1)*(g.width-overlapMM),
		Y: g.height + float64(g.rows-1)*(g.height-overlapMM),
	}
}

// window returns what a tile shows.
func (g grid) window(t tile) box {
	lo := g.origin.Add(geometry.Vec{
		X: float64(t.col) * (g.width - overlapMM),
		Y: float64(g.rows-1-t.row) * (g.height - overlapMM),
	})
	return box{lo, lo.Add(geometry.Vec{X: g.width, Y: g.height})}
}

// core returns what is left to see of a tile after joining: its window up to
// the join lines, and to the edge where the grid ends.
func (g grid) core(t tile) box {
	b := g.window(t)
	if t.col > 0 {
		b.lo.X += joinMM
	}
	if t.col < g.cols-1 {
		b.hi.X -= joinMM
	}
	if t.row > 0 {
		b.hi.Y -= joinMM
	}
	if t.row < g.rows-1 {
		b.lo.Y += joinMM
	}
	return b
}

// needed returns the tiles, row by row, whose core shows any part of a piece,
// its inside included: a tile inside a piece without a line on it is paper that
// the piece needs.
func (g grid) needed(shapes [][]geometry.Polyline) []tile {
	var out []tile
	for row := range g.rows {
		for col := range g.cols {
			t := tile{col, row}
			core := g.core(t)
			if slices.ContainsFunc(shapes, func(rings []geometry.Polyline) bool {
				return core.touched(rings) || within(rings, core.centre())
			}) {
				out = append(out, t)
			}
		}
	}
	return out
}

// tiled is a grid on pieces, with its tiles.
type tiled struct {
	grid
	paper  Paper // upright or on its side
	pieces []Piece
	tiles  []tile
	// firstRow is the number of rows of the grids before.
	firstRow int
	// blank is how many tiles of the grid were left out.
	blank int
}

// tileUp lays the best grid over pieces that are joined as one, on paper with a
// margin.
func tileUp(pieces []Piece, paper Paper, margin float64) (tiled, error) {
	width, height := paper.Width-2*margin, paper.Height-2*margin
	area := boundsOf(pieces).grown(lineRoom)
	g := newGrid(area, width, height)
	if n := g.cols * g.rows; n > maxTiles {
		return tiled{}, fmt.Errorf("sheet: %s would need %d sheets of paper: %w", pieces[0].Name, n, ErrTooLarge)
	}
	var shapes [][]geometry.Polyline
	for _, p := range pieces {
		shapes = append(shapes, p.rings())
	}
	best := tiled{grid: g, paper: paper, pieces: pieces, tiles: g.needed(shapes)}
	spare := g.size().Add(geometry.Vec{X: -area.width(), Y: -area.height()})
	for _, s := range shifts() {
		moved := g
		moved.origin = g.origin.Add(geometry.Vec{X: s.X * spare.X, Y: s.Y * spare.Y})
		if tiles := moved.needed(shapes); len(tiles) < len(best.tiles) {
			best.grid, best.tiles = moved, tiles
		}
	}
	best.blank = g.cols*g.rows - len(best.tiles)
	return best, nil
}

// shifts returns moves of the grid as fractions of the spare room, the smallest
// first, so that of equally good places the most central is taken.
func shifts() []geometry.Vec {
	var out []geometry.Vec
	for i := range tries {
		for j := range tries {
			at := func(k int) float64 { return (float64(k)/(tries-1) - 0.5) * 0.999 }
			out = append(out, geometry.Vec{X: at(i), Y: at(j)})
		}
	}
	slices.SortStableFunc(out, func(a, b geometry.Vec) int {
		switch la, lb := a.Len(), b.Len(); {
		case la < lb-1e-9:
			return -1
		case la > lb+1e-9:
			return 1
		}
		return 0
	})
	return out
}

// name returns a tile's row letters and column number, such as B2.
func (t tiled) name(at tile) string { return fmt.Sprintf("%s%d", letters(t.firstRow+at.row), at.col+1) }

// has reports whether the tile is printed.
func (t tiled) has(at tile) bool { return slices.Contains(t.tiles, at) }

// letters returns A, B ... Z, AA, AB ... for 0, 1 ...
func letters(n int) string {
	var b strings.Builder
	if n >= 26 {
		b.WriteString(letters(n/26 - 1))
	}
	b.WriteByte(byte('A' + n%26))
	return b.String()
}

func boundsOf(pieces []Piece) box {
	b := box{}
	for i, p := range pieces {
		lo, hi := p.bounds()
		if i == 0 {
			b = box{lo, hi}
		}
		b.lo = geometry.Point{X: math.Min(b.lo.X, lo.X), Y: math.Min(b.lo.Y, lo.Y)}
		b.hi = geometry.Point{X: math.Max(b.hi.X, hi.X), Y: math.Max(b.hi.Y, hi.Y)}
	}
	return b
}
