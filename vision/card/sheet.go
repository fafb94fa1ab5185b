package card

import (
	"errors"
	"fmt"
	"io"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/sheet"
	"secondcut/vision/internal/cv"
)

// PerSheet is how many cards a sheet holds; Sheets is how many sheets there are.
const (
	PerSheet = 6
	Sheets   = (MaxID + 1) / PerSheet
)

// Errors of the card sheet.
var (
	// ErrSheet says that there is no sheet of that number.
	ErrSheet = errors.New("card sheets are numbered 1 to 97")
	// ErrPaper says that the sheet is not made for that paper.
	ErrPaper = errors.New("card sheets are made for A4 and Letter")
)

// The layers of a card sheet.
const (
	layerCards  export.Layer = "Cards"
	layerCut    export.Layer = "Lines to cut"
	layerRulers export.Layer = "Rulers"
	layerText   export.Layer = "Text"
)

// Measures of the sheet in mm.
const (
	columns       = 2
	rows          = 3
	acrossRulerMM = 150
	upRulerMM     = 200
	a4BottomMM    = 37.0 // lower edge of the cards on A4
	letterTopMM   = 10.0 // paper above the cards on Letter
)

// WriteSheet writes sheet n (1 to Sheets) as a PDF of true size. It fails with
// ErrSheet, ErrPaper, or when w fails.
func WriteSheet(w io.Writer, paper sheet.Paper, n int) error {
	d, err := Sheet(paper, n)
	if err != nil {
		return err
	}
	return export.WritePDF(w, d)
}

// Sheet returns the drawing of sheet n (1 to Sheets), which holds the cards
// 6(n-1) to 6(n-1)+5, row by row from the top left. It fails with ErrSheet or
// ErrPaper.
func Sheet(paper sheet.Paper, n int) (export.Drawing, error) {
	if n < 1 || n > Sheets {
		return export.Drawing{}, fmt.Errorf("card: sheet %d: %w", n, ErrSheet)
	}
	centres, err := Centres(paper)
	if err != nil {
		return export.Drawing{}, err
	}
	first := PerSheet * (n - 1)
	var items []export.Item
	for i, c := range centres {
		face, err := face(first+i, c)
		if err != nil {
			return export.Drawing{}, err
		}
		items = append(items, face...)
	}
	lo := centres[4].Add(geometry.Vec{X: -SideMM / 2, Y: -SideMM / 2})
	items = append(items, cutLines(lo)...)
	items = append(items, ruler(geometry.Point{X: lo.X + (columns*SideMM-acrossRulerMM)/2, Y: lo.Y - 1.6}, geometry.Vec{X: 1}, acrossRulerMM)...)
	items = append(items, ruler(geometry.Point{X: lo.X + columns*SideMM + 4, Y: lo.Y + (rows*SideMM-upRulerMM)/2}, geometry.Vec{Y: 1}, upRulerMM)...)
	items = append(items, words(lo, first, n)...)
	return export.Drawing{
		Title: fmt.Sprintf("Scale cards %d to %d", first, first+PerSheet-1),
		Pages: []export.Page{{Width: paper.Width, Height: paper.Height, Items: items}},
	}, nil
}

// Centres returns where the centres of the six cards stand on the paper, in mm
// from its lower left corner, row by row from the top left. It fails with
// ErrPaper.
func Centres(paper sheet.Paper) ([PerSheet]geometry.Point, error) {
	var out [PerSheet]geometry.Point
	bottom := a4BottomMM
	switch paper {
	case sheet.A4:
	case sheet.Letter:
		bottom = paper.Height - letterTopMM - rows*SideMM
	default:
		return out, fmt.Errorf("card: %s: %w", paper.Label, ErrPaper)
	}
	for i := range out {
		out[i] = geometry.Point{
			X: paper.Width/2 + (float64(i%columns)-0.5)*SideMM,
			Y: bottom + (rows-0.5-float64(i/columns))*SideMM,
		}
	}
	return out, nil
}

