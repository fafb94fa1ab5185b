package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
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
		foot := fmt.Sprintf("%s · page\u00a0%d\u00a0of\u00a0%d", short(title, 60), i+1+cover, len(l.tiles)+cover)
		if on := l.piecesOn(t); on != "" {
			foot = on + " · " + foot
		}
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

// piecesOn names the pieces that need a tile.
func (l layout) piecesOn(t tile) string {
	var names []string
	for _, p := range l.laid {
		if slices.Contains(p.tiles, t) {
			names = append(names, short(p.Name, 40))
		}
	}
	if len(names) > 4 {
		names = append(names[:3], fmt.Sprintf("%d more", len(names)-3))
	}
	return strings.Join(names, ", ")
}

// layTiles arranges the pieces, on large paper with room for the instructions.
func layTiles(title string, pieces []Piece, opt Options) (layout, error) {
	if !opt.Paper.large() {
		return arrange(pieces, opt, box{})
	}
	// How high the words are depends on the sheets that they list, and these on the
	// room that the words leave: at first, two sheets for each piece.
	page := opt.leaf(false)
	guess := layout{grid: grid{1000, 1000}, tiles: []tile{{}, {1, 0}}}
	for _, p := range pieces {
		guess.laid = append(guess.laid, laid{p, guess.tiles})
	}
	size := blockSize(title, pieces, page.inner().width(), page, &guess)
	for {
		l, err := arrange(pieces, opt, size)
		if err != nil {
			return layout{}, err
		}
		next := blockSize(title, pieces, page.inner().width(), page, &l)
		if next.height() <= size.height() {
			return l, nil
		}
		size = next
	}
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
		items := dressed(p.Piece, joins)
		boxes := make([]box, len(items))
		for i, it := range items {
			boxes[i] = inked(it)
		}
		a.items, a.boxes = append(a.items, items), append(a.boxes, boxes)
	}
	return a
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

// onlyText returns the texts among items.
func onlyText(items []export.Item) []export.Item {
	return slices.DeleteFunc(slices.Clone(items), func(it export.Item) bool { _, ok := it.(export.Text); return !ok })
}

// belowName is the room between a tile's name and what stands below it, in mm.
const belowName = 2.4

// page returns one tile as a page.
func (l layout) page(t tile, art artwork, foot string) export.Page {
	window, inner := l.window(t), l.leaf.inner()
	move := inner.lo.Sub(window.lo)
	seen := l.seen(t, art)
	items := []export.Item{export.Window{Lo: inner.lo, Hi: inner.hi, Move: move, Items: seen}}
	free, unwritten := newField(window), newField(window)
	block(free, seen, geometry.Rigid{}, 0.8)
	block(unwritten, onlyText(seen), geometry.Rigid{}, 0.8)
	for _, j := range l.joins(t) {
		for _, it := range j.items(free, unwritten) {
			items = append(items, shifted(it, move))
		}
	}
	items = append(items, bars(inner)...)
	items = append(items, l.badge(t, seen, move, foot)...)
	return export.Page{Width: l.leaf.width, Height: l.leaf.height, Stretch: l.leaf.stretch(), Items: items}
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
