package sheet

import (
	"fmt"
	"math"

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

// items draws the join; its words stand where the tile is free, or else in the
// first of the fields in which there is room.
func (j join) items(fields ...*field) []export.Item {
	pen, text := stripPen, j.other+" lies over this strip, up to the line"
	if j.over {
		pen, text = joinPen, "cut along this line, lay over "+j.other
	}
	items := []export.Item{export.Line(LayerJoin, pen, j.a, j.b)}
	along := j.b.Sub(j.a).Unit()
	for _, c := range j.diamonds() {
		items = append(items, diamond(c, along, fmt.Sprint(j.number))...)
	}
	return append(items, j.words(text, fields))
}

// words places the text of a join: it reads from left to right, or from below
// upwards, on the own side of the line, next to the first diamond or as near to it
// as nothing else is written or drawn.
func (j join) words(text string, fields []*field) export.Text {
	const size, off = 2.8, 1.4
	along := j.b.Sub(j.a).Unit()
	foot := j.within.Scale(off)
	if up := along.Perp(); up.Dot(j.within) < 0 {
		foot = j.within.Scale(off + 0.72*size)
	}
	first := j.fromEnd() + diamondMM + 4
	last := j.a.Dist(j.b) - first - export.TextWidth(text, size, false)
	t := export.Text{Layer: LayerJoin, Size: size, Ink: export.Grey, Turn: math.Atan2(along.Y, along.X), Content: text}
	for _, f := range fields {
		for s := first; s <= last; s += 3 {
			t.At = j.a.Add(along.Scale(s)).Add(foot)
			if f.free(boundsOf(textBox(t))) {
				return t
			}
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
