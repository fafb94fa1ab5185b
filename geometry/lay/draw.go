package lay

import (
	"cmp"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/pattern"
)

// Layers of a drawn plan.
const (
	layerCloth  export.Layer = "cloth"
	layerPieces export.Layer = "pieces"
	layerText   export.Layer = "text"
	layerPrint  export.Layer = "stripes"
)

// Draw returns a plan of a garment's pieces at true proportion, scale times true size
// (1 = full size, for a roll), with the cloth's edges, the fold, flaws and stripes, the
// grain of each piece and its name. The garment is the one that the task was made of. It
// fails as [pattern.DraftAll] does.
func Draw(g pattern.Garment, plan Plan, scale float64) (export.Page, error) {
	const margin, below = 10.0, 22.0
	page := export.Page{Width: 2*margin + scale*plan.LaidLengthMM, Height: 2*margin + below + scale*plan.LaidWidthMM}
	items, err := Picture(g, plan, scale, geometry.Point{X: margin, Y: margin + below})
	if err != nil {
		return export.Page{}, err
	}
	page.Items = items
	buy := fmt.Sprintf("buy %.1f cm", plan.BuyMM/10)
	if plan.Cloth.Remnant != nil {
		buy = "from what is at hand"
	}
	for i, words := range []string{
		fmt.Sprintf("%s: %s, %.0f cm wide, %s.", g.Name, cmp.Or(plan.Cloth.Name, "cloth"), plan.Cloth.WidthMM/10, plan.Cloth.Words()),
		fmt.Sprintf("The pieces lie on %.1f cm; %s. They use %.0f %% of it.", plan.LaidLengthMM/10, buy, plan.UsedPct),
	} {
		const size = 4.0
		at := geometry.Point{X: margin, Y: margin + 8 - 6*float64(i)}
		page.Width = max(page.Width, 2*margin+export.TextWidth(words, size, false))
		page.Items = append(page.Items, export.Text{Layer: layerText, At: at, Size: size, Ink: export.Black, Content: words})
	}
	return page, nil
}

// Picture returns what [Draw] draws without its words below: the cloth with its lower left
// corner at a point of a page, some 4 mm of words below and above it. It fails as Draw does.
func Picture(g pattern.Garment, plan Plan, scale float64, corner geometry.Point) ([]export.Item, error) {
	halves, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		return nil, err
	}
	wholes, err := pattern.DraftAll(g, pattern.Options{Unfold: true})
	if err != nil {
		return nil, err
	}
	to := func(q geometry.Point) geometry.Point {
		return geometry.Point{X: corner.X + scale*q.X, Y: corner.Y + scale*q.Y}
	}
	items := append(plan.ground(to), plan.stripes(to)...)
	items = append(items, plan.sides(to)...)
	for _, laid := range plan.Pieces {
		drafts := wholes
		if laid.AtFold {
			drafts = halves
		}
		for i, d := range drafts {
			if g.Pieces[i].ID == laid.Piece && d.Drawn() {
				items = append(items, laid.draw(d, laid.layer(plan.Cloth), to, scale)...)
			}
		}
	}
	return items, nil
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

// ground draws the cloth as far as it is used, or all of a remnant, and its flaws.
func (p Plan) ground(to func(geometry.Point) geometry.Point) []export.Item {
	pen := export.Pen{Width: 0.35, Ink: export.Black}
	ring := geometry.Polyline{{}, {X: p.LaidLengthMM}, {X: p.LaidLengthMM, Y: p.LaidWidthMM}, {Y: p.LaidWidthMM}}
	if p.Cloth.Remnant != nil {
		ring = p.Cloth.Remnant
	}
	items := []export.Item{export.Polygon(layerCloth, pen, export.Faint, ring.Map(to)...)}
	for _, f := range p.Cloth.Flaws {
		items = append(items, export.Polygon(layerCloth, pen, export.Grey, f.Map(to)...))
	}
	return items
}

