package export

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"secondcut/geometry"
)

// svgDigits are the decimals of a millimetre in SVG.
const svgDigits = 3

// svgFonts are fonts of the same widths as the one that text is measured with.
const svgFonts = "Liberation Sans, Arial, Helvetica, sans-serif"

// maxSVGMM is the largest side that is written to SVG, in mm: a hundred metres.
const maxSVGMM = 100e3

// WriteSVG writes one page as SVG of true size: width and height in mm, one user
// unit a millimetre, one group for each layer, numbers rounded to 0.001 mm. Text
// is real text in Liberation Sans, or Arial or Helvetica, which are as wide. It fails with
// ErrPageSize, geometry.ErrNotFinite, or when w fails.
func WriteSVG(w io.Writer, title string, page Page) error {
	if err := check([]Page{page}, maxSVGMM); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	items := place(page.Items, geometry.Vec{}, nil)
	s := &svgWriter{height: page.Height}
	s.f(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	s.f(`<svg xmlns="http://www.w3.org/2000/svg" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape"`)
	s.f(` width="%smm" height="%smm" viewBox="0 0 %[1]s %[2]s">`+"\n", s.n(page.Width), s.n(page.Height))
	s.f("<title>%s</title>\n", escape(title))
	s.clips(items)
	for _, l := range layers(items) {
		s.f(`<g id="%s" inkscape:groupmode="layer" inkscape:label="%s">`+"\n", layerID(l), escape(string(l)))
		for _, p := range items {
			if p.layer() == l {
				s.item(p)
			}
		}
		s.f("</g>\n")
	}
	s.f("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

// svgWriter turns millimetres with y up into SVG's y down.
type svgWriter struct {
	b      bytes.Buffer
	height float64
	clipID map[clipped]int
}

func (s *svgWriter) f(format string, args ...any) { fmt.Fprintf(&s.b, format, args...) }

func (s *svgWriter) n(x float64) string { return num(x, svgDigits) }

func (s *svgWriter) at(p geometry.Point, move geometry.Vec) string {
	return s.n(p.X+move.X) + " " + s.n(s.height-p.Y-move.Y)
}

// clips writes the rectangles of the windows, each once.
func (s *svgWriter) clips(items []placed) {
	s.clipID = map[clipped]int{}
	for _, p := range items {
		if p.clip == nil {
			continue
		}
		if _, known := s.clipID[*p.clip]; known {
			continue
		}
		id := len(s.clipID) + 1
		s.clipID[*p.clip] = id
		s.f(`<clipPath id="window-%d"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath>`+"\n", id,
			s.n(p.clip.lo.X), s.n(s.height-p.clip.hi.Y), s.n(p.clip.hi.X-p.clip.lo.X), s.n(p.clip.hi.Y-p.clip.lo.Y))
	}
}

func (s *svgWriter) item(p placed) {
	clip := ""
	if p.clip != nil {
		// On a group, so that a turned text is cut by the upright window.
		clip = fmt.Sprintf(`<g clip-path="url(#window-%d)">`, s.clipID[*p.clip])
	}
	s.f("%s", clip)
	switch it := p.item.(type) {
	case Shape:
		s.shape(it, p.move)
	case Text:
		s.text(it, p.move)
	}
	if clip != "" {
		s.f("</g>")
	}
	s.f("\n")
}

func (s *svgWriter) shape(sh Shape, move geometry.Vec) {
	s.f(`<path d="`)
	for i, c := range sh.Contours {
		if i > 0 {
			s.f(" ")
		}
		s.f("%s", s.contour(c, move))
	}
	s.f(`" fill="%s"`, colour(Hue{}, sh.Fill))
	if sh.Pen.stroked() {
		s.f(` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, colour(sh.Pen.Hue, sh.Pen.Ink), s.n(sh.Pen.Width))
		if len(sh.Pen.Dash) > 0 {
			dash := make([]string, len(sh.Pen.Dash))
			for i, d := range sh.Pen.Dash {
				dash[i] = s.n(d)
			}
			s.f(` stroke-dasharray="%s"`, strings.Join(dash, " "))
		} else {
			s.f(` stroke-linecap="round"`)
		}
	}
	s.f("/>")
}

func (s *svgWriter) contour(c Contour, move geometry.Vec) string {
	if len(c.Knots) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("M" + s.at(c.Knots[0].At, move))
	for _, g := range c.Segments() {
		if g.Curved {
			b.WriteString(" C" + s.at(g.B, move) + " " + s.at(g.C, move) + " " + s.at(g.D, move))
		} else {
			b.WriteString(" L" + s.at(g.D, move))
		}
	}
	if !c.Open {
		b.WriteString(" Z")
	}
	return b.String()
}

func (s *svgWriter) text(t Text, move geometry.Vec) {
	content := printable(t.Content)
	if content == "" || t.Size <= 0 || t.Ink <= 0 {
		return
	}
	at := t.At.Add(move)
	x, y := s.n(at.X), s.n(s.height-at.Y)
	s.f(`<text x="%s" y="%s" font-family="%s" font-size="%s" fill="%s"`, x, y, svgFonts, s.n(t.Size), colour(Hue{}, t.Ink))
	if t.Bold {
		s.f(` font-weight="bold"`)
	}
	switch t.Align {
	case AlignCentre:
		s.f(` text-anchor="middle"`)
	case AlignRight:
		s.f(` text-anchor="end"`)
	}
	if t.Turn != 0 {
		s.f(` transform="rotate(%s %s %s)"`, s.n(-t.Turn*180/math.Pi), x, y)
	}
	s.f(">%s</text>", escape(content))
}

// colour returns the SVG colour of an ink.
func colour(h Hue, i Ink) string {
	if i <= 0 {
		return "none"
	}
	c := h.bytes(i)
	return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2])
}

// layerID returns a layer's name as an XML identifier: small letters, digits and
// hyphens.
func layerID(l Layer) string {
	id := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return '-'
	}, string(l))
	return "layer-" + id
}

func escape(s string) string {
	var b strings.Builder
	// A strings.Builder never fails to take bytes.
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// num writes a number with at most the given decimals, without trailing zeros
// and without a negative zero.
func num(x float64, decimals int) string {
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.ContainsRune(s, '.') {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}
