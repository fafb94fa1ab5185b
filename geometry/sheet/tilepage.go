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
	l, err := layTiles(title, pieces, opt)
	if err != nil {
		return export.Drawing{}, err
	}
	d := export.Drawing{Title: title}
	cover := 0
	if !opt.Paper.large() {
		cover = 1
		if len(opt.Tiles) == 0 {
			d.Pages = append(d.Pages, coverPage(title, pieces, l, opt))
		}
	}
	same := func(name string) func(string) bool {
		return func(w string) bool { return strings.EqualFold(strings.TrimSpace(w), name) }
	}
	var names []string
	art := l.art()
	for i, t := range l.tiles {
		names = append(names, t.name())
		if len(opt.Tiles) > 0 && !slices.ContainsFunc(opt.Tiles, same(t.name())) {
			continue
		}
		foot := fmt.Sprintf("%s · page %d of %d", short(title, 60), i+1+cover, len(l.tiles)+cover)
		page := l.page(t, art, foot)
		if l.block != (box{}) && t == (tile{}) {
			window := l.leaf.inner()
			page.Items = append(page.Items, blockItems(title, pieces, geometry.Point{X: window.lo.X, Y: window.hi.Y}, l.block.width(), l.leaf, &l)...)
		}
		d.Pages = append(d.Pages, page)
	}
	for _, w := range opt.Tiles {
		if !slices.ContainsFunc(names, func(n string) bool { return same(n)(w) }) {
			return export.Drawing{}, fmt.Errorf("sheet: %q: %w; there are %s", w, ErrNoTile, strings.Join(names, ", "))
		}
	}
	return d, nil
}

// layTiles arranges the pieces, on large paper with room for the instructions.
func layTiles(title string, pieces []Piece, opt Options) (layout, error) {
	if !opt.Paper.large() {
		return arrange(pieces, opt, box{})
	}
	// How high the words are depends on the sheets, and these hardly on it: the
	// words are measured as for several sheets.
	page := opt.leaf(false)
	return arrange(pieces, opt, blockSize(title, pieces, page.inner().width(), page, &layout{grid: grid{1000, 1000}, tiles: make([]tile, 4)}))
}

// artwork is what is drawn of each piece, and what the furniture of tiles keeps
// away from.
type artwork struct {
	items [][]export.Item
	boxes [][]box // of the items
}

func (l layout) art() artwork {
	var a artwork
	for _, p := range l.laid {
		joins := l.joinLines(p)
		items := offJoins(p.art(), joins)
		items = append(items, offJoins(newPlan(p.Piece, items, joins).items(), joins)...)
		boxes := make([]box, len(items))
		for i, it := range items {
			boxes[i] = inked(it)
		}
		a.items, a.boxes = append(a.items, items), append(a.boxes, boxes)
	}
	return a
}

// offJoins moves short texts that lie on joins along their lines, up to a few
// centimetres, to where the fewest joins run through them.
func offJoins(items []export.Item, joins [][]geometry.Point) []export.Item {
	meets := func(t export.Text) (n int) {
		b := boundsOf(textBox(t)).grown(joinMM)
		for _, j := range joins {
			if b.shows(j) {
				n++
			}
		}
		return n
	}
	for i, it := range items {
		t, ok := it.(export.Text)
		if !ok || t.Size > tinySize {
			continue
		}
		sin, cos := math.Sincos(t.Turn)
		least := meets(t)
		for k := 1; k <= 16 && least > 0; k++ {
			moved := t
			moved.At = t.At.Add(geometry.Vec{X: cos, Y: sin}.Scale(float64(1-2*(k%2)) * 3 * float64((k+1)/2)))
			if n := meets(moved); n < least {
				items[i], least = moved, n
			}
		}
	}
	return items
}

