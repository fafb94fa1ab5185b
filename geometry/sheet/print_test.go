package sheet_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/sheet"
)

var update = flag.Bool("update", false, "write the golden files anew")

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// sleeve is a piece of 320 x 430 mm with a curved cap and a round hole; it takes
// four sheets of A4.
func sleeve() sheet.Piece {
	ref := func(x, y float64) *geometry.Point { q := pt(x, y); return &q }
	const k = 25 * 0.552284749831 // a quarter circle of 25 mm as a cubic
	grain := 90.0
	return sheet.Piece{
		Name: "Sleeve, größer",
		Outline: geometry.Path{
			{At: pt(30, 0), Corner: true},
			{At: pt(290, 0), Corner: true},
			{At: pt(320, 290), Corner: true, Out: ref(260, 300)},
			{At: pt(160, 430), In: ref(230, 430), Out: ref(90, 430)},
			{At: pt(0, 290), Corner: true, In: ref(60, 300)},
		},
		Holes: []geometry.Path{{
			{At: pt(240, 100), In: ref(240, 100+k), Out: ref(240, 100-k)},
			{At: pt(215, 75), In: ref(215+k, 75), Out: ref(215-k, 75)},
			{At: pt(190, 100), In: ref(190, 100-k), Out: ref(190, 100+k)},
			{At: pt(215, 125), In: ref(215-k, 125), Out: ref(215+k, 125)},
		}},
		Notes: []string{"Linen, cut 2 mirrored (1 pair)"}, GrainDeg: &grain, UncertaintyMM: 0.34,
		Unsure: []geometry.Stretch{{From: pt(100, 0), To: pt(160, 0)}},
	}
}

const title = "Lamplighter’s smock"

func pdf(t *testing.T, opt sheet.Options, pieces ...sheet.Piece) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := sheet.PDF(&b, title, pieces, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestPDFReadsBack(t *testing.T) {
	// Page one and the tiles; on the larger papers two on their sides are enough.
	// On A2 all stands on one sheet, the squares beside the piece.
	wantPages := map[sheet.Paper]int{sheet.A4: 5, sheet.Letter: 5, sheet.A3: 3, sheet.Tabloid: 3, sheet.A1: 1, sheet.A0: 1}
	for paper, want := range wantPages {
		file := exporttest.File(t, pdf(t, sheet.Options{Paper: paper}, sleeve()))
		info := exporttest.Tool(t, "pdfinfo", "-f", "1", "-l", "99", file)
		sizes := regexp.MustCompile(`Page +\d+ size: +([\d.]+) x ([\d.]+) pts`).FindAllStringSubmatch(info, -1)
		if len(sizes) != want {
			t.Errorf("%s: %d pages, want %d", paper.Label, len(sizes), want)
		}
		for i, s := range sizes {
			var w, h float64
			if _, err := fmt.Sscan(s[1]+" "+s[2], &w, &h); err != nil {
				t.Fatal(err)
			}
			if i > 0 && w > h { // on its side
				w, h = h, w
			}
			if math.Abs(w/72*25.4-paper.Width) > 0.01 || math.Abs(h/72*25.4-paper.Height) > 0.01 {
				t.Errorf("%s: a page of %g x %g points", paper.Label, w, h)
			}
		}
		for _, line := range strings.Split(strings.TrimSpace(exporttest.Tool(t, "pdffonts", file)), "\n")[2:] {
			if !regexp.MustCompile(`TrueType.*yes\s+(yes|no)\s+yes`).MatchString(line) {
				t.Errorf("%s: a font is not embedded or not searchable: %s", paper.Label, line)
			}
		}
		text := strings.ReplaceAll(exporttest.Text(t, file), "\u00a0", " ")
		for _, want := range []string{
			title, "Sleeve, größer", "cut 2 mirrored", "320.0 × 430.0 mm", "within 0.3 mm", "Nothing is added to it",
			"100 mm", "4 in", "mm across", "mm up", "at 100 %, not “fit to page”", "cover blades", "trial piece",
			"neither fit nor safety", "A1", "grain", "grey band",
		} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the text does not say %q", paper.Label, want)
			}
		}
	}
}

