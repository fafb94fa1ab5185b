package export_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/export/exporttest"
)

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// curve is the closed path whose only curved side is 400 mm long exactly:
// controls (0,0) (100,0) (200,100) (200,300), speed 300(1+t^2) (computed by
// hand).
func curve() geometry.Path {
	b, c := pt(110, 10), pt(210, 110)
	return geometry.Path{{At: pt(10, 10), Out: &b}, {At: pt(210, 310), In: &c}}
}

func drawing() export.Drawing {
	pen := export.Pen{Width: 0.5, Ink: export.Black}
	return export.Drawing{Title: "Größe & Maß", Pages: []export.Page{{Width: 230, Height: 320, Items: []export.Item{
		export.Shape{Layer: "Cut line", Pen: pen, Contours: []export.Contour{{Knots: curve()}}},
		export.Line("Grain line", export.Pen{Width: 0.35, Ink: export.Grey, Dash: []float64{4, 2}}, pt(20, 200), pt(20, 300)),
		export.Rect("Cut line", export.Pen{}, export.Black, pt(100, 250), pt(112, 262)),
		export.Text{Layer: "Text", At: pt(60, 290), Size: 8, Ink: export.Black, Content: "Ärmel & Bündchen é ñ ß <1>"},
		export.Text{Layer: "Text", At: pt(15, 150), Size: 5, Ink: export.Black, Align: export.AlignCentre, Turn: math.Pi / 2, Content: "upwards"},
		export.Window{Lo: pt(150, 20), Hi: pt(200, 40), Move: geometry.Vec{X: 100}, Items: []export.Item{
			export.Line("Cut line", pen, pt(0, 30), pt(120, 30)),
		}},
	}}}}
}

func pdf(t *testing.T, d export.Drawing) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := export.WritePDF(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestPDFReadsBack(t *testing.T) {
	file := exporttest.File(t, pdf(t, drawing()))
	info := exporttest.Tool(t, "pdfinfo", file)
	for _, want := range []string{"Größe & Maß", "Pages:           1", "651.97 x 907.09 pts"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo does not say %q:\n%s", want, info)
		}
	}
	if strings.Contains(info, "Date") || strings.Contains(info, "rror") {
		t.Errorf("pdfinfo tells a date or an error:\n%s", info)
	}
	fonts := strings.Split(strings.TrimSpace(exporttest.Tool(t, "pdffonts", file)), "\n")
	if len(fonts) < 3 {
		t.Fatalf("pdffonts lists no font:\n%s", fonts)
	}
	for _, f := range fonts[2:] {
		if !regexp.MustCompile(`\syes\s+(yes|no)\s+yes\s`).MatchString(f) {
			t.Errorf("a font is not embedded, or its text not searchable: %s", f)
		}
	}
	text := exporttest.Text(t, file)
	for _, want := range []string{"Ärmel & Bündchen é ñ ß <1>", "upwards"} {
		if !strings.Contains(text, want) {
			t.Errorf("pdftotext does not find %q in %q", want, text)
		}
	}
}

// The file's table of objects holds: readers repair a wrong one in silence, some
// printers do not.
func TestPDFTable(t *testing.T) {
	data := pdf(t, drawing())
	tail := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(data)
	if tail == nil {
		t.Fatalf("the file ends with %q", data[len(data)-40:])
	}
	start, err := strconv.Atoi(string(tail[1]))
	if err != nil || !bytes.HasPrefix(data[start:], []byte("xref\n0 ")) {
		t.Fatalf("no table at %d (%v)", start, err)
	}
	rows := regexp.MustCompile(`(?m)^(\d{10}) 00000 n`).FindAllSubmatch(data[start:], -1)
	if len(rows) < 10 {
		t.Fatalf("%d objects", len(rows))
	}
	for i, row := range rows {
		at, err := strconv.Atoi(string(row[1]))
		if want := fmt.Sprintf("%d 0 obj", i+1); err != nil || !bytes.HasPrefix(data[at:], []byte(want)) {
			t.Errorf("object %d does not begin at %d", i+1, at)
		}
	}
}

// Every layer of the drawing is an optional content group, and viewers are
// asked not to scale.
func TestPDFLayers(t *testing.T) {
	data := pdf(t, drawing())
	if n := bytes.Count(data, []byte("/Type /OCG")); n != 3 {
		t.Errorf("%d layers, want 3", n)
	}
	if !bytes.Contains(data, []byte("/PrintScaling /None")) {
		t.Error("viewers are not asked to print unscaled")
	}
}

