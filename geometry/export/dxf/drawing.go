package dxf

import (
	"fmt"
	"io"
	"math"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// capital is the height of capital letters as a part of their font's size.
const capital = 0.72

// WriteDrawing writes a page as a plain drawing in mm, y up, its layers in words: "Cut
// line" becomes CUT-LINE. Curves become short lines within 0.005 mm; text is text, in 7
// bits; dashes, widths and shades are left to the reader, but each layer has a colour. It is
// for programs that draw; what knows patterns reads more from [Write]. It fails with
// ErrNoPiece where nothing is drawn, geometry.ErrNotFinite, or when w fails.
func WriteDrawing(w io.Writer, page export.Page) error {
	layers, err := layersOf(page)
	if err != nil {
		return err
	}
	o := &writer{}
	o.section("HEADER")
	o.put(9, "$ACADVER").put(1, "AC1009")
	o.put(9, "$INSUNITS").put(70, "4") // mm; younger than release 12, and ignored by what does not know it
	o.end()
	o.section("TABLES")
	o.put(0, "TABLE").put(2, "LTYPE").put(70, "1")
	o.put(0, "LTYPE").put(2, "CONTINUOUS").put(70, "0").put(3, "Solid line").put(72, "65").put(73, "0").put(40, num(0))
	o.put(0, "ENDTAB")
	o.put(0, "TABLE").put(2, "LAYER").put(70, itoa(len(layers)))
	for i, l := range layers {
		o.put(0, "LAYER").put(2, l).put(70, "0").put(62, itoa(colours[i%len(colours)])).put(6, "CONTINUOUS")
	}
	o.put(0, "ENDTAB")
	o.end()
	o.section("ENTITIES")
	for _, it := range page.Items {
		switch it := it.(type) {
		case export.Shape:
			for _, c := range it.Contours {
				o.contour(wordLayer(it.Layer), c)
			}
		case export.Text:
			o.words(wordLayer(it.Layer), it)
		}
	}
	o.end()
	return o.flush(w)
}

// colours of layers, by number: the reader's black or white first, then blue, red,
// magenta, green and grey.
var colours = []int{7, 5, 1, 6, 3, 8}

// layersOf returns the layers of a page in their order, and checks what is on it.
func layersOf(page export.Page) ([]string, error) {
	var out []string
	seen := map[string]bool{}
	for _, it := range page.Items {
		var l export.Layer
		finite := true
		switch it := it.(type) {
		case export.Shape:
			l = it.Layer
			for _, c := range it.Contours {
				for _, s := range c.Segments() {
					finite = finite && s.A.IsFinite() && s.B.IsFinite() && s.C.IsFinite() && s.D.IsFinite()
				}
			}
		case export.Text:
			l, finite = it.Layer, it.At.IsFinite() && !math.IsNaN(it.Turn+it.Size) && !math.IsInf(it.Turn+it.Size, 0)
		default:
			continue // this release knows no pictures
		}
		if !finite {
			return nil, fmt.Errorf("dxf: %w", geometry.ErrNotFinite)
		}
		if name := wordLayer(l); !seen[name] {
			seen[name], out = true, append(out, name)
		}
	}
	if len(out) == 0 {
		return nil, fmt.Errorf("dxf: %w", ErrNoPiece)
	}
	return out, nil
}

// wordLayer returns the name of a layer in capital letters, digits and hyphens.
func wordLayer(l export.Layer) string {
	return strings.ReplaceAll(blockName(string(l), map[string]bool{}), "_", "-")
}

func (o *writer) contour(layer string, c export.Contour) {
	points := flattened(c.Segments())
	if n := len(c.Knots); c.Open && n > 0 {
		points = append(points, c.Knots[n-1].At)
	}
	switch {
	case len(points) == 2:
		o.line(layer, points[0], points[1])
	case len(points) > 2:
		o.polyline(layer, points, !c.Open)
	}
}

// words writes a text where it stands, by its own end, middle or beginning.
func (o *writer) words(layer string, t export.Text) {
	s := ascii(t.Content)
	if s == "" || t.Ink <= 0 || t.Size <= 0 {
		return
	}
	o.put(0, "TEXT").put(8, layer).point(t.At).put(40, num(t.Size*capital)).put(1, s).put(50, num(t.Turn*180/math.Pi))
	if t.Align != export.AlignLeft {
		o.put(72, itoa(int(t.Align))).at(11, t.At)
	}
}
