package export

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
)

// Errors of the writers.
var (
	// ErrNoPage says that a drawing has no page.
	ErrNoPage = errors.New("the drawing has no page")
	// ErrPageSize says that a page is empty, or larger than the format allows.
	ErrPageSize = errors.New("the page size cannot be written")
)

// Drawing is what the writers write: pages in order. Title becomes the title of
// the document.
type Drawing struct {
	Title string
	Pages []Page
}

// Page is one page: the size of its paper in mm and what is drawn on it, later
// items over earlier ones. The origin is the lower left corner, y runs up.
type Page struct {
	Width, Height float64
	// Stretch is what lengths across and up are multiplied by on their way into a
	// PDF, from the lower left corner, so that a printer that is known to be off
	// prints them true. It does not change the paper. Zero = 1, as it is.
	Stretch geometry.Vec
	Items   []Item
}

// stretch returns the two factors.
func (p Page) stretch() (x, y float64) { return cmp.Or(p.Stretch.X, 1), cmp.Or(p.Stretch.Y, 1) }

// Layer names what an item belongs to. Layers can be switched on and off in PDF
// viewers and are groups in SVG.
type Layer string

// Item is a [Shape], a [Text], a [Picture] or a [Window].
type Item interface{ isItem() }

// Ink is the darkness of a line or an area, from 0 (nothing is drawn) to 1
// (black).
type Ink float64

// Some inks.
const (
	Black  Ink = 1
	Grey   Ink = 0.55
	Pale   Ink = 0.3
	Faint  Ink = 0.14
	NoInk  Ink = 0
	maxInk     = 1
)

// Hue is the colour that a full ink has: red, green and blue from 0 to 255. The
// zero value is black.
type Hue [3]uint8

// Pen draws the lines of a shape. With no width or no ink, nothing is stroked.
type Pen struct {
	// Width in mm.
	Width float64
	Ink   Ink
	Hue   Hue
	// Dash holds the lengths in mm of strokes and gaps by turns; empty for a
	// solid line.
	Dash []float64
}

// Contour is a path of lines and cubic Beziers. When Open, it ends at its last
// knot instead of returning to the first.
type Contour struct {
	Knots geometry.Path
	Open  bool
}

// Shape is one or more contours, stroked with the pen and filled by the
// non-zero winding rule (so holes that run the other way stay empty).
type Shape struct {
	Layer    Layer
	Contours []Contour
	Pen      Pen
	Fill     Ink
}

// Align says which point of its baseline a text is placed by.
type Align int

// The three alignments.
const (
	AlignLeft Align = iota
	AlignCentre
	AlignRight
)

// Text is one line of text. At is a point of its baseline.
type Text struct {
	Layer Layer
	At    geometry.Point
	// Size is the font's em in mm; capitals are about 0.72 of it high.
	Size  float64
	Bold  bool
	Ink   Ink
	Align Align
	// Turn in radians, counter-clockwise about At.
	Turn    float64
	Content string
}

// Window shows items moved by Move and cut off outside the rectangle Lo to Hi
// (page coordinates, mm).
type Window struct {
	Lo, Hi geometry.Point
	Move   geometry.Vec
	Items  []Item
}

func (Shape) isItem()  {}
func (Text) isItem()   {}
func (Window) isItem() {}

// Line returns a straight line.
func Line(layer Layer, pen Pen, a, b geometry.Point) Shape {
	return Lines(layer, pen, a, b)
}

// Lines returns an open polyline.
func Lines(layer Layer, pen Pen, points ...geometry.Point) Shape {
	return Shape{Layer: layer, Pen: pen, Contours: []Contour{{Knots: Straight(points...), Open: true}}}
}

// Polygon returns a closed shape with straight sides.
func Polygon(layer Layer, pen Pen, fill Ink, points ...geometry.Point) Shape {
	return Shape{Layer: layer, Pen: pen, Fill: fill, Contours: []Contour{{Knots: Straight(points...)}}}
}

// Rect returns an upright rectangle between two opposite corners.
func Rect(layer Layer, pen Pen, fill Ink, lo, hi geometry.Point) Shape {
	return Polygon(layer, pen, fill, lo, geometry.Point{X: hi.X, Y: lo.Y}, hi, geometry.Point{X: lo.X, Y: hi.Y})
}

// Straight returns the path that joins the points by straight lines.
func Straight(points ...geometry.Point) geometry.Path {
	p := make(geometry.Path, len(points))
	for i, q := range points {
		p[i] = geometry.Knot{At: q, Corner: true}
	}
	return p
}

