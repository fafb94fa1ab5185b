package sheet

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
)

const (
	// gapMM is the room between pieces, at least.
	gapMM = 8.0
	// cellMM is about the size of the cells that pieces are packed on.
	cellMM = 5.0
	// stride is by how many cells pieces are moved to find their places.
	stride = 2
)

// stance is a piece as it may lie, turned by quarters, as cells. Its first cell's
// upper left corner is that of the piece and its lineRoom.
type stance struct {
	quarters int
	width    float64 // mm, lineRoom included
	raw, fat cells   // the piece, and with the gap round it
	// tiles are those under the piece for each place within a tile, relative to
	// the tile that holds its upper left corner; made when asked for.
	tiles [][]tile
}

// spot is a place for a piece: a stance and its first cell.
type spot struct{ stance, x, y int }

// packer lays pieces on the windows of a grid, one after the other, each where it
// needs the fewest new windows: a greedy bottom-left search on cells (Baker,
// Coffman and Rivest 1980, for rectangles; here for shapes, with sheets as cost).
type packer struct {
	grid
	cols         int // of windows
	single       bool
	nx, ny       int // cells from window to window
	cellX, cellY float64
	gapX, gapY   int
	taken        []bits   // with gapX and gapY more cells before the first
	used         [][]bool // windows, by row and column
	bottom       int      // cells used
}

func newPacker(g grid, cols int, single bool) *packer {
	even := func(step float64) int { return stride * max(1, int(math.Round(step/cellMM/stride))) }
	p := &packer{grid: g, cols: cols, single: single, used: [][]bool{make([]bool, cols)}}
	stepX, stepY := g.width-overlapMM, g.height-overlapMM
	p.nx, p.ny = even(stepX), even(stepY)
	p.cellX, p.cellY = stepX/float64(p.nx), stepY/float64(p.ny)
	p.gapX, p.gapY = int(math.Ceil(gapMM/p.cellX)), int(math.Ceil(gapMM/p.cellY))
	return p
}

// stances returns how a piece may lie: upright, upside down, on either side.
func (p *packer) stances(piece Piece) []stance {
	var out []stance
	for _, quarters := range []int{0, 2, 1, 3} {
		turned := piece.quartered(quarters)
		b := turned.reach().grown(lineRoom)
		s := stance{quarters: quarters, width: b.width()}
		if !p.single {
			s.tiles = make([][]tile, p.nx*p.ny)
		}
		w, h := int(math.Ceil(b.width()/p.cellX)), int(math.Ceil(b.height()/p.cellY))
		s.raw = cellsOf(coarse(turned.paths()...), turned.details(), geometry.Point{X: b.lo.X, Y: b.hi.Y}, p.cellX, p.cellY, w, h)
		s.fat = s.raw.grown(max(p.gapX, p.gapY))
		out = append(out, s)
	}
	return out
}

// keep reserves a block at the upper left corner of the first window.
func (p *packer) keep(block box) {
	w, h := int(math.Ceil(block.width()/p.cellX)), int(math.Ceil(block.height()/p.cellY))
	c := newCells(w, h)
	for _, r := range c.rows {
		r.fill(0, w)
	}
	p.take(c, 0, 0)
	p.used[0][0] = true
}

func (p *packer) border() int { return max(p.gapX, p.gapY) }

// take marks cells as occupied.
func (p *packer) take(c cells, x, y int) {
	p.grow(y + len(c.rows) + 2*p.border())
	for i, r := range c.rows {
		p.taken[y+i+p.border()].add(r, x+p.border())
	}
	p.bottom = max(p.bottom, y+len(c.rows))
}

func (p *packer) grow(rows int) {
	width := int(math.Ceil((float64(p.cols)*p.width)/p.cellX)) + 2*p.border() + 64
	for len(p.taken) < rows {
		p.taken = append(p.taken, newBits(width))
	}
}

// free reports whether a piece may lie at a place.
func (p *packer) free(s *stance, x, y int) bool {
	for i, r := range s.fat.rows {
		if y+i >= len(p.taken) {
			return true
		}
		if p.taken[y+i].meets(r, x) {
			return false
		}
	}
	return true
}

