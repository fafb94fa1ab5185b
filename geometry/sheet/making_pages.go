package sheet

import (
	"fmt"
	"io"
	"math"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

// MakingPDF writes the making sheet of a garment on paper of the options: A4 or another
// sheet of home paper; printer scales and tiles play no part. It fails as [DrawMaking]
// does, or when w fails.
func MakingPDF(w io.Writer, g pattern.Garment, m Making, unit measure.Unit, opt Options) error {
	d, err := DrawMaking(g, m, unit, opt)
	if err != nil {
		return err
	}
	return export.WritePDF(w, d)
}

// DrawMaking returns the pages that MakingPDF writes. The garment is the one that the
// sheet was made of. It fails with ErrMargin, with ErrPaper on paper without a height, and
// as [pattern.DraftAll] does.
func DrawMaking(g pattern.Garment, m Making, unit measure.Unit, opt Options) (export.Drawing, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return export.Drawing{}, err
	}
	if opt.Paper.single() {
		return export.Drawing{}, fmt.Errorf("sheet: %s: %w; choose A4 or Letter", opt.Paper.Label, ErrPaper)
	}
	if unit == "" {
		unit = measure.Millimetre
	}
	f := newFlow(m.Title, opt)
	f.cutting(m)
	for _, c := range m.Cloths {
		if c.Plan == nil {
			continue
		}
		if err := f.layout(g, c); err != nil {
			return export.Drawing{}, err
		}
	}
	f.sewing(m, unit)
	f.swatches(m, g.Swatches)
	return export.Drawing{Title: m.Title + ": making sheet", Pages: f.done("making sheet")}, nil
}

// cutting writes what is needed up to the cutting.
func (f *flow) cutting(m Making) {
	f.title(m.Title, strings.Join(m.Facts, " · "))

	f.heading("Before cutting")
	f.list(m.Prepare)

	var rows [][]string
	f.heading("Cloth")
	for _, c := range m.Cloths {
		rows = append(rows, []string{c.Name, c.Use, c.Text})
	}
	f.table([]float64{0.24, 0.14, 0.62}, []string{"cloth", "for", "how much"}, rows)

	f.heading("Pieces")
	rows = nil
	for _, p := range m.Pieces {
		rows = append(rows, []string{p.Letter, p.Name, p.Cut, p.Cloth, p.Side})
	}
	f.table([]float64{0.07, 0.17, 0.21, 0.18, 0.37}, []string{"letter", "piece", "cut", "from", "how the paper lies"}, rows)

	if len(m.Notions) > 0 {
		f.heading("Elastic and cord")
		rows = nil
		for _, n := range m.Notions {
			rows = append(rows, []string{fmt.Sprintf("%d ×", n.Count), n.Name, n.Text})
		}
		f.table([]float64{0.08, 0.27, 0.65}, []string{"", "for", "cut"}, rows)
	}

	f.heading("Marks to transfer")
	f.text("With chalk on the wrong side; try the chalk on a scrap first. Write each piece's letter beside its top, so that front and back, left and right stay apart.")
	rows = nil
	for _, k := range m.Marks {
		rows = append(rows, []string{k.Letter, k.Piece, k.Text})
	}
	f.table([]float64{0.07, 0.17, 0.76}, []string{"letter", "piece", "marks"}, rows)
}

// sewing writes what is needed from there on.
func (f *flow) sewing(m Making, unit measure.Unit) {
	length := func(mm float64) string { return unbroken(mm, unit) }
	var rows [][]string
	if len(m.Seams) > 0 {
		f.heading("Seams")
		for _, s := range m.Seams {
			rows = append(rows, []string{s.Name, s.A, length(s.AMM), s.AllowanceA, s.B, length(s.BMM), s.AllowanceB, easeText(s, length)})
		}
		f.table([]float64{0.13, 0.15, 0.09, 0.1, 0.18, 0.09, 0.1, 0.16}, []string{"seam", "one side", "long", "allowance", "other side", "long", "allowance", "ease, notches"}, rows)
	}

	f.heading("Other edges")
	rows = nil
	for _, e := range m.Edges {
		if n := len(rows); n > 0 && rows[n-1][0] == e.Piece && rows[n-1][2] == e.Text {
			rows[n-1][1] += ", " + e.Edge
			continue
		}
		rows = append(rows, []string{e.Piece, e.Edge, e.Text})
	}
	f.table([]float64{0.18, 0.28, 0.54}, []string{"piece", "edge", "finish"}, rows)

	f.heading("Order of work")
	f.text("As far as it follows from seams and finishes; what stands in one step may be done in any order. Press each seam before another crosses it.")
	for i, s := range m.Steps {
		text := fmt.Sprintf("%d. %s", i+1, s.Text)
		if s.Why != "" {
			text += " (" + strings.ToLower(s.Why[:1]) + strings.TrimSuffix(s.Why[1:], ".") + ")"
		}
		f.tick(text)
	}

	if len(m.Changes) > 0 {
		f.heading("Changed against the worn garment")
		f.list(m.Changes)
	}
	f.heading("Take care")
	for _, c := range m.Cautions {
		f.dash(c.Message + " " + c.Remedy)
	}
}