// seen returns what a tile shows.
func (l layout) seen(t tile, art artwork) []export.Item {
	window := l.window(t)
	var out []export.Item
	for _, i := range l.shown(t) {
		for k, it := range art.items[i] {
			if art.boxes[i][k].gap(window) < 0 {
				out = append(out, it)
			}
		}
	}
	return out
}

// inked returns the smallest box round what a shape or a text leaves on the page.
func inked(it export.Item) box {
	switch it := it.(type) {
	case export.Text:
		return boundsOf(textBox(it))
	case export.Shape:
		var all []geometry.Point
		for _, c := range it.Contours {
			for _, s := range c.Segments() { // handles hold a curve
				all = append(all, s.A, s.B, s.C, s.D)
			}
		}
		return boundsOf(all).grown(it.Pen.Width / 2)
	}
	return box{}
}

// joinLines returns the join lines that run through a piece.
func (l layout) joinLines(p laid) [][]geometry.Point {
	var out [][]geometry.Point
	for _, t := range p.tiles {
		w := l.window(t)
		if slices.Contains(p.tiles, tile{t.col + 1, t.row}) {
			out = append(out, []geometry.Point{{X: w.hi.X - joinMM, Y: w.lo.Y}, {X: w.hi.X - joinMM, Y: w.hi.Y}})
		}
		if slices.Contains(p.tiles, tile{t.col, t.row + 1}) {
			out = append(out, []geometry.Point{{X: w.lo.X, Y: w.lo.Y + joinMM}, {X: w.hi.X, Y: w.lo.Y + joinMM}})
		}
	}
	return out
}

// belowName is the room between a tile's name and what stands below it, in mm.
const belowName = 2.4

// page returns one tile as a page.
func (l layout) page(t tile, art artwork, foot string) export.Page {
	window, inner := l.window(t), l.leaf.inner()
	move := inner.lo.Sub(window.lo)
	seen := l.seen(t, art)
	items := []export.Item{export.Window{Lo: inner.lo, Hi: inner.hi, Move: move, Items: seen}}
	free := newField(window)
	block(free, seen, geometry.Rigid{}, 0.8)
	for _, j := range l.joins(t) {
		for _, it := range j.items(free) {
			items = append(items, shifted(it, move))
		}
	}
	items = append(items, bars(inner)...)
	items = append(items, l.badge(t, seen, move, foot)...)
	return export.Page{Width: l.leaf.width, Height: l.leaf.height, Stretch: l.leaf.stretch(), Items: items}
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

// joins returns the join lines of a tile. Both neighbours get the same line and
// number.
func (l layout) joins(at tile) []join {
	w := l.window(at)
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
		if !l.joined(at, c.to) {
			continue
		}
		c.line.other = c.to.name()
		c.line.number = l.joinNumber(at, c.to)
		out = append(out, c.line)
	}
	return out
}

// joinNumber numbers the joins from 1, tile by tile: first the one to the right,
// then the one below.
func (l layout) joinNumber(a, b tile) int {
	if b.row < a.row || b.col < a.col {
		a, b = b, a
	}
	n := 0
	for _, at := range l.tiles {
		for _, next := range []tile{{at.col + 1, at.row}, {at.col, at.row + 1}} {
			if l.joined(at, next) {
				n++
			}
			if at == a && next == b {
				return n
			}
		}
	}
	return n
}

