package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// column sets paragraphs one under the other.
type column struct {
	at    geometry.Point // upper left corner of what comes next
	width float64
	items []export.Item
}

func (c *column) add(size float64, bold bool, content string) {
	items, y := paragraph(c.at, c.width, size, bold, content)
	c.items, c.at.Y = append(c.items, items...), y
}

func (c *column) skip(mm float64) { c.at.Y -= mm }

// heading starts a section.
func (c *column) heading(content string) {
	c.skip(4)
	c.add(4.2, true, content)
	c.skip(0.8)
}

// text adds a paragraph of a section.
func (c *column) text(content string) {
	c.add(bodySize, false, content)
	c.skip(1.2)
}

// bodySize is the em of running text on page one, in mm (9.6 pt).
const bodySize = 3.4

// coverPage returns page one: title, test squares that hold the map and the
// steps, and what to know about lines and pieces.
func coverPage(title string, pieces []Piece, l layout, opt Options) export.Page {
	page := opt.leaf(false)
	window := page.inner()
	inner := box{
		geometry.Point{X: math.Max(window.lo.X, 13), Y: math.Max(window.lo.Y, 13)},
		geometry.Point{X: window.hi.X - math.Max(0, 13-window.lo.X), Y: window.hi.Y - math.Max(0, 13-window.lo.Y)},
	}
	// The squares need a fixed height; the title takes what is left above.
	const squares, gap, barHigh = squareMM + 6 + squareIn, 8.0, 5.0
	sub := fmt.Sprintf("%s of %s at true size. Print at 100\u00a0%%, not “fit to page”.", plural(len(l.tiles), "sheet"), opt.Paper.Label)
	floor := inner.lo.Y + barHigh
	var head column
	for _, size := range []float64{9, 7.5, 6, 5} {
		head = column{at: geometry.Point{X: inner.lo.X, Y: inner.hi.Y}, width: inner.width()}
		head.add(size, true, short(title, 50))
		head.skip(size / 9)
		head.add(math.Min(noteSize, 0.7*size), false, sub)
		if s := page.corrected(); s != "" {
			head.add(bodySize, true, s)
		}
		if head.at.Y-gap-squares >= floor {
			break
		}
	}
	upper := geometry.Point{X: inner.lo.X, Y: math.Max(math.Min(head.at.Y-gap+4, head.at.Y-3), floor+squares) - squareMM}
	lower := geometry.Point{X: inner.lo.X, Y: upper.Y - 6 - squareIn}
	items := head.items
	items = append(items, square(upper, squareMM, "100\u00a0mm")...)
	items = append(items, square(lower, squareIn, "4\u00a0in")...)
	items = append(items, l.mapItems(box{upper.Add(geometry.Vec{X: 9, Y: 9}), upper.Add(geometry.Vec{X: squareMM - 5, Y: squareMM - 12})})...)
	items = append(items, export.Text{Layer: LayerText, At: upper.Add(geometry.Vec{X: 9, Y: squareMM - 8}), Size: 4.2, Bold: true, Ink: 0.9, Content: "How the sheets lie"})

	steps := column{at: lower.Add(geometry.Vec{X: 9, Y: squareIn - 2}), width: squareIn - 14}
	joining(&steps, len(l.tiles), l.joints())
	items = append(items, steps.items...)
	if room := steps.at.Y - lower.Y; l.joints() > 0 && room > 32 {
		items = append(items, joinFigure(geometry.Point{X: steps.at.X, Y: lower.Y + 8})...)
	}

	right := column{at: geometry.Point{X: inner.lo.X + squareIn + 8, Y: upper.Y + squareMM + 4}, width: math.Min(inner.width()-squareIn-12, 100)}
	aboutPrint(&right, pieces, true)
	legend(&right, pieces)
	cautions(&right)
	aboutPieces(&right, pieces, &l, floor)
	items = append(items, right.items...)
	return export.Page{Width: page.width, Height: page.height, Stretch: page.stretch(), Items: append(items, bars(window)...)}
}

// joining says how sheets are joined.
func joining(c *column, sheets, joints int) {
	c.heading("Joining the sheets")
	if joints == 0 {
		c.text("Nothing to join: no piece runs over two sheets.")
		return
	}
	c.text("1. Lay the sheets out as on the map.")
	c.text("2. Start at the top left. Where a sheet says “cut along this line”, cut off that strip with scissors.")
	c.text("3. Lay the cut edge on the broken line of its neighbour. Both halves of a diamond with the same number make a whole one.")
	c.text("4. Glue or tape the strip below. Join the sheets of a row first, then the rows.")
	c.text("5. Lay a long ruler along a line that crosses a join: it must run straight on.")
	if sheets > joints+1 {
		c.text("Sheets that share no join are not joined.")
	}
}