// stripes draws where the middles of the stripes run.
func (p Plan) stripes(to func(geometry.Point) geometry.Point) []export.Item {
	var items []export.Item
	pen := export.Pen{Width: 0.18, Ink: export.Grey}
	line := func(a, b geometry.Point) { items = append(items, export.Line(layerPrint, pen, to(a), to(b))) }
	each := func(repeat, from, end float64, draw func(float64)) {
		const most = 500
		if repeat <= 0 || end/repeat > most {
			return
		}
		for x := math.Mod(from, repeat); x <= end; x += repeat {
			draw(x)
		}
	}
	c := p.Cloth
	each(c.RepeatLengthMM, c.StripeLengthMM, p.LaidLengthMM, func(x float64) {
		line(geometry.Point{X: x}, geometry.Point{X: x, Y: p.LaidWidthMM})
	})
	each(c.RepeatAcrossMM, c.StripeAcrossMM, p.LaidWidthMM, func(y float64) {
		line(geometry.Point{Y: y}, geometry.Point{X: p.LaidLengthMM, Y: y})
	})
	return items
}

// sides writes what the sides of the cloth are.
func (p Plan) sides(to func(geometry.Point) geometry.Point) []export.Item {
	if p.Cloth.Remnant != nil {
		return nil
	}
	low, high := "selvage", "selvage"
	if p.Cloth.Spread == Lengthwise {
		low, high = "fold", "selvages"
	}
	text := func(at geometry.Point, up float64, s string) export.Item {
		at = to(at)
		return export.Text{Layer: layerText, At: geometry.Point{X: at.X, Y: at.Y + up}, Size: 3, Ink: export.Grey, Content: s}
	}
	begin := "cut end"
	if p.Cloth.Spread == Crosswise {
		begin = "cut ends"
	}
	side := to(geometry.Point{Y: p.LaidWidthMM / 2})
	items := []export.Item{
		text(geometry.Point{}, -4, low), text(geometry.Point{Y: p.LaidWidthMM}, 1.2, high),
		export.Text{Layer: layerText, At: geometry.Point{X: side.X - 1.2, Y: side.Y}, Size: 3, Ink: export.Grey, Align: export.AlignCentre, Turn: math.Pi / 2, Content: begin},
	}
	pen := export.Pen{Width: 0.5, Ink: export.Black, Dash: []float64{6, 2, 1, 2}}
	end := geometry.Point{X: p.LaidLengthMM}
	switch p.Cloth.Spread {
	case Lengthwise:
		items = append(items, export.Line(layerCloth, pen, to(geometry.Point{}), to(end)))
	case Crosswise:
		items = append(items, export.Line(layerCloth, pen, to(end), to(geometry.Point{X: end.X, Y: p.LaidWidthMM})), export.Text{
			Layer: layerText, At: to(end).Add(geometry.Vec{Y: -4}), Size: 3, Ink: export.Grey, Align: export.AlignRight, Content: "fold at this end",
		})
	}
	return items
}

// layer says through which layers a piece is cut, and whether it lies face down.
func (l Laid) layer(c Cloth) string {
	switch folded := c.Spread == Lengthwise || c.Spread == Crosswise; {
	case l.AtFold:
		return "on the fold"
	case l.Layers > 1:
		return "both layers"
	case folded && l.Mirrored:
		return "upper layer, turned over"
	case folded:
		return "upper layer"
	case l.Mirrored:
		return "turned over"
	}
	return ""
}