func easeText(s MakingSeam, length func(float64) string) string {
	var out []string
	switch {
	case s.EaseMM > 0:
		out = append(out, "ease the first by "+length(s.EaseMM))
	case s.EaseMM < 0:
		out = append(out, "ease the other by "+length(-s.EaseMM))
	}
	if s.Notches == 1 {
		out = append(out, "1 notch")
	} else if s.Notches > 1 {
		out = append(out, fmt.Sprintf("%d notches", s.Notches))
	}
	return strings.Join(out, "; ")
}

// layout draws the plan of a cloth as large as the page allows, long plans on several
// lines one below the other.
func (f *flow) layout(g pattern.Garment, c MakingCloth) error {
	const room, left, least = 9.0, 6.0, 0.07 // of words round the picture; scale from which plans stay readable
	p := *c.Plan
	long := f.window.width() - left - 1
	scale := math.Min(0.125, long/p.LaidLengthMM)
	scale = math.Min(scale, (f.window.height()-60)/p.LaidWidthMM)
	lines := 1
	if scale < least {
		scale = math.Min(least, (f.window.height()/2-40)/p.LaidWidthMM)
		lines = int(math.Ceil(p.LaidLengthMM * scale / long))
	}
	high := scale*p.LaidWidthMM + 2*room
	f.need(12 + high)
	f.heading(fmt.Sprintf("How the pieces lie: %s", c.Name))
	words := fmt.Sprintf("%s. The pieces lie on %.2f m and use %.0f %% of it. Drawn at 1 : %.0f.", strings.ToUpper(p.Cloth.Words()[:1])+p.Cloth.Words()[1:], p.LaidLengthMM/1000, p.UsedPct, 1/scale)
	f.text(words + " Arrows point to the tops of the pieces.")
	for _, w := range p.Findings {
		f.dash(w.Message + " " + w.Remedy)
	}
	picture, err := lay.Picture(g, p, scale, geometry.Point{})
	if err != nil {
		return err
	}
	for k := range lines {
		f.need(high)
		corner, before := geometry.Point{X: f.window.lo.X + left, Y: f.y - high + room}, 1.0
		if k == 0 {
			before = left
		}
		from := float64(k) * long
		f.add(export.Window{
			Lo:   geometry.Point{X: corner.X - before, Y: corner.Y - room + 1},
			Hi:   geometry.Point{X: corner.X + math.Min(long, p.LaidLengthMM*scale-from) + 1, Y: corner.Y + scale*p.LaidWidthMM + room - 1},
			Move: geometry.Vec{X: corner.X - from, Y: corner.Y}, Items: picture,
		})
		f.y -= high
	}
	return nil
}

// swatches leaves room to pin a piece of each cloth, with its photo where there is one,
// and draws test squares.
func (f *flow) swatches(m Making, pictures pattern.Swatches) {
	const wide, high, gap, name = 55.0, 42.0, 6.0, 5.0
	f.need(squareMM + 24)
	f.heading("Swatches and test squares")
	f.text("Pin or glue a washed piece of each cloth here, right side up, with an arrow along the selvage. Colours of a photo are not true. Both squares must measure true, or the sheet was scaled in printing: then the pattern may be, too.")
	f.y -= 3
	low := f.y - squareMM
	f.add(square(geometry.Point{X: f.window.lo.X, Y: low}, squareMM, "100\u00a0mm")...)
	f.add(square(geometry.Point{X: f.window.lo.X + squareMM - 2*inch, Y: f.y - 2*inch}, 2*inch, "2\u00a0in")...)
	left := f.window.lo.X + squareMM + gap // beside the squares, then below them
	x, y, end := left, f.y, low
	for _, s := range m.Swatches {
		if x+wide > f.window.hi.X+0.1 {
			y -= high + name + gap
			if x = f.window.lo.X; y-high-name > low-1 {
				x = left
			}
		}
		if y-high-name < f.window.lo.Y {
			f.next()
			x, y, low, end = f.window.lo.X, f.y, f.y, f.y
		}
		f.swatch(s, pictures[s.Picture], geometry.Point{X: x, Y: y - high}, geometry.Point{X: x + wide, Y: y})
		end = math.Min(end, y-high-name)
		x += wide + gap
	}
	f.y = end - 2
}

// swatch draws the place for a piece of one cloth, and its name below.
func (f *flow) swatch(s MakingSwatch, picture []byte, lo, hi geometry.Point) {
	if p, err := export.NewPicture(LayerText, picture, lo, hi); err == nil {
		f.add(p)
	}
	f.add(export.Rect(LayerText, tablePen, export.NoInk, lo, hi))
	f.add(export.Text{Layer: LayerText, At: geometry.Point{X: lo.X, Y: lo.Y - 4}, Size: 3, Ink: 0.9, Content: short(s.Name, 34)})
}
