package sheet

import (
	"math"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/pattern"
)

// noteAt is a short text beside a line or mark.
func noteAt(layer export.Layer, at geometry.Point, turn float64, align export.Align, content string) export.Text {
	return export.Text{Layer: layer, At: at, Size: tinySize, Ink: export.Black, Align: align, Turn: turn, Content: content}
}

// readable turns a direction so that text along it reads from below or from the
// right.
func readable(turn float64) float64 {
	turn = math.Remainder(turn, 2*math.Pi)
	if turn > math.Pi/2+1e-6 {
		return turn - math.Pi
	}
	if turn <= -math.Pi/2+1e-6 {
		return turn + math.Pi
	}
	return turn
}

// along returns a text that stands on the straight line from a to b, at a fraction
// of it, on the side that is up for the reader.
func along(layer export.Layer, a, b geometry.Point, at float64, align export.Align, content string) export.Text {
	u := b.Sub(a)
	turn := readable(math.Atan2(u.Y, u.X))
	sin, cos := math.Sincos(turn)
	return noteAt(layer, a.Lerp(b, at).Add(geometry.Vec{X: -sin, Y: cos}.Scale(1.4)), turn, align, content)
}

// turn returns the direction in which the words of a piece run: along its grain.
func (p Piece) turn() float64 {
	if p.GrainDeg == nil {
		return 0
	}
	return readable(*p.GrainDeg * math.Pi / 180)
}

// fold draws a line to fold along.
func (p Piece) fold(f Fold) []export.Item {
	n := len(f.Points)
	if n < 2 {
		return nil
	}
	if f.OnFold {
		return p.onFoldSign(f)
	}
	items := []export.Item{export.Lines(LayerFold, foldPen, f.Points...)}
	a, b, length := middle(f.Points)
	if f.Text != "" && length > export.TextWidth(f.Text, tinySize, false)+8 {
		items = append(items, along(LayerFold, a, b, 0.5, export.AlignCentre, f.Text))
	}
	return items
}

// middle returns the side of a line that holds a third of its length, where words
// are out of the way of what is drawn in its middle, and the length of the line.
func middle(line []geometry.Point) (a, b geometry.Point, length float64) {
	for i := 1; i < len(line); i++ {
		length += line[i].Dist(line[i-1])
	}
	sum := 0.0
	at := func(want float64) geometry.Point {
		sum = 0
		for i := 1; i < len(line); i++ {
			d := line[i].Dist(line[i-1])
			if sum+d >= want && d > 0 {
				return line[i-1].Lerp(line[i], (want-sum)/d)
			}
			sum += d
		}
		return line[len(line)-1]
	}
	return at(length/3 - 5), at(length/3 + 5), length
}

// onFoldSign draws the edge that lies on the fold of the cloth, with arrows that
// point to it.
func (p Piece) onFoldSign(f Fold) []export.Item {
	a, b := f.Points[0], f.Points[len(f.Points)-1]
	u := b.Sub(a).Unit()
	in := u.Perp()
	const deep = 9.0
	if !p.Outline.Flatten(1).Contains(a.Lerp(b, 0.5).Add(in.Scale(deep))) {
		in = in.Scale(-1)
	}
	var items []export.Item
	for _, c := range runs(p.Outline, func(s geometry.Segment) bool { return p.along(s, func(g Fold) bool { return g.OnFold }) }) {
		items = append(items, export.Shape{Layer: LayerFold, Pen: foldPen, Contours: []export.Contour{c}})
	}
	from := math.Min(15, a.Dist(b)/5)
	c, d := a.Add(u.Scale(from)), b.Add(u.Scale(-from))
	ci, di := c.Add(in.Scale(deep)), d.Add(in.Scale(deep))
	items = append(items, export.Lines(LayerFold, grainPen, c, ci, di, d))
	items = append(items, head(LayerFold, c, in), head(LayerFold, d, in))
	for _, text := range []string{f.Text, "on the fold", "fold"} {
		if ci.Dist(di) > export.TextWidth(text, tinySize, false)+2 {
			items = append(items, along(LayerFold, ci, di, 0.5, export.AlignCentre, text))
			break
		}
	}
	return items
}