func TestOneLargePage(t *testing.T) {
	piece := sleeve()
	piece.Unsure = nil
	file := exporttest.File(t, pdf(t, sheet.Options{Paper: sheet.One}, piece))
	info := exporttest.Tool(t, "pdfinfo", file)
	var w, h float64
	size := regexp.MustCompile(`Page size: +([\d.]+) x ([\d.]+) pts`).FindStringSubmatch(info)
	if size == nil || !strings.Contains(info, "Pages:           1\n") {
		t.Fatalf("not one page:\n%s", info)
	}
	if _, err := fmt.Sscan(size[1]+" "+size[2], &w, &h); err != nil {
		t.Fatal(err)
	}
	w, h = w/72*25.4, h/72*25.4
	page := exporttest.Render(t, file, 1, 1, 200, h)[0]
	placed, height, err := sheet.LayOne(title, []sheet.Piece{piece}, sheet.Options{Paper: sheet.One})
	if err != nil || math.Abs(height-h) > 0.01 {
		t.Fatalf("a page %.2f mm high, drawn as %.2f (%v)", h, height, err)
	}
	worst, seen := offset(page, placed[0], geometry.Vec{}, [2]geometry.Point{pt(0, 0), pt(w, h)})
	if !(worst <= 0.1) || seen < 100 {
		t.Errorf("outline %.3f mm off, seen in %d places", worst, seen)
	}
	text := strings.ReplaceAll(exporttest.Text(t, file), "\u00a0", " ")
	for _, want := range []string{"100", "4 in", "cover blades", "200 mm up", "Sleeve, größer"} {
		if !strings.Contains(text, want) {
			t.Errorf("the text does not say %q", want)
		}
	}
}

func TestSingleTiles(t *testing.T) {
	all := pdf(t, sheet.Options{}, sleeve())
	two := pdf(t, sheet.Options{Tiles: []string{"b2", "A1"}}, sleeve())
	pages := func(data []byte) string {
		return regexp.MustCompile(`Pages: +(\d+)`).FindStringSubmatch(exporttest.Tool(t, "pdfinfo", exporttest.File(t, data)))[1]
	}
	if pages(all) != "5" || pages(two) != "2" {
		t.Errorf("%s pages in all, %s for two tiles", pages(all), pages(two))
	}
	if text := exporttest.Text(t, exporttest.File(t, two)); !strings.Contains(text, "page 5 of 5") || strings.Contains(text, "page 3 of 5") {
		t.Errorf("the tiles do not keep their page numbers: %s", text)
	}
}

func TestRefuses(t *testing.T) {
	line := sheet.Piece{Outline: geometry.Path{{At: pt(0, 0)}, {At: pt(100, 0)}}}
	endless := sheet.Piece{Outline: geometry.Path{{At: pt(0, 0)}, {At: pt(math.NaN(), 0)}, {At: pt(0, 9)}}}
	huge := sleeve()
	huge.Outline = huge.Outline.Map(func(p geometry.Point) geometry.Point { return pt(p.X*30, p.Y*30) })
	for _, c := range []struct {
		name   string
		pieces []sheet.Piece
		opt    sheet.Options
		want   error
	}{
		{"nothing", nil, sheet.Options{}, sheet.ErrNoPiece},
		{"a line", []sheet.Piece{line}, sheet.Options{}, sheet.ErrOutline},
		{"an empty outline", []sheet.Piece{{}}, sheet.Options{}, sheet.ErrOutline},
		{"an endless outline", []sheet.Piece{endless}, sheet.Options{}, sheet.ErrOutline},
		{"an endless outline on one page", []sheet.Piece{endless}, sheet.Options{Paper: sheet.One}, sheet.ErrOutline},
		{"a margin that printers cut off", []sheet.Piece{sleeve()}, sheet.Options{MarginMM: 5}, sheet.ErrMargin},
		{"a margin that is no number", []sheet.Piece{sleeve()}, sheet.Options{MarginMM: math.NaN()}, sheet.ErrMargin},
		{"ten metres", []sheet.Piece{huge}, sheet.Options{}, sheet.ErrTooLarge},
		{"a tile that is not there", []sheet.Piece{sleeve()}, sheet.Options{Tiles: []string{"D9"}}, sheet.ErrNoTile},
		{"a tile of one page", []sheet.Piece{sleeve()}, sheet.Options{Paper: sheet.One, Tiles: []string{"A1"}}, sheet.ErrNoTile},
	} {
		if err := sheet.PDF(io.Discard, title, c.pieces, c.opt); !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want %v", c.name, err, c.want)
		}
	}
}

