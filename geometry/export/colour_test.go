package export_test

import (
	"bytes"
	"errors"
	"image/png"
	"math"
	"regexp"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/export/exporttest"
)

// A coloured line is coloured in every form, and black stays the grey that printers
// without colour print as it is.
func TestHue(t *testing.T) {
	page := export.Page{Width: 40, Height: 40, Items: []export.Item{
		export.Line("Stitch line", export.Pen{Width: 4, Ink: 1, Hue: export.Hue{0, 84, 150}}, pt(5, 10), pt(35, 10)),
		export.Line("Cut line", export.Pen{Width: 4, Ink: 1}, pt(5, 30), pt(35, 30)),
	}}
	var svg, picture bytes.Buffer
	if err := errors.Join(export.WriteSVG(&svg, "x", page), export.WritePNG(&picture, page, 2)); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`stroke="#005496"`, `stroke="#000000"`} {
		if !strings.Contains(svg.String(), want) {
			t.Errorf("the SVG has no %s", want)
		}
	}
	img, err := png.Decode(&picture)
	if err != nil {
		t.Fatal(err)
	}
	for y, want := range map[int][3]uint32{60: {0, 84, 150}, 20: {0, 0, 0}, 40: {255, 255, 255}} {
		r, g, b, _ := img.At(40, y).RGBA()
		if got := [3]uint32{r >> 8, g >> 8, b >> 8}; got != want {
			t.Errorf("pixel at %d is %v, want %v", y, got, want)
		}
	}
	file := exporttest.File(t, pdf(t, export.Drawing{Title: "x", Pages: []export.Page{page}}))
	// Grey of the blue after Rec. 601, as poppler turns it: 0.587 * 84 + 0.114 * 150.
	grey := exporttest.Render(t, file, 1, 1, 100, 40)[0]
	if d := grey.At(pt(20, 10)); math.Abs(d-(1-66.4/255)) > 0.02 {
		t.Errorf("the blue line prints %.3f dark", d)
	}
	if d := grey.At(pt(20, 30)); d != 1 {
		t.Errorf("the black line prints %.3f dark", d)
	}
}

// A stretched page keeps its paper; its lengths grow from the lower left corner, in
// windows and words as well.
func TestStretch(t *testing.T) {
	d := drawing()
	d.Pages[0].Items = append(d.Pages[0].Items, export.Line("Cut line", export.Pen{Width: 0.5, Ink: 1}, pt(20, 240), pt(80, 240)))
	d.Pages[0].Stretch = geometry.Vec{X: 1.02, Y: 0.98}
	file := exporttest.File(t, pdf(t, d))
	if info := exporttest.Tool(t, "pdfinfo", file); !strings.Contains(info, "651.97 x 907.09 pts") {
		t.Errorf("the paper changed:\n%s", info)
	}
	page := exporttest.Render(t, file, 1, 1, 600, 320)[0]
	for _, c := range []struct {
		what   string
		at     geometry.Point
		across geometry.Vec
	}{
		{"line", pt(50, 240), geometry.Vec{Y: 1}},
		{"upright line", pt(20, 202), geometry.Vec{X: 1}},
		{"in the window", pt(170, 30), geometry.Vec{Y: 1}},
	} {
		at := pt(c.at.X*1.02, c.at.Y*0.98)
		if off, ok := page.Line(at, c.across, 2); !ok || math.Abs(off) > 0.02 {
			t.Errorf("%s: %.3f mm off, seen %t", c.what, off, ok)
		}
	}
	for _, bad := range []geometry.Vec{{X: -1, Y: 1}, {X: math.NaN(), Y: 1}, {X: 1, Y: math.Inf(1)}} {
		d.Pages[0].Stretch = bad
		if err := export.WritePDF(&bytes.Buffer{}, d); !errors.Is(err, export.ErrPageSize) {
			t.Errorf("stretched by %v: error %v", bad, err)
		}
	}
}

// Words that run to the left are found as they were written, and stand as they are
// read: the first letter on the right.
func TestWordsToTheLeft(t *testing.T) {
	d := export.Drawing{Title: "x", Pages: []export.Page{{Width: 100, Height: 50, Items: []export.Item{
		export.Text{Layer: "Text", At: pt(10, 20), Size: 10, Ink: 1, Content: "2 שרוול sleeve"},
	}}}}
	file := exporttest.File(t, pdf(t, d))
	if text := exporttest.Text(t, file); !strings.Contains(text, "שרוול") {
		t.Errorf("the word is not found in %q", text)
	}
	// With their boxes poppler gives the letters as they stand, from the left.
	boxes := exporttest.Tool(t, "pdftotext", "-bbox", file, "-")
	if !regexp.MustCompile(`(?s)>2</word>.*>לוורש</word>.*>sleeve</word>`).MatchString(boxes) {
		t.Errorf("the words stand otherwise:\n%s", boxes)
	}
}

func TestLacking(t *testing.T) {
	for text, want := range map[string]string{
		"Ärmel & Рукав Μανίκι": "", "袖 and 袖🧵": "袖🧵", "e\u0301": "", "a\u200db\n": "", "שרוול": "",
	} {
		if got := export.Lacking(text); got != want {
			t.Errorf("%q lacks %q, want %q", text, got, want)
		}
	}
}
