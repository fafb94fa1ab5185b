package lay

import (
	"cmp"
	"fmt"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/pattern"
)

// Layers of a drawn plan.
const (
	layerCloth  export.Layer = "cloth"
	layerPieces export.Layer = "pieces"
	layerText   export.Layer = "text"
)

// Draw returns a plan of a garment's pieces at true proportion, scale times true size
// (1 = full size, for a roll), with the cloth's edges, the fold, the grain of each piece
// and its name. The garment is the one that the task was made of. It fails as
// [pattern.DraftAll] does.
func Draw(g pattern.Garment, plan Plan, scale float64) (export.Page, error) {
	halves, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		return export.Page{}, err
	}
	wholes, err := pattern.DraftAll(g, pattern.Options{Unfold: true})
	if err != nil {
		return export.Page{}, err
	}
	const margin, below = 10.0, 22.0
	to := func(q geometry.Point) geometry.Point {
		return geometry.Point{X: margin + scale*q.X, Y: margin + below + scale*q.Y}
	}
	cloth := geometry.Point{X: plan.LaidLengthMM, Y: plan.LaidWidthMM}
	page := export.Page{Width: 2*margin + scale*cloth.X, Height: 2*margin + below + scale*cloth.Y}
	page.Width = max(page.Width, 150)
	page.Items = append(page.Items, export.Rect(layerCloth, export.Pen{Width: 0.35, Ink: export.Black}, export.Faint, to(geometry.Point{}), to(cloth)))
	page.Items = append(page.Items, sides(plan, to)...)
	for _, laid := range plan.Pieces {
		drafts := wholes
		if laid.AtFold {
			drafts = halves
		}
		for i, d := range drafts {
			if g.Pieces[i].ID == laid.Piece {
				page.Items = append(page.Items, laid.draw(d, to, scale)...)
			}
		}
	}
	for i, words := range []string{
		fmt.Sprintf("%s: %s, %.0f cm wide, %s.", g.Name, cmp.Or(plan.Cloth.Name, "cloth"), plan.Cloth.WidthMM/10, plan.Cloth.Words()),
		fmt.Sprintf("The pieces lie on %.1f cm; buy %.1f cm. They use %.0f %% of it.", plan.LaidLengthMM/10, plan.BuyMM/10, plan.UsedPct),
	} {
		at := geometry.Point{X: margin, Y: margin + 8 - 6*float64(i)}
		page.Items = append(page.Items, export.Text{Layer: layerText, At: at, Size: 4, Ink: export.Black, Content: words})
	}
	return page, nil
}

// Words says how the cloth lies: "folded lengthwise, right sides together".
func (c Cloth) Words() string {
	in := "right sides together"
	if c.RightSideOut {
		in = "right side out"
	}
	switch c.Spread {
	case Lengthwise:
		return "folded lengthwise, " + in
	case Crosswise:
		return "folded across, " + in
	}
	return "open, right side up"
}

// sides writes what the sides of the cloth are.
func sides(plan Plan, to func(geometry.Point) geometry.Point) []export.Item {
	low, high := "selvage", "selvage"
	if plan.Cloth.Spread == Lengthwise {
		low, high = "fold", "selvages"
	}
	text := func(at geometry.Point, up float64, s string) export.Item {
		at = to(at)
		return export.Text{Layer: layerText, At: geometry.Point{X: at.X, Y: at.Y + up}, Size: 3, Ink: export.Grey, Content: s}
	}
	items := []export.Item{text(geometry.Point{}, -4, low), text(geometry.Point{Y: plan.LaidWidthMM}, 1.2, high)}
	if plan.Cloth.Spread == Lengthwise {
		pen := export.Pen{Width: 0.5, Ink: export.Black, Dash: []float64{6, 2, 1, 2}}
		items = append(items, export.Line(layerCloth, pen, to(geometry.Point{}), to(geometry.Point{X: plan.LaidLengthMM})))
	}
	return items
}

// draw draws one piece with its name, and an arrow to the top of the piece.
func (l Laid) draw(d pattern.Drafted, to func(geometry.Point) geometry.Point, scale float64) []export.Item {
	place := func(q geometry.Point) geometry.Point { return to(l.Apply(q)) }
	pen := export.Pen{Width: 0.3, Ink: export.Black}
	shape := export.Shape{Layer: layerPieces, Pen: pen, Fill: export.Pale, Contours: []export.Contour{{Knots: d.CutLine.Map(place)}}}
	for _, h := range d.Holes {
		shape.Contours = append(shape.Contours, export.Contour{Knots: h.Map(place)})
	}
	lo, hi := d.CutLine.Flatten(1).Bounds()
	middle, half := lo.Lerp(hi, 0.5), 0.3*(hi.Y-lo.Y)
	foot, tip := place(geometry.Point{X: middle.X, Y: middle.Y - half}), place(geometry.Point{X: middle.X, Y: middle.Y + half})
	back := foot.Sub(tip).Unit().Scale(2)
	items := []export.Item{
		shape,
		export.Line(layerPieces, pen, foot, tip),
		export.Lines(layerPieces, pen, tip.Add(back).Add(back.Perp().Scale(0.4)), tip, tip.Add(back).Add(back.Perp().Scale(-0.4))),
	}
	name := d.Name
	if l.Mirrored {
		name += " (turned over)"
	}
	at := place(middle)
	return append(items, export.Text{
		Layer: layerText, At: geometry.Point{X: at.X, Y: at.Y + 1}, Size: min(4, max(1.5, 30*scale)), Ink: export.Black, Align: export.AlignCentre, Content: name,
	})
}
