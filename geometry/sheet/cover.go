package sheet

import (
	"fmt"
	"math"
	"slices"

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
// steps, and what to know about the pieces.
func coverPage(title string, groups []tiled, opt Options) export.Page {
	w, h := opt.Paper.Width, opt.Paper.Height
	m := math.Max(opt.MarginMM, 13)
	left, top := m, h-m
	count, blank := 0, 0
	var pieces []Piece
	for _, g := range groups {
		count += len(g.tiles)
		blank += g.blank
		pieces = append(pieces, g.pieces...)
	}
	// The squares need a fixed height; the title takes what is left above.
	const squares, gap, barHigh = squareMM + 6 + squareIn, 8.0, 5.0
	sub := fmt.Sprintf("%s of %s at true size. Print at 100\u00a0%%, not “fit to page”.", plural(count, "sheet"), opt.Paper.Label)
	var head column
	for _, size := range []float64{9, 7.5, 6, 5} {
		head = column{at: geometry.Point{X: left, Y: top}, width: w - 2*m}
		head.add(size, true, short(title, 50))
		head.skip(size / 9)
		head.add(math.Min(noteSize, 0.7*size), false, sub)
		if head.at.Y-gap-squares >= m+barHigh {
			break
		}
	}
	upper := geometry.Point{X: left, Y: math.Max(head.at.Y-gap, m+barHigh+squares) - squareMM}
	lower := geometry.Point{X: left, Y: upper.Y - 6 - squareIn}
	items := head.items
	items = append(items, square(upper, squareMM, "100\u00a0mm")...)
	items = append(items, square(lower, squareIn, "4\u00a0in")...)
	items = append(items, sheetMap(groups, box{upper.Add(geometry.Vec{X: 9, Y: 9}), upper.Add(geometry.Vec{X: squareMM - 5, Y: squareMM - 12})})...)
	items = append(items, export.Text{Layer: LayerText, At: upper.Add(geometry.Vec{X: 9, Y: squareMM - 8}), Size: 4.2, Bold: true, Ink: 0.9, Content: "How the sheets lie"})

	steps := column{at: lower.Add(geometry.Vec{X: 9, Y: squareIn - 2}), width: squareIn - 14}
	joining(&steps, count, blank)
	items = append(items, steps.items...)
	if room := steps.at.Y - lower.Y; count > 1 && room > 34 {
		items = append(items, joinFigure(geometry.Point{X: steps.at.X, Y: lower.Y + 8})...)
	}

	right := column{at: geometry.Point{X: left + squareIn + 8, Y: upper.Y + squareMM + 5}, width: math.Min(w-2*m-squareIn-12, 100)}
	window := box{geometry.Point{X: opt.MarginMM, Y: opt.MarginMM}, geometry.Point{X: w - opt.MarginMM, Y: h - opt.MarginMM}}
	aboutPrint(&right, pieces, window, true)
	cautions(&right)
	aboutPieces(&right, pieces, m+barHigh)
	items = append(items, right.items...)
	return export.Page{Width: w, Height: h, Items: append(items, bars(window)...)}
}

func joining(c *column, count, blank int) {
	c.heading("Joining the sheets")
	if count == 1 {
		c.text("There is only one sheet: nothing to join.")
		return
	}
	c.text("1. Lay the sheets out as on the map above.")
	c.text("2. Start at the top left. Where a sheet says “cut along this line”, cut off that strip with scissors.")
	c.text("3. Lay the cut edge on the broken line of its neighbour. Both halves of a diamond with the same number make a whole one.")
	c.text("4. Glue or tape the strip below. Join the sheets of a row first, then the rows.")
	c.text("5. Lay a long ruler along a line that crosses a join: it must run straight on.")
	if blank > 0 {
		c.text(fmt.Sprintf("Left out because they would be blank: %s.", plural(blank, "sheet")))
	}
}

// aboutPrint says how to check a print; tiles or one page.
func aboutPrint(c *column, pieces []Piece, window box, tiles bool) {
	c.heading("Before you cut")
	c.text("Measure both squares, across and up: 100\u00a0mm and 4\u00a0in, to half a millimetre. If they are not, print again at 100\u00a0%.")
	if tiles {
		c.text("Each sheet has two long bars of its own, across and up, with their lengths on them. Measure them too: printers do not feed all sheets alike.")
	} else {
		across, up := barLengths(window)
		c.text(fmt.Sprintf("The two long bars show more than the squares do: %g\u00a0mm across and %g\u00a0mm up.", across, up))
	}
	c.text("The middle of the cut line is the edge. Sew a trial piece in cheap cloth first.")
	if slices.ContainsFunc(pieces, func(p Piece) bool { return len(p.Unsure) > 0 }) {
		c.text("A grey band along the line: the photo did not show the edge well there. Hold the cloth against the print.")
	}
}

// aboutPieces lists the pieces as far down as floor.
func aboutPieces(c *column, pieces []Piece, floor float64) {
	c.heading(plural(len(pieces), "piece"))
	const last = 8.0 // room for the line that counts the others
	for i, p := range pieces {
		next := *c
		next.items = slices.Clip(c.items)
		next.add(bodySize, true, short(p.Name, 60))
		next.text(p.sizeText() + " over all")
		if len(pieces) <= 2 {
			next.text(p.sureText())
		}
		if next.at.Y-last < floor {
			c.text(fmt.Sprintf("and %s more, named on the sheets.", plural(len(pieces)-i, "piece")))
			return
		}
		*c = next
	}
}

func cautions(c *column) {
	c.heading("Take care")
	c.text("Blades: cut away from yourself, cover or close them when you lay them down, keep them from children.")
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

// sheetMap returns the pieces and their tiles, made small to fit the box, the
// grids one under the other.
func sheetMap(groups []tiled, into box) []export.Item {
	const between = 25.0
	var width, height float64
	for i, g := range groups {
		s := g.size()
		width = math.Max(width, s.X)
		height += s.Y
		if i > 0 {
			height += between
		}
	}
	k := math.Min(into.width()/width, into.height()/height)
	top := into.hi.Y - (into.height()-height*k)/2
	var items []export.Item
	for _, g := range groups {
		s := g.size()
		lo := geometry.Point{X: into.centre().X - s.X*k/2, Y: top - s.Y*k}
		to := func(p geometry.Point) geometry.Point { return lo.Add(p.Sub(g.origin).Scale(k)) }
		items = append(items, g.mapItems(to, k)...)
		top = lo.Y - between*k
	}
	return items
}

func (t tiled) mapItems(to func(geometry.Point) geometry.Point, k float64) []export.Item {
	var items []export.Item
	for _, at := range t.tiles {
		c := t.core(at)
		b := box{to(c.lo), to(c.hi)}
		size := math.Min(5, math.Min(b.height(), b.width())*0.45)
		items = append(items,
			export.Rect(LayerText, export.Pen{Width: 0.18, Ink: export.Grey}, export.NoInk, b.lo, b.hi),
			export.Text{Layer: LayerText, At: b.centre().Add(geometry.Vec{Y: -0.36 * size}), Size: size, Ink: 0.45, Align: export.AlignCentre, Content: t.name(at)})
	}
	for _, p := range t.pieces {
		var contours []export.Contour
		for _, path := range p.paths() {
			contours = append(contours, export.Contour{Knots: path.Map(to)})
		}
		items = append(items, export.Shape{Layer: LayerText, Contours: contours, Pen: export.Pen{Width: 0.35, Ink: export.Black}})
	}
	return items
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
