package sheet

import (
	"cmp"
	"fmt"
	"math"

	"secondcut/geometry"
)

// rowWidth is the room for pieces side by side on one large page, in mm: an A0
// sheet or a roll of 33 in less margins.
const rowWidth = 820.0

// The longest piece that goes on one page, and the longest roll, which is cut into
// [Lengths], in mm.
const (
	maxPageMM = 5080.0
	maxRollMM = 4 * maxPageMM
)

// arrange lays the pieces on as few sheets as it finds, upright or on their sides,
// with room for a block on the first. Of equally few it takes the one with the
// fewest joins. It fails with ErrTooLarge.
func arrange(pieces []Piece, opt Options, block box) (layout, error) {
	var best layout
	found := false
	for _, turned := range []bool{false, true} {
		l := opt.leaf(turned)
		g := grid{l.inner().width(), l.inner().height()}
		if block.width() > g.width || block.height() > g.height {
			continue
		}
		widest := 1
		for _, p := range pieces {
			n, err := p.tilesAlone(g)
			if err != nil {
				return layout{}, err
			}
			widest = max(widest, n)
		}
		packing := newPacking(g, false, pieces)
		for _, cols := range []int{widest, widest + 1, widest + 3} {
			for _, order := range orders(pieces) {
				placed, ok := packing.pack(cols, order, block)
				if !ok {
					continue
				}
				next := newLayout(g, l, placed, block)
				if !found || better(next, best) {
					best, found = next, true
				}
			}
		}
	}
	if !found || len(best.tiles) > maxTiles {
		return layout{}, fmt.Errorf("sheet: %d sheets of paper: %w", len(best.tiles), ErrTooLarge)
	}
	return best, nil
}

// better reports whether a needs fewer sheets than b, or as many and less work.
func better(a, b layout) bool {
	return cmp.Or(cmp.Compare(len(a.tiles), len(b.tiles)), cmp.Compare(a.work(), b.work())) < 0
}

// work is how much there is to join, in joins: 200 mm more of length, which is
// hard to see on the map and to lay on a table, count as one more (judgement).
func (l layout) work() float64 {
	var corners []geometry.Point
	for _, t := range l.tiles {
		w := l.window(t)
		corners = append(corners, w.lo, w.hi)
	}
	all := boundsOf(corners)
	return float64(l.joints()) + math.Max(all.width(), all.height())/200
}

// tilesAlone returns how many windows lie side by side under a piece by itself,
// the way in which it is less wide. It fails with ErrTooLarge.
func (p Piece) tilesAlone(g grid) (int, error) {
	b := p.reach().grown(lineRoom)
	across := func(w, h float64) (cols, all int) {
		_, c := span(0, w, g.width)
		_, r := span(0, h, g.height)
		return c + 1, (c + 1) * (r + 1)
	}
	// Twice, since a slanting piece leaves blank sheets out.
	if _, all := across(b.width(), b.height()); all > 2*maxTiles {
		return 0, fmt.Errorf("sheet: %s would need some %d sheets of paper: %w", p.Name, all, ErrTooLarge)
	}
	upright, _ := across(b.width(), b.height())
	lying, _ := across(b.height(), b.width())
	return min(upright, lying), nil
}

// together lays the pieces on one page of a width inside its margins, as short as
// it finds, with room for a block at its upper left. It fails with ErrRoll and
// ErrTooLarge.
func together(pieces []Piece, width float64, block box) ([]Piece, error) {
	for _, p := range pieces {
		b := p.reach().grown(lineRoom)
		if math.Min(b.width(), b.height()) > width+1e-6 {
			return nil, fmt.Errorf("sheet: %s: %w", p.Name, ErrRoll)
		}
		if math.Max(b.width(), b.height()) > maxPageMM {
			return nil, fmt.Errorf("sheet: %s is %.0f mm long, and a page has at most %.0f mm: %w", p.Name, math.Max(b.width(), b.height()), maxPageMM, ErrTooLarge)
		}
	}
	var best []Piece
	least := math.Inf(1)
	packing := newPacking(grid{width, maxRollMM}, true, pieces)
	for _, order := range orders(pieces) {
		placed, ok := packing.pack(1, order, block)
		if ok && -reachOf(placed).lo.Y < least {
			best, least = placed, -reachOf(placed).lo.Y
		}
	}
	if best == nil || least > maxRollMM {
		return nil, fmt.Errorf("sheet: a page of %.0f mm: %w", least, ErrTooLarge)
	}
	return best, nil
}

// sideBySide lays the pieces as they are, not turned, in rows of at most width mm.
func sideBySide(pieces []Piece) []Piece {
	width := rowWidth
	for _, p := range pieces {
		width = math.Max(width, p.reach().width())
	}
	out := make([]Piece, len(pieces))
	var x, top, bottom float64 // next free place, upper and lower end of the row
	for _, i := range orders(pieces)[0] {
		b := pieces[i].reach()
		if x > 0 && x+b.width() > width {
			x, top = 0, bottom-gapMM
			bottom = top
		}
		out[i] = pieces[i].moved(geometry.Point{X: x, Y: top}.Sub(geometry.Point{X: b.lo.X, Y: b.hi.Y}))
		bottom = math.Min(bottom, top-b.height())
		x += b.width() + gapMM
	}
	return out
}

// reachOf returns the smallest box round all that is drawn of pieces.
func reachOf(pieces []Piece) box {
	var lines [][]geometry.Point
	for _, p := range pieces {
		b := p.reach()
		lines = append(lines, []geometry.Point{b.lo, b.hi})
	}
	return boundsOf(lines...)
}
