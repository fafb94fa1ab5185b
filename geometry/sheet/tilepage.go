package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

const (
	// diamondMM is half the diagonal of an alignment diamond.
	diamondMM = 4.5
	// The distance of a diamond from the end of its join: far enough apart to
	// tell a turn, clear of the long bars, and not in each other's way where an
	// upright and a level join meet.
	diamondFromSide = 12.0 // on level joins
	diamondFromFoot = 24.0 // on upright joins
)

// tilePages returns page one and the tiles, or only the tiles that were asked
// for.
func tilePages(title string, pieces []Piece, opt Options) (export.Drawing, error) {
	groups, err := arrange(pieces, opt.Paper, opt.MarginMM)
	if err != nil {
		return export.Drawing{}, err
	}
	d := export.Drawing{Title: title, Pages: []export.Page{coverPage(title, groups, opt)}}
	total := 1
	for _, g := range groups {
		total += len(g.tiles)
	}
	var names []string
	wanted := func(name string) bool {
		return len(opt.Tiles) == 0 || slices.ContainsFunc(opt.Tiles, func(w string) bool { return strings.EqualFold(strings.TrimSpace(w), name) })
	}
	if len(opt.Tiles) > 0 {
		d.Pages = nil
	}
	number := 1
	for _, g := range groups {
		art := g.art()
		for _, t := range g.tiles {
			number++
			names = append(names, g.name(t))
			if wanted(g.name(t)) {
				foot := fmt.Sprintf("%s · page %d of %d", short(title, 60), number, total)
				d.Pages = append(d.Pages, g.page(t, art, opt.MarginMM, foot))
			}
		}
	}
	for _, w := range opt.Tiles {
		if !slices.ContainsFunc(names, func(n string) bool { return strings.EqualFold(strings.TrimSpace(w), n) }) {
			return export.Drawing{}, fmt.Errorf("sheet: %q: %w; there are %s", w, ErrNoTile, strings.Join(names, ", "))
		}
	}
	return d, nil
}

// artwork is what a grid's tiles show, in the grid's frame, and what their
// furniture keeps away from.
type artwork struct {
	items  []export.Item
	rings  []geometry.Polyline
	labels []box
}

func (t tiled) art() artwork {
	var a artwork
	for _, p := range t.pieces {
		at := newPlan(p, &t.grid)
		a.items = append(a.items, p.art(at)...)
		a.rings = append(a.rings, p.coarse()...)
		a.labels = append(a.labels, at.label.box)
		if at.grain != nil {
			a.rings = append(a.rings, at.grain)
		}
	}
	return a
}

// page returns one tile as a page with margin m.
func (t tiled) page(at tile, art artwork, m float64, foot string) export.Page {
	window := t.window(at)
	move := geometry.Point{X: m, Y: m}.Sub(window.lo)
	onPage := window.moved(move)
	items := []export.Item{export.Window{Lo: onPage.lo, Hi: onPage.hi, Move: move, Items: art.items}}
	for _, j := range t.joins(at) {
		items = append(items, j.moved(move).items()...)
	}
	items = append(items, bars(onPage)...)
	items = append(items, t.badge(at, art, move, foot)...)
	return export.Page{Width: t.paper.Width, Height: t.paper.Height, Items: items}
}

// join is a join line of a tile with one neighbour.
type join struct {
	a, b geometry.Point // ends, left to right or bottom to top
	// over says that this tile is cut along the line and laid over the other.
	over bool
	// within is the direction from the line to this tile's own side.
	within geometry.Vec
	other  string
	number int
}

// joins returns the join lines of a tile in the grid's frame. Both neighbours
// get the same line and number.
func (t tiled) joins(at tile) []join {
	w := t.window(at)
	left, right := w.lo.X+joinMM, w.hi.X-joinMM
	low, high := w.lo.Y+joinMM, w.hi.Y-joinMM
	pt := func(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }
	var out []join
	for _, c := range []struct {
		to   tile
		line join
	}{
		{tile{at.col - 1, at.row}, join{a: pt(left, w.lo.Y), b: pt(left, w.hi.Y), over: true, within: geometry.Vec{X: 1}}},
		{tile{at.col + 1, at.row}, join{a: pt(right, w.lo.Y), b: pt(right, w.hi.Y), within: geometry.Vec{X: -1}}},
		{tile{at.col, at.row - 1}, join{a: pt(w.lo.X, high), b: pt(w.hi.X, high), over: true, within: geometry.Vec{Y: -1}}},
		{tile{at.col, at.row + 1}, join{a: pt(w.lo.X, low), b: pt(w.hi.X, low), within: geometry.Vec{Y: 1}}},
	} {
		if !t.has(c.to) {
			continue
		}
		c.line.other = t.name(c.to)
		c.line.number = t.joinNumber(at, c.to)
		out = append(out, c.line)
	}
	return out
}