// draw draws one piece with its name and how it is cut, and an arrow to the top of the
// piece. The words are no wider than the piece, as far as they can be read then.
func (l Laid) draw(d pattern.Drafted, how string, to func(geometry.Point) geometry.Point, scale float64) []export.Item {
	place := func(q geometry.Point) geometry.Point { return to(l.Apply(q)) }
	pen := export.Pen{Width: 0.3, Ink: export.Black}
	shape := export.Shape{Layer: layerPieces, Pen: pen, Fill: export.Pale, Contours: []export.Contour{{Knots: d.CutLine.Map(place)}}}
	for _, h := range d.Holes {
		shape.Contours = append(shape.Contours, export.Contour{Knots: h.Map(place)})
	}
	low, high := grainLine(d)
	foot, tip := place(low), place(high)
	back := foot.Sub(tip).Unit().Scale(2)
	items := []export.Item{
		shape,
		export.Line(layerPieces, pen, foot, tip),
		export.Lines(layerPieces, pen, tip.Add(back).Add(back.Perp().Scale(0.4)), tip, tip.Add(back).Add(back.Perp().Scale(-0.4))),
	}
	const smallest = 1.8 // mm
	lo, hi := d.CutLine.Map(place).Flatten(1).Bounds()
	at := foot.Lerp(tip, 0.5)
	word := func(text string, size, up float64) {
		if wide := export.TextWidth(text, size, false); wide > 0.9*(hi.X-lo.X) {
			size = max(smallest, size*0.9*(hi.X-lo.X)/wide)
		}
		if text != "" {
			items = append(items, export.Text{Layer: layerText, At: geometry.Point{X: (lo.X + hi.X) / 2, Y: at.Y + up*size}, Size: size, Ink: export.Black, Align: export.AlignCentre, Content: text})
		}
	}
	size := min(4, max(smallest, 30*scale))
	word(d.Name, size, 0.3)
	word(how, 0.8*size, -1.2)
	return items
}

// grainLine returns the foot and the top of a piece's grain line; where it has none, of
// the middle of the piece.
func grainLine(d pattern.Drafted) (foot, top geometry.Point) {
	for _, m := range d.Marks {
		if m.Kind == pattern.MarkGrain && len(m.Lines) > 0 && len(m.Lines[0]) == 2 {
			foot, top = m.Lines[0][0], m.Lines[0][1]
			if foot.Y > top.Y {
				foot, top = top, foot
			}
			return foot, top
		}
	}
	lo, hi := d.CutLine.Flatten(1).Bounds()
	middle, half := lo.Lerp(hi, 0.5), 0.3*(hi.Y-lo.Y)
	return geometry.Point{X: middle.X, Y: middle.Y - half}, geometry.Point{X: middle.X, Y: middle.Y + half}
}

// DrawWidths returns a plot of what to buy against the width of the cloth, some 150 x 100
// mm. Widths that a piece does not fit on stand there without a bar. write writes lengths
// for people.
func DrawWidths(title string, rows []WidthRow, write func(mm float64) string) export.Page {
	const wide, high, margin, foot = 150.0, 100.0, 10.0, 18.0
	page := export.Page{Width: wide, Height: high}
	text := func(x, y, size float64, s string) {
		page.Items = append(page.Items, export.Text{Layer: layerText, At: geometry.Point{X: x, Y: y}, Size: size, Ink: export.Black, Align: export.AlignCentre, Content: s})
	}
	text(wide/2, high-margin, 4, title+": length to buy by width of the cloth")
	most := 1.0
	for _, r := range rows {
		most = max(most, r.BuyMM)
	}
	step := (wide - 2*margin) / float64(max(1, len(rows)))
	pen := export.Pen{Width: 0.35, Ink: export.Black}
	for i, r := range rows {
		x := margin + step*(float64(i)+0.5)
		text(x, foot-6, 3.2, write(r.WidthMM))
		if r.Why != "" {
			text(x, foot+3, 3.2, "does not fit")
			continue
		}
		top := foot + (high-margin-foot-14)*r.BuyMM/most
		page.Items = append(page.Items, export.Rect(layerCloth, pen, export.Pale, geometry.Point{X: x - 0.3*step, Y: foot}, geometry.Point{X: x + 0.3*step, Y: top}))
		text(x, top+2, 3.2, write(r.BuyMM))
	}
	page.Items = append(page.Items, export.Line(layerCloth, pen, geometry.Point{X: margin, Y: foot}, geometry.Point{X: wide - margin, Y: foot}))
	return page
}