// Segments returns the stretches of the contour: one fewer than knots when it is
// open.
func (c Contour) Segments() []geometry.Segment {
	s := c.Knots.Segments()
	if c.Open && len(s) > 0 {
		s = s[:len(s)-1]
	}
	return s
}

// rgb returns the colour of an ink of this hue on white paper, each part from 0
// to 1.
func (h Hue) rgb(ink Ink) [3]float64 {
	i := float64(min(max(ink, 0), maxInk))
	var out [3]float64
	for k, v := range h {
		out[k] = 1 - i*(1-float64(v)/255)
	}
	return out
}

// bytes returns the same from 0 to 255.
func (h Hue) bytes(ink Ink) (out [3]uint8) {
	for k, v := range h.rgb(ink) {
		out[k] = uint8(math.Round(255 * v))
	}
	return out
}

// stroked reports whether the pen leaves a line.
func (p Pen) stroked() bool { return p.Width > 0 && p.Ink > 0 }

// clipped is a rectangle that cuts off what lies outside.
type clipped struct{ lo, hi geometry.Point }

// placed is an item with the move and the clip of the window that holds it.
type placed struct {
	item Item
	move geometry.Vec
	clip *clipped
}

func (p placed) layer() Layer {
	switch it := p.item.(type) {
	case Shape:
		return it.Layer
	case Text:
		return it.Layer
	case Picture:
		return it.Layer
	}
	return ""
}

// place opens the windows of a page: what is left are shapes and texts in
// drawing order. A window inside a window is cut by both.
func place(items []Item, move geometry.Vec, clip *clipped) []placed {
	var out []placed
	for _, it := range items {
		w, ok := it.(Window)
		if !ok {
			out = append(out, placed{it, move, clip})
			continue
		}
		c := clipped{w.Lo.Add(move), w.Hi.Add(move)}
		if clip != nil {
			c.lo = geometry.Point{X: math.Max(c.lo.X, clip.lo.X), Y: math.Max(c.lo.Y, clip.lo.Y)}
			c.hi = geometry.Point{X: math.Min(c.hi.X, clip.hi.X), Y: math.Min(c.hi.Y, clip.hi.Y)}
		}
		if c.lo.X < c.hi.X && c.lo.Y < c.hi.Y {
			out = append(out, place(w.Items, move.Add(w.Move), &c)...)
		}
	}
	return out
}

// layers returns the layers in the order of their first use.
func layers(items []placed) []Layer {
	var out []Layer
	seen := map[Layer]bool{}
	for _, p := range items {
		if l := p.layer(); !seen[l] {
			seen[l] = true
			out = append(out, l)
		}
	}
	return out
}

// check reports whether every page can be written and every coordinate is a
// finite number. maxMM is the largest side that the format holds.
func check(pages []Page, maxMM float64) error {
	if len(pages) == 0 {
		return ErrNoPage
	}
	for i, p := range pages {
		if !(p.Width > 0 && p.Height > 0 && p.Width <= maxMM && p.Height <= maxMM) {
			return fmt.Errorf("page %d, %.0f x %.0f mm (at most %.0f mm a side): %w", i+1, p.Width, p.Height, maxMM, ErrPageSize)
		}
		if x, y := p.stretch(); !(x > 0 && y > 0 && !math.IsInf(x+y, 0)) {
			return fmt.Errorf("page %d is stretched by %g and %g: %w", i+1, x, y, ErrPageSize)
		}
		for _, it := range place(p.Items, geometry.Vec{}, nil) {
			if !it.finite() {
				return fmt.Errorf("page %d: %w", i+1, geometry.ErrNotFinite)
			}
		}
	}
	return nil
}

func (p placed) finite() bool {
	ok := (geometry.Point{}).Add(p.move).IsFinite()
	switch it := p.item.(type) {
	case Text:
		ok = ok && it.At.IsFinite() && !math.IsNaN(it.Turn+it.Size) && !math.IsInf(it.Turn+it.Size, 0)
	case Picture:
		ok = ok && it.Lo.IsFinite() && it.Hi.IsFinite()
	case Shape:
		for _, c := range it.Contours {
			for _, s := range c.Segments() {
				ok = ok && s.A.IsFinite() && s.B.IsFinite() && s.C.IsFinite() && s.D.IsFinite()
			}
		}
	}
	return ok
}
