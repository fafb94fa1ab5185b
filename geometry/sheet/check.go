package sheet

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// Measures of what people check a print by, in mm. A ruler read to half a
// millimetre tells 0.5 % on 100 mm and 0.25 % on 200 mm.
const (
	squareMM = 100.0
	squareIn = 4 * inch
	// The long bars, where there is room beside the alignment diamonds; shorter
	// by tens of millimetres where there is not.
	acrossBar = 150.0
	upBar     = 200.0
)

// barLengths returns how long the bars of a window are.
func barLengths(window box) (across, up float64) {
	fit := func(longest, side, fromEnd float64) float64 {
		room := side - 2*(fromEnd+diamondMM+1)
		return math.Min(longest, 10*math.Floor(room/10))
	}
	return fit(acrossBar, window.width(), diamondFromSide), fit(upBar, window.height(), diamondFromFoot)
}

// square returns a test square with its measure written along two inner sides.
func square(lo geometry.Point, side float64, measure string) []export.Item {
	hi := lo.Add(geometry.Vec{X: side, Y: side})
	text := func(at geometry.Point, turn float64) export.Text {
		return export.Text{Layer: LayerCheck, At: at, Size: tinySize, Ink: 0.85, Align: export.AlignCentre, Turn: turn, Content: measure}
	}
	return []export.Item{
		export.Rect(LayerCheck, checkPen, export.NoInk, lo, hi),
		text(geometry.Point{X: lo.X + side/2, Y: lo.Y + 1.6}, 0),
		text(geometry.Point{X: lo.X + 1.6 + 0.72*tinySize, Y: lo.Y + side/2}, math.Pi/2),
	}
}

// bar returns a line of exact length between two end ticks, with its measure in
// a gap in its middle. It runs from a in direction dir; ticks are 2.4 mm long.
func bar(a geometry.Point, dir geometry.Vec, length float64, measure string) []export.Item {
	b := a.Add(dir.Scale(length))
	n := dir.Perp().Scale(1.2)
	const size = 2.8
	gap := export.TextWidth(measure, size, false)/length/2 + 1.5/length
	down := dir.Perp().Scale(-0.36 * size)
	return []export.Item{
		export.Line(LayerCheck, barPen, a, a.Lerp(b, 0.5-gap)),
		export.Line(LayerCheck, barPen, a.Lerp(b, 0.5+gap), b),
		export.Line(LayerCheck, barPen, a.Add(n), a.Add(n.Scale(-1))),
		export.Line(LayerCheck, barPen, b.Add(n), b.Add(n.Scale(-1))),
		export.Text{
			Layer: LayerCheck, At: a.Lerp(b, 0.5).Add(down), Size: size, Ink: export.Grey, Align: export.AlignCentre,
			Turn: math.Atan2(dir.Y, dir.X), Content: measure,
		},
	}
}

// bars returns the two long bars of a page, along the lower and the right edge
// of a window.
func bars(window box) []export.Item {
	const inset = 1.7
	across, up := barLengths(window)
	items := bar(geometry.Point{X: window.centre().X - across/2, Y: window.lo.Y + inset}, geometry.Vec{X: 1}, across, fmt.Sprintf("%g\u00a0mm across", across))
	return append(items,
		bar(geometry.Point{X: window.hi.X - inset, Y: window.centre().Y - up/2}, geometry.Vec{Y: 1}, up, fmt.Sprintf("%g\u00a0mm up", up))...)
}