// Lines stand where they should, to a third of a pixel at 600 dpi; the window
// cuts off what is outside it.
func TestPDFIsTrue(t *testing.T) {
	page := exporttest.Render(t, exporttest.File(t, pdf(t, drawing())), 1, 1, 600, 320)[0]
	check := func(what string, at geometry.Point, across geometry.Vec, want bool) {
		t.Helper()
		off, ok := page.Line(at, across, 2)
		if ok != want {
			t.Errorf("%s: line there: %t, want %t", what, ok, want)
		}
		if ok && math.Abs(off) > 0.02 {
			t.Errorf("%s: line %.3f mm off", what, off)
		}
	}
	side := curve().Segment(0)
	for _, u := range []float64{0.1, 0.3, 0.5, 0.7, 0.9} {
		check(fmt.Sprintf("curve at %g", u), side.At(u), side.Deriv(u).Perp(), true)
	}
	check("inside the window", pt(170, 30), geometry.Vec{Y: 1}, true)
	check("left of the window", pt(140, 30), geometry.Vec{Y: 1}, false)
	check("right of the window", pt(205, 30), geometry.Vec{Y: 1}, false)
	check("in a stroke of the broken line", pt(20, 202), geometry.Vec{X: 1}, true)
	check("in a gap of the broken line", pt(20, 205), geometry.Vec{X: 1}, false)
}

func TestSameDrawingSameBytes(t *testing.T) {
	if !bytes.Equal(pdf(t, drawing()), pdf(t, drawing())) {
		t.Error("PDF: other bytes the second time")
	}
	var a, b bytes.Buffer
	if err := errors.Join(export.WriteSVG(&a, "x", drawing().Pages[0]), export.WriteSVG(&b, "x", drawing().Pages[0])); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("SVG: other bytes the second time")
	}
}

// svgDoc is what the tests read from an SVG.
type svgDoc struct {
	Width   string `xml:"width,attr"`
	Height  string `xml:"height,attr"`
	ViewBox string `xml:"viewBox,attr"`
	Title   string `xml:"title"`
	Groups  []struct {
		ID    string `xml:"id,attr"`
		Paths []struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
		Texts []string `xml:"text"`
		Clips []struct {
			Clip string `xml:"clip-path,attr"`
		} `xml:"g"`
	} `xml:"g"`
}

// parsePath reads the absolute M, L, C and Z that the writer uses, y down.
func parsePath(t *testing.T, d string) geometry.Path {
	t.Helper()
	var nums []float64
	var p geometry.Path
	for _, f := range regexp.MustCompile(`[MLCZ]|-?[0-9.]+`).FindAllString(d, -1) {
		if v, err := strconv.ParseFloat(f, 64); err == nil {
			nums = append(nums, v)
			if n := len(nums); p != nil && n == 6 {
				b, c := pt(nums[0], nums[1]), pt(nums[2], nums[3])
				p[len(p)-1].Out = &b
				p = append(p, geometry.Knot{At: pt(nums[4], nums[5]), In: &c})
				nums = nums[:0]
			}
			continue
		}
		if len(nums) == 2 {
			p = append(p, geometry.Knot{At: pt(nums[0], nums[1])})
			nums = nums[:0]
		}
		if f == "L" || f == "M" {
			nums = nums[:0]
		}
	}
	// The writer returns to the first point before it closes.
	if last := p[len(p)-1]; last.At == p[0].At {
		p[0].In, p = last.In, p[:len(p)-1]
	}
	return p
}

