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
	name  string
	notes []string
	// shrink is 1, or less on a piece that is too small for the full size.
	shrink float64
}

// newLabel places the label of a piece where there is most room inside it, away
// from the join lines where it can. When a grid is given, the label stays on
// one tile if possible.
func newLabel(p Piece, g *grid) label {
	rings := p.rings()
	var l label
	for _, shrink := range []float64{1, 0.8, 0.62, 0.5} {
		l = sizedLabel(p, shrink)
		if at, room := l.place(rings, g); room > 0 || shrink == 0.5 {
			l.box = around(at, l.box.width(), l.box.height())
			break
		}
	}
	return l
}

// sizedLabel returns the label with its size, about the origin.
func sizedLabel(p Piece, shrink float64) label {
	l := label{name: p.Name, shrink: shrink}
	const longest = 95.0
	for _, note := range append(append([]string{}, p.Notes...), p.sizeText(), p.Meaning, p.sureText()) {
		l.notes = append(l.notes, export.Wrap(note, noteSize*shrink, longest*shrink, false)...)
	}
	width := export.TextWidth(l.name, nameSize*shrink, true)
	for _, n := range l.notes {
		width = math.Max(width, export.TextWidth(n, noteSize*shrink, false))
	}
	height := (nameSize + float64(len(l.notes))*noteSize) * leading * shrink
	l.box = around(geometry.Point{}, width, height)
	return l
}

// place returns the centre of the best place and the room round the label
// there, negative when nothing fits.
func (l label) place(rings []geometry.Polyline, g *grid) (geometry.Point, float64) {
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
			room := l.room(b, rings)
			if g != nil && room > 0 {
				room = math.Min(room, 5+math.Max(joinRoom(b, *g), -4))
			}
			// Of equally roomy places the one nearest the middle.
			if score := math.Min(room, 25) - 0.02*q.Dist(area.centre()); score > best {
				best, at = score, q
			}
		}
	}
	if math.IsInf(best, -1) {
		return at, best
	}
	return at, l.room(around(at, l.box.width(), l.box.height()), rings)
}

// room returns the distance from the box to the nearest line, or a negative
// number when a line crosses it.
func (l label) room(b box, rings []geometry.Polyline) float64 {
	if b.touched(rings) {
		return -1
	}
	best := math.Inf(1)
	for _, r := range rings {
		for _, q := range r {
			best = math.Min(best, around(q, 0, 0).gap(b))
		}
	}
	return best
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
	x := l.box.centre().X
	y := l.box.hi.Y - nameSize*l.shrink
	items := []export.Item{export.Text{Layer: LayerText, At: geometry.Point{X: x, Y: y}, Size: nameSize * l.shrink,
		Bold: true, Ink: export.Black, Align: export.AlignCentre, Content: l.name}}
	for _, n := range l.notes {
		y -= noteSize * leading * l.shrink
		items = append(items, export.Text{Layer: LayerText, At: geometry.Point{X: x, Y: y}, Size: noteSize * l.shrink,
			Ink: 0.85, Align: export.AlignCentre, Content: n})
	}
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