// head returns an open arrow head at a point, its barbs towards back.
func head(layer export.Layer, at geometry.Point, back geometry.Vec) export.Item {
	foot, side := at.Add(back.Scale(5)), back.Perp().Scale(1.7)
	return export.Lines(layer, grainPen, foot.Add(side), at, foot.Add(side.Scale(-1)))
}

// mark draws a mark of the pattern.
func (p Piece) mark(m pattern.PlacedMark) []export.Item {
	layer, pen := LayerMarks, markPen
	switch m.Kind {
	case pattern.MarkGrain:
		if len(m.Lines) == 0 || len(m.Lines[0]) < 2 {
			return nil
		}
		return arrow(m.Lines[0][0], m.Lines[0][1], grainText(m))
	case pattern.MarkText:
		return nil // the plan finds room for it
	case pattern.MarkNotch, pattern.MarkSnip:
		pen = notchPen
	case pattern.MarkFoldLine:
		layer, pen = LayerFold, foldPen
	case pattern.MarkStitchLine, pattern.MarkDart:
		layer, pen = LayerStitch, stitchPen
	}
	var items []export.Item
	for i, l := range m.Lines {
		if m.Kind == pattern.MarkDart && i > 0 { // after its legs, the fold and the notches
			layer, pen = LayerFold, foldPen
			if i > 1 {
				layer, pen = LayerMarks, notchPen
			}
		}
		items = append(items, export.Lines(layer, pen, l...))
	}
	if m.Kind == pattern.MarkDrill {
		items = append(items, circle(layer, pen, m.At, 2))
	}
	return append(items, p.markText(layer, m)...)
}

// markText writes what a mark says, beside it.
func (p Piece) markText(layer export.Layer, m pattern.PlacedMark) []export.Item {
	text := m.Text
	if m.Kind == pattern.MarkLengthen && text == "" {
		text = "lengthen or shorten here"
	}
	if text == "" {
		return nil
	}
	switch m.Kind {
	case pattern.MarkNotch, pattern.MarkSnip, pattern.MarkDrill, pattern.MarkButtonhole:
		return nil // the plan finds room for it
	}
	line := m.Lines[len(m.Lines)-1]
	a, b, _ := middle(line)
	return []export.Item{along(layer, a, b, 0.5, export.AlignCentre, text)}
}

// circle returns a circle of four cubics (radial error below 0.03 %).
func circle(layer export.Layer, pen export.Pen, c geometry.Point, r float64) export.Item {
	k := 0.5522847498 * r
	var path geometry.Path
	for i := range 4 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 2)
		out := geometry.Vec{X: cos, Y: sin}
		at := c.Add(out.Scale(r))
		before, after := at.Add(out.Perp().Scale(-k)), at.Add(out.Perp().Scale(k))
		path = append(path, geometry.Knot{At: at, In: &before, Out: &after})
	}
	return export.Shape{Layer: layer, Pen: pen, Contours: []export.Contour{{Knots: path}}}
}

func grainText(m pattern.PlacedMark) string {
	text := "grain"
	if m.Bias {
		text = "bias, at 45° to the threads"
	}
	if m.Text != "" && !strings.Contains(text, m.Text) {
		text += ", " + m.Text
	}
	return text
}

// arrow returns the grain line with an open head at both ends and its words.
func arrow(a, b geometry.Point, text string) []export.Item {
	u := b.Sub(a).Unit()
	if export.TextWidth(text, tinySize, false) > a.Dist(b)-12 {
		text, _, _ = strings.Cut(text, ",")
	}
	return []export.Item{
		export.Line(LayerGrain, grainPen, a, b), head(LayerGrain, a, u), head(LayerGrain, b, u.Scale(-1)),
		along(LayerGrain, a, b, 0.5, export.AlignCentre, text),
	}
}
