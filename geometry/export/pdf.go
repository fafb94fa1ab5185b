package export

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"

	"secondcut/geometry"
)

// pointsPerMM is the PDF unit: 1/72 inch (ISO 32000-1, 8.3.2.3).
const pointsPerMM = 72 / 25.4

// fontFamily is the name under which the text's font stands in a PDF.
const fontFamily = "LiberationSans"

// maxPDFMM is the largest page side that PDF 1.5 viewers must accept: 14400
// units (ISO 32000-1, annex C.2).
const maxPDFMM = 14400 / pointsPerMM

// WritePDF writes the drawing as a PDF of true size. Layers become optional
// content that viewers can switch; text is real text in embedded fonts. Shapes
// are written in millimetres to 1e-4 mm. It fails with ErrNoPage, ErrPageSize
// (a side over 5080 mm), geometry.ErrNotFinite, or when w fails.
func WritePDF(w io.Writer, d Drawing) error {
	if err := check(d.Pages, maxPDFMM); err != nil {
		return fmt.Errorf("export: %w", err)
	}
	doc := newPDF(d.Title)
	ids := map[Layer]int{}
	for _, page := range d.Pages {
		doc.AddPageFormat("P", fpdf.SizeType{Wd: page.Width, Ht: page.Height})
		items := place(page.Items, geometry.Vec{}, nil)
		for _, l := range layers(items) {
			if _, known := ids[l]; !known {
				ids[l] = doc.AddLayer(string(l), true)
			}
		}
		writePage(doc, page, items, ids)
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return fmt.Errorf("export: PDF: %w", err)
	}
	out, err := unscaled(undated(b.Bytes()))
	if err != nil {
		return err
	}
	_, err = w.Write(out)
	return err
}

func newPDF(title string) *fpdf.Fpdf {
	doc := fpdf.New("P", "mm", "A4", "")
	doc.SetCatalogSort(true)
	doc.SetCreationDate(time.Unix(0, 0).UTC())
	doc.SetModificationDate(time.Unix(0, 0).UTC())
	doc.SetProducer("Secondcut", true)
	doc.SetTitle(title, true)
	doc.SetLang("en")
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddUTF8FontFromBytes(fontFamily, "", liberationsansregular.TTF)
	doc.AddUTF8FontFromBytes(fontFamily, "B", liberationsansbold.TTF)
	return doc
}

// undated blanks the two dates that the library always writes: a file that was
// made from the same drawing has the same bytes and claims no date. Blanks keep
// every offset in the file right.
func undated(pdf []byte) []byte {
	for _, key := range []string{"/CreationDate", "/ModDate"} {
		from := bytes.LastIndex(pdf, []byte(key))
		if from < 0 {
			continue
		}
		if n := bytes.IndexByte(pdf[from:], ')'); n > 0 {
			copy(pdf[from:], bytes.Repeat([]byte{' '}, n+1))
		}
	}
	return pdf
}

// unscaled asks viewers to offer "no page scaling" when printing (ISO 32000-1,
// table 150), which the library has no call for. The catalog is the last object
// of the file, so that only the position of the table after it moves.
func unscaled(pdf []byte) ([]byte, error) {
	const wish = "/ViewerPreferences <</PrintScaling /None>>\n"
	catalog := bytes.LastIndex(pdf, []byte("/Type /Catalog"))
	tail := bytes.LastIndex(pdf, []byte("startxref\n"))
	if catalog < 0 || tail < catalog {
		return nil, errors.New("export: the PDF library no longer ends a file with its catalog")
	}
	var table int
	if _, err := fmt.Sscanf(string(pdf[tail:]), "startxref\n%d", &table); err != nil {
		return nil, fmt.Errorf("export: PDF: %w", err)
	}
	head := string(pdf[:catalog]) + wish + string(pdf[catalog:tail])
	return fmt.Appendf(nil, "%sstartxref\n%d\n%%%%EOF\n", head, table+len(wish)), nil
}

// writePage draws in millimetres with y up: the page's own unit is scaled once,
// so that lengths reach the file unrounded.
func writePage(doc *fpdf.Fpdf, page Page, items []placed, ids map[Layer]int) {
	current := Layer("")
	open := false
	for _, p := range items {
		if l := p.layer(); !open || l != current {
			doc.BeginLayer(ids[l])
			current, open = l, true
		}
		switch it := p.item.(type) {
		case Shape:
			doc.RawWriteStr(shapeOps(it, begin(page, p)))
		case Text:
			writeText(doc, page.Height, it, begin(page, p))
		case Picture:
			writePicture(doc, page.Height, it, begin(page, p))
		}
	}
	doc.EndLayer()
}