// joinNumber numbers the joins of a grid from 1, tile by tile: first the one to
// the right, then the one below.
func (t tiled) joinNumber(a, b tile) int {
	if b.row < a.row || b.col < a.col {
		a, b = b, a
	}
	n := 0
	for _, at := range t.tiles {
		for _, next := range []tile{{at.col + 1, at.row}, {at.col, at.row + 1}} {
			if t.has(next) {
				n++
			}
			if at == a && next == b {
				return n
			}
		}
	}
	return n
}

func (j join) moved(v geometry.Vec) join {
	j.a, j.b = j.a.Add(v), j.b.Add(v)
	return j
}

func (j join) fromEnd() float64 {
	if j.within.X != 0 {
		return diamondFromFoot
	}
	return diamondFromSide
}

// diamonds returns the centres of the two alignment diamonds.
func (j join) diamonds() [2]geometry.Point {
	u := j.b.Sub(j.a).Unit().Scale(j.fromEnd())
	return [2]geometry.Point{j.a.Add(u), j.b.Add(u.Scale(-1))}
}

func (j join) items() []export.Item {
	pen, text := stripPen, j.other+" lies over this strip, up to the line"
	if j.over {
		pen, text = joinPen, "cut along this line, lay over "+j.other
	}
	items := []export.Item{export.Line(LayerJoin, pen, j.a, j.b)}
	along := j.b.Sub(j.a).Unit()
	for _, c := range j.diamonds() {
		items = append(items, diamond(c, along, fmt.Sprint(j.number))...)
	}
	// Texts read from left to right, or from below upwards, on the own side of
	// the line, next to the first diamond.
	const size, off = 2.8, 1.4
	at := j.a.Add(along.Scale(j.fromEnd() + diamondMM + 4)).Add(j.within.Scale(off))
	if up := along.Perp(); up.Dot(j.within) < 0 {
		at = at.Add(j.within.Scale(0.72 * size))
	}
	return append(items, export.Text{Layer: LayerJoin, At: at, Size: size, Ink: export.Grey, Turn: math.Atan2(along.Y, along.X), Content: text})
}

// diamond returns an alignment mark on a join line: a diamond cut in two by the
// line, with the number of the join in both halves.
func diamond(c geometry.Point, along geometry.Vec, number string) []export.Item {
	u, v := along.Scale(diamondMM), along.Perp().Scale(diamondMM)
	items := []export.Item{
		export.Polygon(LayerJoin, export.Pen{Width: 0.25, Ink: 0.7}, export.NoInk, c.Add(u), c.Add(v), c.Add(u.Scale(-1)), c.Add(v.Scale(-1))),
	}
	const size, fromLine = 2.4, 1.7
	for _, side := range []float64{-1, 1} {
		at := c.Add(along.Perp().Scale(fromLine * side)).Add(geometry.Vec{Y: -0.36 * size})
		items = append(items, export.Text{Layer: LayerJoin, At: at, Size: size, Ink: 0.7, Align: export.AlignCentre, Content: number})
	}
	return items
}

// badge returns the tile's name, large and pale, with its page and how to print
// it, where it is least in the way.
func (t tiled) badge(at tile, art artwork, move geometry.Vec, foot string) []export.Item {
	const width, height, big = 62.0, 24.0, 15.0
	area := t.core(at).grown(-8)
	best, place := math.Inf(-1), area.centre()
	const steps = 8
	for i := range steps + 1 {
		for k := range steps + 1 {
			c := geometry.Point{
				X: area.lo.X + width/2 + (area.width()-width)*float64(i)/steps,
				Y: area.hi.Y - height/2 - (area.height()-height)*float64(k)/steps,
			}
			b := around(c, width, height)
			score := room(b, art.rings)
			for _, l := range art.labels {
				score = math.Min(score, b.gap(l))
			}
			// The upper left corner is where people look first.
			if score = math.Min(score, 12) - 0.1*float64(i+k); score > best {
				best, place = score, c
			}
		}
	}
	corner := around(place, width, height).moved(move)
	line := func(y, size float64, bold bool, ink export.Ink, s string) export.Item {
		return export.Text{Layer: LayerJoin, At: geometry.Point{X: corner.lo.X, Y: corner.hi.Y - y}, Size: size, Bold: bold, Ink: ink, Content: s}
	}
	items := []export.Item{line(0.72*big, big, true, export.Pale, t.name(at))}
	y := 0.72*big + 5
	for _, s := range append(export.Wrap(foot, tinySize, width, false), "Print at 100 %, not “fit to page”.") {
		items = append(items, line(y, tinySize, false, export.Grey, s))
		y += tinySize * leading
	}
	return items
}
