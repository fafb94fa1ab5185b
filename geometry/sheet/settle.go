package sheet

import (
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// dressed returns all that is drawn of a piece: its art, and the label and notes
// that find room on it. Joins are lines that words keep off where they can.
func dressed(p Piece, joins [][]geometry.Point) []export.Item {
	art := p.art()
	settle(art, 0, joins)
	items := append(art, newPlan(p, art, joins).items()...)
	settle(items, len(art), joins)
	return items
}

// settle moves the short texts from an index on along their own direction, up to
// a few centimetres, to where the least runs through them: joins count more than
// other lines and words.
func settle(items []export.Item, from int, joins [][]geometry.Point) {
	covers := make([][][]geometry.Point, len(items))
	for i, it := range items {
		covers[i] = cover(it)
	}
	for i := from; i < len(items); i++ {
		t, ok := items[i].(export.Text)
		if !ok || t.Size > tinySize {
			continue
		}
		// All in the frame in which the text runs upright from the origin.
		frame := geometry.Rigid{Turn: t.Turn, Move: t.At}.Inverse()
		var others, strips [][]geometry.Point
		for k, lines := range covers {
			if k != i {
				others = append(others, mapped(lines, frame)...)
			}
		}
		strips = mapped(joins, frame)
		flat := t
		flat.At, flat.Turn = geometry.Point{}, 0
		area := boundsOf(textBox(flat))
		disturbed := func(by geometry.Vec) (n int) {
			for _, l := range strips {
				if area.moved(by).grown(joinMM).shows(l) {
					n += 3
				}
			}
			for _, l := range others {
				if area.moved(by).grown(0.3).shows(l) {
					n++
				}
			}
			return n
		}
		var best geometry.Vec
		least := disturbed(best)
		for k := 1; k <= 16 && least > 0; k++ { // 3 mm back, 3 on, 6 back ...
			by := geometry.Vec{X: float64(1-2*(k%2)) * 3 * float64((k+1)/2)}
			if n := disturbed(by); n < least {
				best, least = by, n
			}
		}
		t.At = frame.Inverse().Apply(geometry.Point{}.Add(best))
		items[i], covers[i] = t, cover(t)
	}
}

// cover returns the lines that an item draws, or the box of its text.
func cover(it export.Item) (out [][]geometry.Point) {
	switch it := it.(type) {
	case export.Shape:
		for _, c := range it.Contours {
			out = append(out, flatLine(c))
		}
	case export.Text:
		corners := textBox(it)
		out = append(out, append(corners, corners[0]))
	}
	return out
}

// mapped returns lines under a rigid map.
func mapped(lines [][]geometry.Point, by geometry.Rigid) [][]geometry.Point {
	out := make([][]geometry.Point, len(lines))
	for i, l := range lines {
		out[i] = slices.Clone(l)
		turnLine(out[i], by)
	}
	return out
}