// begin returns the operators that save the state, change to the page's
// stretched millimetres, cut to the window and move by it.
func begin(page Page, p placed) string {
	var b strings.Builder
	x, y := page.stretch()
	fmt.Fprintf(&b, "q %.9f 0 0 %.9f 0 0 cm", x*pointsPerMM, y*pointsPerMM)
	if p.clip != nil {
		size := p.clip.hi.Sub(p.clip.lo)
		fmt.Fprintf(&b, " %s %s re W n", pair(p.clip.lo.X, p.clip.lo.Y), pair(size.X, size.Y))
	}
	if p.move != (geometry.Vec{}) {
		fmt.Fprintf(&b, " 1 0 0 1 %s cm", pair(p.move.X, p.move.Y))
	}
	return b.String()
}

func shapeOps(s Shape, begin string) string {
	var b strings.Builder
	b.WriteString(begin)
	stroked, filled := s.Pen.stroked(), s.Fill > 0
	if stroked {
		fmt.Fprintf(&b, " %s w 1 J 1 j %s", num(s.Pen.Width, 4), strokeColour(s.Pen))
		if len(s.Pen.Dash) > 0 {
			// Butt ends keep the stated lengths of strokes and gaps.
			b.WriteString(" 0 J [")
			for _, d := range s.Pen.Dash {
				b.WriteString(num(d, 4) + " ")
			}
			b.WriteString("] 0 d")
		}
	}
	if filled {
		fmt.Fprintf(&b, " %s g", level(s.Fill))
	}
	for _, c := range s.Contours {
		b.WriteString(contourOps(c))
	}
	switch {
	case stroked && filled:
		b.WriteString(" B")
	case stroked:
		b.WriteString(" S")
	case filled:
		b.WriteString(" f")
	default:
		b.WriteString(" n")
	}
	b.WriteString(" Q")
	return b.String()
}

func contourOps(c Contour) string {
	if len(c.Knots) == 0 {
		return ""
	}
	var b strings.Builder
	fmt.Fprintf(&b, "\n%s m", pair(c.Knots[0].At.X, c.Knots[0].At.Y))
	for _, s := range c.Segments() {
		if s.Curved {
			fmt.Fprintf(&b, " %s %s %s c", pair(s.B.X, s.B.Y), pair(s.C.X, s.C.Y), pair(s.D.X, s.D.Y))
		} else {
			fmt.Fprintf(&b, " %s l", pair(s.D.X, s.D.Y))
		}
	}
	if !c.Open {
		b.WriteString(" h")
	}
	return b.String()
}

func writeText(doc *fpdf.Fpdf, height float64, t Text, begin string) {
	content := visual(printable(t.Content))
	if content == "" || t.Size <= 0 || t.Ink <= 0 {
		return
	}
	style := ""
	if t.Bold {
		style = "B"
	}
	shift := 0.0
	switch width := TextWidth(content, t.Size, t.Bold); t.Align {
	case AlignCentre:
		shift = -width / 2
	case AlignRight:
		shift = -width
	}
	sin, cos := math.Sincos(t.Turn)
	at := t.At.Add(geometry.Vec{X: shift * cos, Y: shift * sin})
	doc.RawWriteStr(begin)
	// Back to points, in which the library writes the text and its size.
	doc.RawWriteStr(fmt.Sprintf("%s g %s %s %s %s %s cm", level(t.Ink),
		num(cos/pointsPerMM, 9), num(sin/pointsPerMM, 9), num(-sin/pointsPerMM, 9), num(cos/pointsPerMM, 9), pair(at.X, at.Y)))
	doc.SetFont(fontFamily, style, t.Size*pointsPerMM)
	doc.Text(0, height, content)
	doc.RawWriteStr("Q")
}

// strokeColour returns the operator that sets the colour of lines: grey where it
// is one, which printers without colour print as it is.
func strokeColour(p Pen) string {
	c := p.Hue.rgb(p.Ink)
	if c[0] == c[1] && c[1] == c[2] {
		return num(c[0], 3) + " G"
	}
	return num(c[0], 3) + " " + num(c[1], 3) + " " + num(c[2], 3) + " RG"
}

// level returns the PDF grey of an ink: 0 is black there.
func level(i Ink) string { return num(1-float64(min(i, maxInk)), 3) }

func pair(x, y float64) string { return num(x, 4) + " " + num(y, 4) }