func TestSVGReadsBack(t *testing.T) {
	var b bytes.Buffer
	d := drawing()
	if err := export.WriteSVG(&b, d.Title, d.Pages[0]); err != nil {
		t.Fatal(err)
	}
	var doc svgDoc
	if err := xml.Unmarshal(b.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Width != "230mm" || doc.Height != "320mm" || doc.ViewBox != "0 0 230 320" || doc.Title != d.Title {
		t.Errorf("size %s x %s, viewBox %s, title %q", doc.Width, doc.Height, doc.ViewBox, doc.Title)
	}
	var ids []string
	for _, g := range doc.Groups {
		ids = append(ids, g.ID)
	}
	if got := strings.Join(ids, " "); got != "layer-cut-line layer-grain-line layer-text" {
		t.Fatalf("groups %q", got)
	}
	if got := doc.Groups[2].Texts[0]; got != "Ärmel & Bündchen é ñ ß <1>" {
		t.Errorf("text %q", got)
	}
	if len(doc.Groups[0].Clips) != 1 || doc.Groups[0].Clips[0].Clip != "url(#window-1)" {
		t.Errorf("the window's line is not clipped: %+v", doc.Groups[0].Clips)
	}
	path := parsePath(t, doc.Groups[0].Paths[0].D)
	want := 400 + pt(10, 10).Dist(pt(210, 310))
	if got := path.Length(); math.Abs(got-want) > 0.01 {
		t.Errorf("the outline is %.4f mm long, want %.4f", got, want)
	}
	if at := path[0].At; at.Dist(pt(10, 310)) > 0.0005 {
		t.Errorf("first knot at %v, want (10, 310) with y down", at)
	}
}

func TestPNG(t *testing.T) {
	var b bytes.Buffer
	const scale = 3.0
	if err := export.WritePNG(&b, drawing().Pages[0], scale); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil {
		t.Fatal(err)
	}
	if got := img.Bounds().Size(); got != (image.Point{X: 690, Y: 960}) {
		t.Errorf("%v pixels, want 690 x 960", got)
	}
	dark := func(q geometry.Point) float64 {
		v, _, _, _ := img.At(int(q.X*scale), int((320-q.Y)*scale)).RGBA()
		return 1 - float64(v)/0xffff
	}
	side := curve().Segment(0)
	for _, c := range []struct {
		what   string
		at     geometry.Point
		lo, hi float64
	}{
		{"on the curve", side.At(0.5), 0.5, 1},
		{"on the straight side", pt(110, 160), 0.5, 1},
		{"on empty paper", pt(40, 60), 0, 0},
		{"in the black square", pt(106, 256), 1, 1},
		{"on the line in the window", pt(170, 30), 0.5, 1},
		{"on the line outside the window", pt(205, 30), 0, 0},
		{"in a gap of the broken line", pt(20, 205), 0, 0.1},
	} {
		if got := dark(c.at); got < c.lo || got > c.hi {
			t.Errorf("%s: darkness %.2f, want %g to %g", c.what, got, c.lo, c.hi)
		}
	}
	// Text leaves ink.
	ink := 0.0
	for x := 60.0; x < 160; x += 0.3 {
		for y := 289.0; y < 297; y += 0.3 {
			ink += dark(pt(x, y))
		}
	}
	if ink < 100 {
		t.Errorf("the text left only %.0f pixels of ink", ink)
	}
}

func TestWritersRefuse(t *testing.T) {
	page := func(w, h float64, items ...export.Item) export.Page {
		return export.Page{Width: w, Height: h, Items: items}
	}
	nan := export.Line("x", export.Pen{Width: 1, Ink: 1}, pt(0, 0), pt(math.NaN(), 0))
	for _, c := range []struct {
		name string
		page export.Page
		want error
	}{
		{"no size", page(0, 100), export.ErrPageSize},
		{"a size that is no number", page(math.NaN(), 100), export.ErrPageSize},
		{"endless", page(math.Inf(1), 100), export.ErrPageSize},
		{"a line to nowhere", page(100, 100, nan), geometry.ErrNotFinite},
		{"a line to nowhere in a window", page(100, 100, export.Window{Hi: pt(9, 9), Items: []export.Item{nan}}), geometry.ErrNotFinite},
		{"a text nowhere", page(100, 100, export.Text{At: pt(math.Inf(1), 0), Size: 3, Ink: 1, Content: "x"}), geometry.ErrNotFinite},
	} {
		for writer, err := range map[string]error{
			"PDF": export.WritePDF(io.Discard, export.Drawing{Pages: []export.Page{c.page}}),
			"SVG": export.WriteSVG(io.Discard, "", c.page),
			"PNG": export.WritePNG(io.Discard, c.page, 1),
		} {
			if !errors.Is(err, c.want) {
				t.Errorf("%s, %s: error %v, want %v", c.name, writer, err, c.want)
			}
		}
	}
	if err := export.WritePDF(io.Discard, export.Drawing{}); !errors.Is(err, export.ErrNoPage) {
		t.Errorf("no page: error %v", err)
	}
	// A PDF page has at most 14400 units of 1/72 in a side: 5080 mm.
	if err := export.WritePDF(io.Discard, export.Drawing{Pages: []export.Page{page(5081, 100)}}); !errors.Is(err, export.ErrPageSize) {
		t.Errorf("a page of 5081 mm: error %v", err)
	}
	if err := export.WritePNG(io.Discard, page(5000, 5000), 100); !errors.Is(err, export.ErrTooManyPixels) {
		t.Errorf("a picture of 250 gigapixels: error %v", err)
	}
}

// Widths of Liberation Sans in em, which are those of Arial: a digit 0.556, a
// space 0.278 (font metrics, from memory).
func TestTextWidth(t *testing.T) {
	if got := export.TextWidth("00 0", 10, false); math.Abs(got-(3*5.56+2.78)) > 0.02 {
		t.Errorf("width %.3f mm, want %.3f", got, 3*5.56+2.78)
	}
	if a, b := export.TextWidth("縫", 10, false), export.TextWidth("□", 10, false); a != b {
		t.Errorf("a letter that the font lacks is %.2f mm wide, not as an empty box", a)
	}
}

func TestWrap(t *testing.T) {
	width := export.TextWidth("one two", 4, false)
	for _, c := range []struct{ text, want string }{
		{"one two six", "one two|six"},
		{"one\u00a0two six", "one\u00a0two|six"},
		{"six one\u00a0two", "six|one\u00a0two"},
		{"  spaced \n out ", "spaced|out"},
		{"unbreakablylongword x", "unbreakablylongword|x"},
		{"", ""},
	} {
		if got := strings.Join(export.Wrap(c.text, 4, width+1e-9, false), "|"); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}
