package export

import (
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"

	"secondcut/geometry"
)

// ErrTooManyPixels says that a picture at this resolution would be too large.
var ErrTooManyPixels = errors.New("the picture would have too many pixels; choose fewer pixels a millimetre")

// maxPixels bounds a preview: 32 megapixels take 128 MB while they are painted.
const maxPixels = 32 << 20

// flatness is the distance in pixels by which a flattened curve may miss the
// true one in a preview.
const flatness = 0.1

// WritePNG writes one page as a picture with pxPerMM pixels a millimetre, which
// must be positive: a preview, right to half a pixel, not stretched. It fails with
// ErrTooManyPixels, ErrPageSize, geometry.ErrNotFinite, or when w fails.
func WritePNG(w io.Writer, page Page, pxPerMM float64) error {
	if err := check([]Page{page}, maxSVGMM); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	width, height := math.Ceil(page.Width*pxPerMM), math.Ceil(page.Height*pxPerMM)
	if !(width >= 1 && height >= 1 && width*height <= maxPixels) {
		return fmt.Errorf("export: %.0f x %.0f pixels: %w", width, height, ErrTooManyPixels)
	}
	c := &canvas{img: image.NewRGBA(image.Rect(0, 0, int(width), int(height))), scale: pxPerMM}
	draw.Draw(c.img, c.img.Bounds(), image.White, image.Point{}, draw.Src)
	for _, p := range place(page.Items, geometry.Vec{}, nil) {
		switch it := p.item.(type) {
		case Shape:
			c.shape(it, p)
		case Text:
			c.text(it, p)
		}
	}
	// The flate level costs seconds on a large page and gains little on lines.
	return (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(w, c.img)
}

// canvas paints polygons in pixels (y down, origin at the top left corner of
// the top left pixel).
type canvas struct {
	img   *image.RGBA
	scale float64
}

// toPixel returns the map from the item's millimetres to pixels.
func (c *canvas) toPixel(p placed) func(geometry.Point) geometry.Point {
	h := float64(c.img.Rect.Dy())
	return func(q geometry.Point) geometry.Point {
		q = q.Add(p.move)
		return geometry.Point{X: q.X * c.scale, Y: h - q.Y*c.scale}
	}
}

// area returns the pixels that the item may touch.
func (c *canvas) area(p placed) image.Rectangle {
	if p.clip == nil {
		return c.img.Rect
	}
	h := float64(c.img.Rect.Dy())
	return image.Rect(
		int(math.Round(p.clip.lo.X*c.scale)), int(math.Round(h-p.clip.hi.Y*c.scale)),
		int(math.Round(p.clip.hi.X*c.scale)), int(math.Round(h-p.clip.lo.Y*c.scale)),
	).Intersect(c.img.Rect)
}

func (c *canvas) shape(s Shape, p placed) {
	to, area := c.toPixel(p), c.area(p)
	var fill, lines []geometry.Polyline
	for _, contour := range s.Contours {
		line := flatLine(contour, to)
		if s.Fill > 0 {
			fill = append(fill, line)
		}
		if s.Pen.stroked() {
			lines = append(lines, dashes(line, s.Pen.Dash, c.scale)...)
		}
	}
	c.paint(fill, Hue{}, s.Fill, area)
	// Thinner than a pixel would fade away: previews are looked at, not printed.
	half := math.Max(s.Pen.Width*c.scale, 1) / 2
	var strokes []geometry.Polyline
	for _, l := range lines {
		strokes = append(strokes, stroke(l, half)...)
	}
	c.paint(strokes, s.Pen.Hue, s.Pen.Ink, area)
}

// paint fills the union of the rings with an ink. Rings that overlap must run
// the same way.
func (c *canvas) paint(rings []geometry.Polyline, hue Hue, ink Ink, area image.Rectangle) {
	var all geometry.Polyline
	for _, r := range rings {
		all = append(all, r...)
	}
	if len(all) == 0 || ink <= 0 {
		return
	}
	lo, hi := all.Bounds()
	box := image.Rect(int(math.Floor(lo.X)), int(math.Floor(lo.Y)), int(math.Ceil(hi.X))+1, int(math.Ceil(hi.Y))+1)
	if box = box.Intersect(area); box.Empty() {
		return
	}
	z := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, r := range rings {
		for i, q := range r {
			x, y := float32(q.X-float64(box.Min.X)), float32(q.Y-float64(box.Min.Y))
			if i == 0 {
				z.MoveTo(x, y)
			} else {
				z.LineTo(x, y)
			}
		}
		z.ClosePath()
	}
	v := hue.bytes(ink)
	z.Draw(c.img, box, image.NewUniform(color.RGBA{v[0], v[1], v[2], 255}), image.Point{})
}

func (c *canvas) text(t Text, p placed) {
	content := visual(printable(t.Content))
	if content == "" || t.Size <= 0 {
		return
	}
	f := face(t.Bold)
	// Glyphs are taken at a fixed large size and scaled, so that hinting and
	// rounding play no part.
	const ppem = 1024
	x := 0.0
	switch width := TextWidth(content, t.Size, t.Bold); t.Align {
	case AlignCentre:
		x = -width / 2
	case AlignRight:
		x = -width
	}
	turn := geometry.Rigid{Turn: t.Turn, Move: t.At}
	to := c.toPixel(p)
	var buf sfnt.Buffer
	var rings []geometry.Polyline
	for _, r := range content {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		at := func(q fixed.Point26_6) geometry.Point {
			k := t.Size / (ppem * 64)
			return to(turn.Apply(geometry.Point{X: x + float64(q.X)*k, Y: -float64(q.Y) * k}))
		}
		if segs, err := f.LoadGlyph(&buf, g, fixed.I(ppem), nil); err == nil {
			rings = append(rings, glyph(segs, at)...)
		}
		if adv, err := f.GlyphAdvance(&buf, g, fixed.I(ppem), font.HintingNone); err == nil {
			x += float64(adv) / (ppem * 64) * t.Size
		}
	}
	c.paint(rings, Hue{}, t.Ink, c.area(p))
}

// glyph returns the rings of one glyph, its quadratic curves in six chords each.
func glyph(segs sfnt.Segments, at func(fixed.Point26_6) geometry.Point) []geometry.Polyline {
	const chords = 6
	var rings []geometry.Polyline
	for _, s := range segs {
		if s.Op == sfnt.SegmentOpMoveTo {
			rings = append(rings, geometry.Polyline{at(s.Args[0])})
			continue
		}
		r := &rings[len(rings)-1]
		a := (*r)[len(*r)-1]
		switch s.Op {
		case sfnt.SegmentOpLineTo:
			*r = append(*r, at(s.Args[0]))
		case sfnt.SegmentOpQuadTo:
			b, d := at(s.Args[0]), at(s.Args[1])
			for i := 1; i <= chords; i++ {
				u := float64(i) / chords
				*r = append(*r, a.Lerp(b, u).Lerp(b.Lerp(d, u), u))
			}
		case sfnt.SegmentOpCubeTo:
			cubic := geometry.Segment{A: a, B: at(s.Args[0]), C: at(s.Args[1]), D: at(s.Args[2]), Curved: true}
			for i := 1; i <= chords; i++ {
				*r = append(*r, cubic.At(float64(i)/chords))
			}
		}
	}
	return rings
}
