package sheet

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// ErrPaper says that words cannot be set on that paper.
var ErrPaper = errors.New("words need pages of a given height")

// tablePen draws the lines of tables.
var tablePen = export.Pen{Width: 0.18, Ink: export.Grey}

// flow sets words and tables down pages, one after the other.
type flow struct {
	name   string
	page   leaf
	window box // inside the margins, above the foot line
	y      float64
	pages  [][]export.Item
}

func newFlow(name string, opt Options) *flow {
	f := &flow{name: name, page: leaf{opt.Paper.Width, opt.Paper.Height, 1, 1, math.Max(opt.MarginMM, 13)}}
	f.window = f.page.inner()
	f.window.lo.Y += 6
	f.next()
	return f
}

func (f *flow) next() {
	f.pages = append(f.pages, nil)
	f.y = f.window.hi.Y
}

func (f *flow) add(items ...export.Item) {
	f.pages[len(f.pages)-1] = append(f.pages[len(f.pages)-1], items...)
}

// need starts a page where less room than that is left on this one.
func (f *flow) need(mm float64) {
	if f.y-mm < f.window.lo.Y && f.y < f.window.hi.Y {
		f.next()
	}
}

func (f *flow) title(title, below string) {
	f.para(0, 7, true, title)
	f.y -= 1
	f.para(0, bodySize, false, "Making sheet. "+below)
}

func (f *flow) heading(text string) {
	f.need(22) // a heading never stands alone at the foot
	f.y -= 4
	f.para(0, 4.2, true, text)
	f.y -= 0.8
}

func (f *flow) text(text string) {
	f.para(0, bodySize, false, text)
	f.y -= 1.2
}

func (f *flow) list(entries []string) {
	for _, e := range entries {
		f.dash(e)
	}
}

// dash writes an entry of a list, tick one with a box to tick off.
func (f *flow) dash(text string) { f.entry(text, false) }
func (f *flow) tick(text string) { f.entry(text, true) }

func (f *flow) entry(text string, box bool) {
	const indent = 5.0
	lines := export.Wrap(text, bodySize, f.window.width()-indent, false)
	f.need(bodySize * leading * float64(len(lines)))
	at := geometry.Point{X: f.window.lo.X + 1, Y: f.y - bodySize}
	if box {
		f.add(export.Rect(LayerText, tablePen, export.NoInk, at, at.Add(geometry.Vec{X: 2.6, Y: 2.6})))
	} else {
		f.add(export.Text{Layer: LayerText, At: at, Size: bodySize, Ink: 0.9, Content: "–"})
	}
	f.para(indent, bodySize, false, text)
	f.y -= 0.8
}

// para writes a paragraph, over pages where it must.
func (f *flow) para(indent, size float64, bold bool, text string) {
	for _, line := range export.Wrap(text, size, f.window.width()-indent, bold) {
		f.need(size * leading)
		f.y -= size * leading
		f.add(export.Text{Layer: LayerText, At: geometry.Point{X: f.window.lo.X + indent, Y: f.y + size*(leading-1)}, Size: size, Bold: bold, Ink: 0.9, Content: line})
	}
}

// table writes rows in columns of the given parts of the width, its head again on each
// page. A row is never cut in two.
func (f *flow) table(parts []float64, head []string, rows [][]string) {
	const size, pad = 3.0, 1.6
	set := func(cells []string, bold bool) (items func(y float64) []export.Item, high float64) {
		var texts [][]string
		for k, c := range cells {
			lines := export.Wrap(c, size, parts[k]*f.window.width()-2*pad, bold)
			texts = append(texts, lines)
			high = math.Max(high, float64(len(lines))*size*leading)
		}
		high += 1.6
		return func(y float64) []export.Item {
			var out []export.Item
			x := f.window.lo.X
			for k, lines := range texts {
				for n, l := range lines {
					at := geometry.Point{X: x + pad, Y: y - 0.8 - size*leading*float64(n+1) + size*(leading-1)}
					out = append(out, export.Text{Layer: LayerText, At: at, Size: size, Bold: bold, Ink: 0.9, Content: l})
				}
				x += parts[k] * f.window.width()
			}
			return out
		}, high
	}
	rule := func() {
		f.add(export.Line(LayerText, tablePen, geometry.Point{X: f.window.lo.X, Y: f.y}, geometry.Point{X: f.window.hi.X, Y: f.y}))
	}
	top, topHigh := set(head, true)
	begin := func() {
		f.add(top(f.y)...)
		f.y -= topHigh
		rule()
	}
	for i, row := range rows {
		items, high := set(row, false)
		if i == 0 {
			f.need(topHigh + high)
			begin()
		} else if f.y-high < f.window.lo.Y {
			f.next()
			begin()
		}
		f.add(items(f.y)...)
		f.y -= high
		rule()
	}
}

// done returns the pages with their foot lines, which say what they are of.
func (f *flow) done(what string) []export.Page {
	var out []export.Page
	for i, items := range f.pages {
		foot := fmt.Sprintf("%s · %s · page\u00a0%d\u00a0of\u00a0%d", short(f.name, 60), what, i+1, len(f.pages))
		at := geometry.Point{X: f.window.lo.X, Y: f.window.lo.Y - 6}
		items = append(items, export.Text{Layer: LayerText, At: at, Size: tinySize, Ink: export.Grey, Content: foot})
		out = append(out, export.Page{Width: f.page.width, Height: f.page.height, Items: items})
	}
	return out
}