// under returns the tiles under a piece, relative to the one that holds its upper
// left corner.
func (p *packer) under(s *stance, x, y int) []tile {
	if p.single {
		return []tile{{}}
	}
	x, y = x%p.nx, y%p.ny
	if t := s.tiles[y*p.nx+x]; t != nil {
		return t
	}
	_, c1 := span(float64(x)*p.cellX, float64(x)*p.cellX+s.width, p.width)
	_, r1 := span(float64(y)*p.cellY, float64(y+len(s.raw.rows))*p.cellY, p.height)
	joinX, joinY := int(math.Round(joinMM/p.cellX)), int(math.Round(joinMM/p.cellY))
	limits := func(k, last, n, join, at int) (lo, hi int) {
		lo, hi = math.MinInt32, math.MaxInt32
		if k > 0 {
			lo = k*n + join - at
		}
		if k < last {
			hi = (k+1)*n + join - at
		}
		return lo, hi
	}
	var out []tile
	for r := 0; r <= r1; r++ {
		top, foot := limits(r, r1, p.ny, joinY, y)
		for c := 0; c <= c1; c++ {
			left, right := limits(c, c1, p.nx, joinX, x)
			for i := max(top, 0); i < min(foot, len(s.raw.rows)); i++ {
				if s.raw.rows[i].any(left, right) {
					out = append(out, tile{c, r})
					break
				}
			}
		}
	}
	s.tiles[y*p.nx+x] = out
	return out
}

// place finds the best place for a piece and takes it. It returns false when the
// piece is wider than all windows in every stance.
func (p *packer) place(stances []stance) (spot, bool) {
	lowest := len(p.used) * p.ny // a row of windows that is not used yet
	if p.single {
		lowest = p.bottom + p.border()
	}
	best, found := spot{}, false
	var least [4]int
	right := float64(p.cols-1)*(p.width-overlapMM) + p.width + 1e-6
	for y := 0; y <= lowest+stride-1; y += stride {
		for x := 0; x < p.cols*p.nx; x += stride {
			for k := range stances {
				s := &stances[k]
				if float64(x)*p.cellX+s.width > right {
					continue
				}
				tiles := p.under(s, x, y)
				cost := [4]int{0, len(tiles), y + len(s.raw.rows), x}
				col, row := x/p.nx, y/p.ny
				for _, t := range tiles {
					if row+t.row >= len(p.used) || !p.used[row+t.row][col+t.col] {
						cost[0]++
						if found && cost[0] > least[0] {
							break
						}
					}
				}
				if (!found || slices.Compare(cost[:], least[:]) < 0) && p.free(s, x, y) {
					best, least, found = spot{k, x, y}, cost, true
				}
			}
		}
	}
	if !found {
		return spot{}, false
	}
	s := &stances[best.stance]
	for _, t := range p.under(s, best.x, best.y) {
		for len(p.used) <= t.row+best.y/p.ny {
			p.used = append(p.used, make([]bool, p.cols))
		}
		p.used[t.row+best.y/p.ny][t.col+best.x/p.nx] = true
	}
	p.take(s.raw, best.x, best.y)
	return best, true
}

// put returns the piece where the spot says.
func (p *packer) put(piece Piece, s stance, at spot) Piece {
	piece = piece.quartered(s.quarters)
	b := piece.reach().grown(lineRoom)
	return piece.moved(geometry.Point{X: float64(at.x) * p.cellX, Y: -float64(at.y) * p.cellY}.Sub(geometry.Point{X: b.lo.X, Y: b.hi.Y}))
}

// packing is all that laying the same pieces in different ways has in common.
type packing struct {
	grid    grid
	single  bool
	pieces  []Piece
	stances [][]stance
}

func newPacking(g grid, single bool, pieces []Piece) packing {
	p := newPacker(g, 1, single)
	out := packing{grid: g, single: single, pieces: pieces}
	for _, piece := range pieces {
		out.stances = append(out.stances, p.stances(piece))
	}
	return out
}

// pack lays the pieces on windows side by side in the order given, and returns
// them, in their own order, in their places. A block is kept free at the upper
// left. It returns false when a piece is wider than the windows in every stance.
func (a packing) pack(cols int, order []int, block box) ([]Piece, bool) {
	p := newPacker(a.grid, cols, a.single)
	if block != (box{}) {
		p.keep(block)
	}
	out := make([]Piece, len(a.pieces))
	for _, i := range order {
		at, ok := p.place(a.stances[i])
		if !ok {
			return nil, false
		}
		out[i] = p.put(a.pieces[i], a.stances[i][at.stance], at)
	}
	return out, true
}

// orders returns in which orders to try to lay pieces: the largest first, by
// area, by height, by the longer side.
func orders(pieces []Piece) [][]int {
	boxes := make([]box, len(pieces))
	for i, p := range pieces {
		boxes[i] = p.bounds()
	}
	by := func(size func(i int) float64) []int {
		out := make([]int, len(pieces))
		for i := range out {
			out[i] = i
		}
		slices.SortStableFunc(out, func(a, b int) int { return -cmp.Compare(size(a), size(b)) })
		return out
	}
	all := [][]int{
		by(func(i int) float64 { return math.Abs(pieces[i].Outline.Area()) }),
		by(func(i int) float64 { return boxes[i].height() }),
		by(func(i int) float64 { return math.Max(boxes[i].width(), boxes[i].height()) }),
	}
	slices.SortFunc(all, slices.Compare)
	return slices.CompactFunc(all, slices.Equal)
}