func svg(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := sheet.SVG(&b, title, []sheet.Piece{sleeve()}, sheet.Options{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// The bytes of the SVG are a promise to those who keep them under version
// control.
func TestGoldenSVG(t *testing.T) {
	golden(t, "sleeve.svg", svg(t))
}

// golden compares with a file of testdata, or writes it.
func golden(t *testing.T, file string, got []byte) {
	t.Helper()
	name := filepath.Join("testdata", "golden", file)
	if *update {
		if err := os.WriteFile(name, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("it differs from %s; look at both, then run with -update if the new one is right:\n%s", name, got)
	}
}

// The outline in the SVG is as long as the model to 0.01 mm, in a file whose
// size is the piece's and two margins.
func TestSVGIsTrue(t *testing.T) {
	var doc struct {
		Width  string `xml:"width,attr"`
		Height string `xml:"height,attr"`
		Groups []struct {
			ID    string `xml:"id,attr"`
			Paths []struct {
				D string `xml:"d,attr"`
			} `xml:"path"`
		} `xml:"g"`
	}
	if err := xml.Unmarshal(svg(t), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Width != "340mm" || doc.Height != "450mm" {
		t.Errorf("%s x %s, want 340 x 450 mm", doc.Width, doc.Height)
	}
	var got []float64
	for _, g := range doc.Groups {
		if g.ID == "layer-cut-line" {
			for _, ring := range strings.SplitAfter(g.Paths[0].D, "Z") {
				if ring = strings.TrimSpace(ring); ring != "" {
					got = append(got, ringLength(t, ring))
				}
			}
		}
	}
	p := sleeve()
	want := []float64{p.Outline.Length(), p.Holes[0].Length()}
	if len(got) != 2 || math.Abs(got[0]-want[0]) > 0.01 || math.Abs(got[1]-want[1]) > 0.01 {
		t.Errorf("lengths %.4f, want %.4f", got, want)
	}
	t.Logf("lengths %.4f, model %.4f", got, want)
}

// ringLength measures a ring written with absolute M, L, C and Z.
func ringLength(t *testing.T, d string) float64 {
	t.Helper()
	var from geometry.Point
	length := 0.0
	for _, part := range regexp.MustCompile(`[MLC][^MLCZ]*`).FindAllString(d, -1) {
		var n [6]float64
		count, _ := fmt.Sscan(part[1:], &n[0], &n[1], &n[2], &n[3], &n[4], &n[5])
		switch {
		case part[0] == 'M' && count == 2:
		case part[0] == 'L' && count == 2:
			length += from.Dist(pt(n[0], n[1]))
		case part[0] == 'C' && count == 6:
			length += geometry.Segment{A: from, B: pt(n[0], n[1]), C: pt(n[2], n[3]), D: pt(n[4], n[5]), Curved: true}.Length()
		default:
			t.Fatalf("%q has %d numbers", part, count)
		}
		from = pt(n[count-2], n[count-1])
	}
	return length
}

func TestPNG(t *testing.T) {
	for _, c := range []struct {
		opt  sheet.Options
		w, h int
	}{{sheet.Options{}, 1360, 1800}, {sheet.Options{PxPerMM: 1}, 340, 450}} {
		var b bytes.Buffer
		if err := sheet.PNG(&b, []sheet.Piece{sleeve()}, c.opt); err != nil {
			t.Fatal(err)
		}
		img, err := png.Decode(&b)
		if err != nil {
			t.Fatal(err)
		}
		if s := img.Bounds().Size(); s.X != c.w || s.Y != c.h {
			t.Errorf("%v pixels, want %d x %d", s, c.w, c.h)
		}
	}
}

// The map shows each sheet that the PDF has, by the name that prints it alone, and says
// where there is none.
func TestMap(t *testing.T) {
	name := regexp.MustCompile(`>([A-Z]+[0-9]+)</text>`)
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter, sheet.A3} {
		opt := sheet.Options{Paper: paper}
		var b bytes.Buffer
		if err := sheet.Map(&b, "", []sheet.Piece{sleeve()}, opt); err != nil {
			t.Fatal(err)
		}
		whole, err := sheet.Draw("", []sheet.Piece{sleeve()}, opt)
		if err != nil {
			t.Fatal(err)
		}
		names := name.FindAllStringSubmatch(b.String(), -1)
		if len(names) != len(whole.Pages)-1 { // page one has the squares and a map
			t.Errorf("%s: %d sheets on the map, %d pages", paper.Label, len(names), len(whole.Pages))
		}
		for _, n := range names {
			opt.Tiles = []string{n[1]}
			if d, err := sheet.Draw("", []sheet.Piece{sleeve()}, opt); err != nil || len(d.Pages) != 1 {
				t.Errorf("%s: sheet %s of the map: %d pages, %v", paper.Label, n[1], len(d.Pages), err)
			}
		}
	}
	if err := sheet.Map(io.Discard, "", []sheet.Piece{sleeve()}, sheet.Options{Paper: sheet.One}); !errors.Is(err, sheet.ErrNoTile) {
		t.Errorf("the map of one large page: %v", err)
	}
}

func TestSameInputSameBytes(t *testing.T) {
	for _, paper := range sheet.Papers() {
		opt := sheet.Options{Paper: paper}
		if !bytes.Equal(pdf(t, opt, sleeve()), pdf(t, opt, sleeve())) {
			t.Errorf("%s: other bytes the second time", paper.Label)
		}
	}
}
