package sheet

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// Text sizes in mm (em); capitals are 0.72 of it, so that notes have capitals
// of 3.5 mm, the smallest that reads well at arm's length.
const (
	nameSize = 8.0
	noteSize = 4.9
	tinySize = 3.2
	leading  = 1.35
)

// label is the block of text on a piece: its name, then its notes.
type label struct {
	box   box
	names []string
	notes []string
	// shrink is 1, or less on a piece that is too small for the full size.
	shrink float64
}

// newLabel places the label of a piece where there is most room inside it, away
// from the join lines where it can. When a grid is given, the label stays on
// one tile if possible.
func newLabel(p Piece, g *grid) label {
	rings := p.coarse()
	var l label
	for _, shrink := range []float64{1, 0.8, 0.62, 0.5} {
		l = sizedLabel(p, shrink)
		if at, fits := l.place(rings, g); fits || shrink == 0.5 {
			l.box = around(at, l.box.width(), l.box.height())
			break
		}
	}
	return l
}

// sizedLabel returns the label with its size, about the origin.
func sizedLabel(p Piece, shrink float64) label {
	const longest = 95.0
	l := label{names: export.Wrap(p.Name, nameSize*shrink, longest*shrink, true), shrink: shrink}
	for _, note := range append(append([]string{}, p.Notes...), p.sizeText(), p.Meaning, p.sureText()) {
		l.notes = append(l.notes, export.Wrap(note, noteSize*shrink, longest*shrink, false)...)
	}
	width := 0.0
	for _, n := range l.names {
		width = math.Max(width, export.TextWidth(n, nameSize*shrink, true))
	}
	for _, n := range l.notes {
		width = math.Max(width, export.TextWidth(n, noteSize*shrink, false))
	}
	height := (float64(len(l.names))*nameSize + float64(len(l.notes))*noteSize) * leading * shrink
	l.box = around(geometry.Point{}, width, height)
	return l
}

// place returns the centre of the best place, and whether the label lies inside
// the piece there.
func (l label) place(rings []geometry.Polyline, g *grid) (at geometry.Point, fits bool) {
	lo, hi := rings[0].Bounds()
	area := box{lo, hi}
	const steps = 40
	best, at := math.Inf(-1), area.centre()
	for i := range steps + 1 {
		for j := range steps + 1 {
			q := geometry.Point{
				X: area.lo.X + area.width()*float64(i)/steps,
				Y: area.lo.Y + area.height()*float64(j)/steps,
			}
			if !within(rings, q) {
				continue
			}
			b := around(q, l.box.width(), l.box.height())
			free := room(b, rings)
			if g != nil && free > 0 {
				free = math.Min(free, 5+math.Max(joinRoom(b, *g), -4))
			}
			// Of equally roomy places the one nearest the middle.
			if score := free - 0.02*q.Dist(area.centre()); score > best {
				best, at, fits = score, q, free > 0
			}
		}
	}
	return at, fits
}

// room returns how far the box stays away from every line, in steps up to 25 mm,
// or -1 when a line crosses it.
func room(b box, rings []geometry.Polyline) float64 {
	for _, r := range []float64{25, 18, 12, 8, 5, 2} {
		if !b.grown(r).touched(rings) {
			return r
		}
	}
	return -1
}

// joinRoom returns by how much the box stays inside the core of one tile, at
// best; negative when a join line runs through it wherever it is counted.
func joinRoom(b box, g grid) float64 {
	best := math.Inf(-1)
	for row := range g.rows {
		for col := range g.cols {
			best = math.Max(best, b.inside(g.core(tile{col, row})))
		}
	}
	return best
}

func (l label) items() []export.Item {
	var items []export.Item
	at := geometry.Point{X: l.box.centre().X, Y: l.box.hi.Y}
	add := func(lines []string, size float64, bold bool) {
		size *= l.shrink
		for _, line := range lines {
			at.Y -= size * leading
			items = append(items, export.Text{
				Layer: LayerText, At: at.Add(geometry.Vec{Y: size * (leading - 1)}), Size: size,
				Bold: bold, Ink: 0.9, Align: export.AlignCentre, Content: line,
			})
		}
	}
	add(l.names, nameSize, true)
	add(l.notes, noteSize, false)
	return items
}

// paragraph sets text in lines of at most width mm from the upper left corner
// and returns it with the height at which the next one may begin.
func paragraph(at geometry.Point, width, size float64, bold bool, content string) ([]export.Item, float64) {
	var items []export.Item
	y := at.Y
	for _, line := range export.Wrap(content, size, width, bold) {
		y -= size * leading
		items = append(items, export.Text{Layer: LayerText, At: geometry.Point{X: at.X, Y: y + size*(leading-1)}, Size: size, Bold: bold, Ink: 0.9, Content: line})
	}
	return items, y
}