// aboutPrint says how to check a print; tiles or one page.
func aboutPrint(c *column, pieces []Piece, tiles bool) {
	c.heading("Before you cut")
	c.text("Measure both squares, across and up: 100\u00a0mm and 4\u00a0in, to half a millimetre. If they are not, print again at 100\u00a0%.")
	if tiles {
		c.text("Measure the two long bars of each sheet too: printers do not feed all sheets alike.")
	} else {
		c.text("The two long bars at the edges show more than the squares do.")
	}
	c.text("Cut along the middle of the line. Sew a trial piece in cheap cloth first.")
	if slices.ContainsFunc(pieces, func(p Piece) bool { return len(p.Unsure) > 0 }) {
		c.text("A grey band along the line: the photo did not show the edge well there. Hold the cloth against the print.")
	}
}

// legend shows what the lines of the pieces mean; nothing where there is only the
// one to cut along.
func legend(c *column, pieces []Piece) {
	has := func(layer export.Layer) bool {
		return slices.ContainsFunc(pieces, func(p Piece) bool {
			return slices.ContainsFunc(p.art(), func(it export.Item) bool { s, ok := it.(export.Shape); return ok && s.Layer == layer })
		})
	}
	if !has(LayerStitch) && !has(LayerFold) && !has(LayerMarks) {
		return
	}
	c.heading("Lines")
	for _, l := range []struct {
		layer export.Layer
		pen   export.Pen
		says  string
	}{
		{LayerOutline, cutPen, "cut"},
		{LayerStitch, stitchPen, "sew; allowances lie outside it"},
		{LayerFold, foldPen, "fold"},
		{LayerGrain, grainPen, "grain: along the selvage"},
	} {
		if !has(l.layer) {
			continue
		}
		y := c.at.Y - 0.64*bodySize
		from, to := geometry.Point{X: c.at.X, Y: y}, geometry.Point{X: c.at.X + 20, Y: y}
		c.items = append(c.items, export.Line(LayerText, l.pen, from, to))
		if l.layer == LayerGrain {
			for _, end := range []struct {
				at   geometry.Point
				back float64
			}{{from, 1}, {to, -1}} {
				c.items = append(c.items, head(LayerText, end.at, geometry.Vec{X: end.back}))
			}
		}
		words, low := paragraph(geometry.Point{X: to.X + 3, Y: c.at.Y}, c.width-23, bodySize, false, l.says)
		c.items, c.at.Y = append(c.items, words...), low
	}
	if has(LayerMarks) {
		c.skip(0.8)
		c.text("Short strokes at the cut line: notches and snips to cut in, no deeper than drawn. Crosses: mark the spot.")
	}
}

// aboutPieces lists the pieces as far down as floor, with the sheets that a layout
// puts them on, and with their sizes where they are few.
func aboutPieces(c *column, pieces []Piece, l *layout, floor float64) {
	c.heading(plural(len(pieces), "piece"))
	const last = 8.0 // room for the line that counts the others
	for i, p := range pieces {
		next := *c
		next.items = slices.Clip(c.items)
		next.add(bodySize, true, short(p.Name, 60))
		small := p.Complete && p.small
		var lines []string
		if !small { // else they are among the notes
			lines = append(lines, p.Cuts...)
		}
		if len(pieces) <= 4 {
			lines = append(lines, p.size)
		}
		if l != nil && i < len(l.laid) && len(l.tiles) > 1 {
			lines = append(lines, "on\u00a0"+tileList(l.laid[i].tiles))
		}
		if len(pieces) > 4 {
			lines = []string{strings.Join(lines, "; ")}
		}
		for _, line := range lines {
			next.add(bodySize, false, line)
		}
		switch {
		case small:
			for _, note := range p.Notes {
				next.add(bodySize, false, short(note, 120))
			}
		case !p.Complete && len(pieces) <= 2:
			next.add(bodySize, false, p.sureText())
		}
		next.skip(1.2)
		room := last
		if i == len(pieces)-1 {
			room = 0
		}
		if next.at.Y-room < floor {
			c.text(fmt.Sprintf("and %s more, named on the sheets.", plural(len(pieces)-i, "piece")))
			return
		}
		*c = next
	}
}

func cautions(c *column) {
	c.heading("Take care")
	c.text("Cut away from yourself, cover blades when you lay them down, keep them from children.")
	c.text("This print promises neither fit nor safety. The rules where you live come first, above all for what children wear and sleep in.")
}