// face returns what is printed on one card about its centre: the tag, the four
// saddles, the number.
func face(id int, centre geometry.Point) ([]export.Item, error) {
	cells, err := cv.TagCells(id)
	if err != nil {
		return nil, err
	}
	at := func(x, y float64) geometry.Point { return geometry.Point{X: centre.X + x, Y: centre.Y + y} }
	// All black of a card is one shape: where two rectangles meet, no hairline
	// of paper can show between them.
	black := export.Shape{Layer: layerCards, Fill: export.Black}
	rect := func(lo, hi geometry.Point) {
		r := export.Rect(layerCards, export.Pen{}, export.Black, lo, hi)
		black.Contours = append(black.Contours, r.Contours...)
	}
	const half = TagMM / 2
	const modules = 8
	for row := range modules {
		top := half - float64(row)*ModuleMM
		for from := 0; from < modules; from++ {
			to := from
			for to < modules && !cells[modules*row+to] {
				to++
			}
			if to > from {
				rect(at(float64(from)*ModuleMM-half, top-ModuleMM), at(float64(to)*ModuleMM-half, top))
				from = to
			}
		}
	}
	for i := range signs {
		s := SaddlePoint(i)
		rect(at(s.X, s.Y), at(s.X+SquareMM, s.Y+SquareMM))
		rect(at(s.X-SquareMM, s.Y-SquareMM), at(s.X, s.Y))
	}
	const numberY, numberSize = -31.6, 4.6
	return []export.Item{black, export.Text{
		Layer: layerCards, At: at(0, numberY), Size: numberSize, Ink: 0.5,
		Align: export.AlignCentre, Content: fmt.Sprintf("card %d", id),
	}}, nil
}

// cutLines returns the thin grey edges of the cards.
func cutLines(lo geometry.Point) []export.Item {
	pen := export.Pen{Width: 0.15, Ink: 0.35}
	var items []export.Item
	for i := range columns + 1 {
		x := lo.X + float64(i)*SideMM
		items = append(items, export.Line(layerCut, pen, geometry.Point{X: x, Y: lo.Y}, geometry.Point{X: x, Y: lo.Y + rows*SideMM}))
	}
	for i := range rows + 1 {
		y := lo.Y + float64(i)*SideMM
		items = append(items, export.Line(layerCut, pen, geometry.Point{X: lo.X, Y: y}, geometry.Point{X: lo.X + columns*SideMM, Y: y}))
	}
	return items
}

// ruler returns a ruler of length mm from a in direction dir, its ticks to the
// right of that direction, one a millimetre, numbered every ten.
func ruler(a geometry.Point, dir geometry.Vec, length int) []export.Item {
	pen := export.Pen{Width: 0.12, Ink: 0.9}
	side := dir.Perp().Scale(-1)
	items := []export.Item{export.Line(layerRulers, pen, a, a.Add(dir.Scale(float64(length))))}
	const size = 2.5
	for mm := range length + 1 {
		foot := a.Add(dir.Scale(float64(mm)))
		tick := 1.4
		switch {
		case mm%10 == 0:
			tick = 3.2
			turn := math.Atan2(dir.Y, dir.X)
			// The number's top is towards the ticks, so that it reads along the ruler.
			at := foot.Add(side.Scale(tick + 0.6 + 0.72*size))
			items = append(items, export.Text{Layer: layerRulers, At: at, Size: size, Ink: 0.9, Align: export.AlignCentre, Turn: turn, Content: fmt.Sprint(mm)})
		case mm%5 == 0:
			tick = 2.2
		}
		items = append(items, export.Line(layerRulers, pen, foot, foot.Add(side.Scale(tick))))
	}
	return items
}

// words returns the three lines of instruction below the cards and the sheet's
// name on their left.
func words(lo geometry.Point, first, n int) []export.Item {
	// The ruler takes 7.4 mm below the cards; the lowest line stands 10.8 mm
	// above the paper's edge, where printers still print.
	const size, rulerDepth, lowest = 3.0, 7.4, 10.8
	step := math.Min(4.8, (lo.Y-rulerDepth-lowest)/3)
	var items []export.Item
	y := lo.Y - rulerDepth
	for _, line := range []string{
		"1. Print at 100 %, not “fit to page”. Measure both rulers (150 mm across, 200 mm up) and tell the program what you read.",
		"2. Cut the cards apart along the thin lines. Lay four to six of them flat around the piece, on the same surface.",
		"3. A hot iron and warm cloth can burn you and curl the cards: let the cloth cool before you lay cards beside it.",
	} {
		y -= step
		items = append(items, export.Text{Layer: layerText, At: geometry.Point{X: lo.X, Y: y}, Size: size, Ink: 0.9, Content: line})
	}
	name := fmt.Sprintf("Scale cards %d to %d · sheet %d of %d", first, first+PerSheet-1, n, Sheets)
	return append(items, export.Text{
		Layer: layerText, At: geometry.Point{X: lo.X - 4, Y: lo.Y + rows*SideMM/2}, Size: 3.4, Ink: 0.6,
		Align: export.AlignCentre, Turn: math.Pi / 2, Content: name,
	})
}