// shifted returns a shape or a text moved by v.
func shifted(it export.Item, v geometry.Vec) export.Item {
	switch it := it.(type) {
	case export.Text:
		it.At = it.At.Add(v)
		return it
	case export.Shape:
		it.Contours = slices.Clone(it.Contours)
		for i, c := range it.Contours {
			it.Contours[i].Knots = c.Knots.Map(func(q geometry.Point) geometry.Point { return q.Add(v) })
		}
		return it
	}
	return it
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

// items draws the join; its words stand where the tile is free.
func (j join) items(free *field) []export.Item {
	pen, text := stripPen, j.other+" lies over this strip, up to the line"
	if j.over {
		pen, text = joinPen, "cut along this line, lay over "+j.other
	}
	items := []export.Item{export.Line(LayerJoin, pen, j.a, j.b)}
	along := j.b.Sub(j.a).Unit()
	for _, c := range j.diamonds() {
		items = append(items, diamond(c, along, fmt.Sprint(j.number))...)
	}
	return append(items, j.words(text, free))
}

// words places the text of a join: it reads from left to right, or from below
// upwards, on the own side of the line, next to the first diamond or as near to it
// as nothing else is written or drawn.
func (j join) words(text string, free *field) export.Text {
	const size, off = 2.8, 1.4
	along := j.b.Sub(j.a).Unit()
	foot := j.within.Scale(off)
	if up := along.Perp(); up.Dot(j.within) < 0 {
		foot = j.within.Scale(off + 0.72*size)
	}
	first := j.fromEnd() + diamondMM + 4
	last := j.a.Dist(j.b) - first - export.TextWidth(text, size, false)
	t := export.Text{Layer: LayerJoin, Size: size, Ink: export.Grey, Turn: math.Atan2(along.Y, along.X), Content: text}
	for s := first; s <= last; s += 3 {
		t.At = j.a.Add(along.Scale(s)).Add(foot)
		if free.free(boundsOf(textBox(t))) {
			return t
		}
	}
	t.At = j.a.Add(along.Scale(first)).Add(foot)
	return t
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
// it, where it is in nobody's way; on a crowded tile the name alone, smaller.
func (l layout) badge(t tile, seen []export.Item, move geometry.Vec, foot string) []export.Item {
	const width = 62.0
	lines := export.Wrap(foot+".", tinySize, width, false)
	lines = append(lines, export.Wrap("Print at 100 %, not “fit to page”.", tinySize, width, false)...)
	lines = append(lines, export.Wrap(l.leaf.corrected(), tinySize, width, false)...)
	area := l.window(t).grown(-8)
	f := newField(area)
	block(f, seen, geometry.Rigid{}, 2.2)
	for _, j := range l.joins(t) { // and their words
		f.line([]geometry.Point{j.a, j.b}, 1)
		f.line([]geometry.Point{j.a.Add(j.within.Scale(3)), j.b.Add(j.within.Scale(3))}, 1.5)
	}
	if t == (tile{}) {
		f.box(l.block)
	}
	// The upper left corner is where people look first.
	corner := func(q geometry.Point) float64 { return q.X - area.lo.X + area.hi.Y - q.Y }
	for _, try := range []struct {
		big   float64
		lines []string
	}{{15, lines}, {9, lines}, {9, nil}, {5, nil}} {
		name := export.TextWidth(t.name(), try.big, true)
		wide, high := name, 0.72*try.big
		for _, s := range try.lines {
			wide = math.Max(wide, export.TextWidth(s, tinySize, false))
			high += tinySize * leading
		}
		if len(try.lines) > 0 {
			high += belowName
		}
		if b, ok := f.find(wide, high, corner); ok || try.big == 5 {
			if !ok {
				b = around(geometry.Point{X: area.lo.X + wide/2, Y: area.hi.Y - high/2}, wide, high)
			}
			return badgeItems(t.name(), try.big, try.lines, b.moved(move))
		}
	}
	return nil
}

func badgeItems(name string, big float64, lines []string, at box) []export.Item {
	y := at.hi.Y - 0.72*big
	items := []export.Item{export.Text{Layer: LayerJoin, At: geometry.Point{X: at.lo.X, Y: y}, Size: big, Bold: true, Ink: export.Pale, Content: name}}
	y -= belowName
	for _, s := range lines {
		y -= tinySize * leading
		items = append(items, export.Text{Layer: LayerJoin, At: geometry.Point{X: at.lo.X, Y: y + 0.3*tinySize}, Size: tinySize, Ink: export.Grey, Content: s})
	}
	return items
}