// joinFigure shows how two sheets meet, 84 x 22 mm from its lower left corner.
func joinFigure(lo geometry.Point) []export.Item {
	const width, height, between, join = 35.0, 22.0, 14.0, 6.0
	at := func(x, y float64) geometry.Point { return lo.Add(geometry.Vec{X: x, Y: y}) }
	paper := export.Pen{Width: 0.25, Ink: 0.6}
	second := width + between
	name := func(x float64, s string) export.Item {
		return export.Text{Layer: LayerText, At: at(x, height/2-2.2), Size: 6, Bold: true, Ink: export.Pale, Align: export.AlignCentre, Content: s}
	}
	items := []export.Item{
		export.Rect(LayerText, paper, export.NoInk, at(0, 0), at(width, height)),
		export.Rect(LayerText, paper, export.NoInk, at(second, 0), at(second+width, height)),
		export.Line(LayerText, stripPen, at(width-join, 0), at(width-join, height)),
		export.Line(LayerText, paper, at(second+join, 0), at(second+join, height)),
		name(width*0.4, "A1"), name(second+width*0.6, "A2"),
		// The way of the second sheet.
		export.Lines(LayerText, paper, at(second-3, height/2), at(width+3, height/2)),
		export.Lines(LayerText, paper, at(width+5, height/2+1.5), at(width+3, height/2), at(width+5, height/2-1.5)),
	}
	// The strip to cut off is hatched.
	for y := 0.0; y+join <= height; y += 4 {
		items = append(items, export.Line(LayerText, export.Pen{Width: 0.1, Ink: 0.6}, at(second, y), at(second+join, y+join)))
	}
	for _, x := range []float64{width - join, second + join} {
		items = append(items, export.Polygon(LayerText, paper, export.NoInk, at(x-4.5, height/2), at(x, height/2-4.5), at(x+4.5, height/2), at(x, height/2+4.5)))
	}
	return items
}

// mapItems returns the tiles with their names and the pieces on them, made small
// to fit the box.
func (l layout) mapItems(into box) []export.Item {
	area := l.area()
	k := math.Min(into.width()/area.width(), into.height()/area.height())
	lo := into.centre().Add(geometry.Vec{X: area.width(), Y: area.height()}.Scale(-k / 2))
	to := func(p geometry.Point) geometry.Point { return lo.Add(p.Sub(area.lo).Scale(k)) }
	room := newField(into)
	var items, names []export.Item
	for _, p := range l.laid {
		var contours []export.Contour
		for _, path := range p.paths() {
			contours = append(contours, export.Contour{Knots: path.Map(to)})
		}
		items = append(items, export.Shape{Layer: LayerText, Contours: contours, Pen: export.Pen{Width: 0.35, Ink: export.Black}})
	}
	block(room, items, geometry.Rigid{}, 0.4)
	for _, p := range l.laid {
		names = append(names, mapName(p.Piece, to, k)...)
	}
	block(room, names, geometry.Rigid{}, 0.6)
	var under []export.Item
	for _, t := range l.tiles {
		c := l.core(t)
		under = append(under, tileName(t.name(), box{to(c.lo), to(c.hi)}, room)...)
	}
	return append(append(under, items...), names...)
}

// area returns what the windows of all tiles cover.
func (l layout) area() box {
	var corners []geometry.Point
	for _, t := range l.tiles {
		w := l.window(t)
		corners = append(corners, w.lo, w.hi)
	}
	return boundsOf(corners)
}

// tileName draws a tile on the map, with its name where it is on no other line.
func tileName(name string, tile box, room *field) []export.Item {
	size := math.Min(3.4, math.Min(tile.height(), tile.width())*0.36)
	at := geometry.Point{X: tile.lo.X + 0.8, Y: tile.hi.Y - size}
	inner := newField(tile.grown(-0.4))
	inner.blockedBy(room)
	upper := geometry.Point{X: tile.lo.X, Y: tile.hi.Y}
	for _, s := range []float64{size, 0.75 * size} {
		if b, ok := inner.find(export.TextWidth(name, s, false), 0.75*s, nearTo(upper)); ok {
			at, size = b.lo, s
			break
		}
	}
	return []export.Item{
		export.Rect(LayerText, export.Pen{Width: 0.18, Ink: export.Pale}, export.NoInk, tile.lo, tile.hi),
		export.Text{Layer: LayerText, At: at, Size: size, Ink: 0.6, Content: name},
	}
}

// mapName writes a piece's name inside its outline on the map, where it can be
// read.
func mapName(p Piece, to func(geometry.Point) geometry.Point, k float64) []export.Item {
	rings := coarse(p.paths()...)
	f := newField(p.bounds())
	f.outside(rings)
	for _, size := range []float64{4.2, 3.4, 2.8, 2.3} {
		name := short(p.Name, 24)
		if b, ok := f.find(export.TextWidth(name, size, true)/k, size/k, nearTo(p.bounds().centre())); ok {
			at := to(b.centre())
			return []export.Item{export.Text{Layer: LayerText, At: at.Add(geometry.Vec{Y: -0.36 * size}), Size: size, Bold: true, Ink: 0.9, Align: export.AlignCentre, Content: name}}
		}
	}
	return nil
}

// short returns at most n characters of a text, the last an ellipsis when some
// were cut off.
func short(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

func plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
