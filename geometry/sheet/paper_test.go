package sheet_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/sheet"
)

// sizes returns the pages of a PDF in mm, as poppler reads them.
func sizes(t *testing.T, data []byte) (out [][2]float64) {
	t.Helper()
	info := exporttest.Tool(t, "pdfinfo", "-f", "1", "-l", "999", exporttest.File(t, data))
	for _, m := range regexp.MustCompile(`Page +\d+ size: +([\d.]+) x ([\d.]+) pts`).FindAllStringSubmatch(info, -1) {
		var s [2]float64
		if _, err := fmt.Sscan(m[1]+" "+m[2], &s[0], &s[1]); err != nil {
			t.Fatal(err)
		}
		out = append(out, [2]float64{s[0] / 72 * 25.4, s[1] / 72 * 25.4})
	}
	return out
}

// Large papers have their own size, upright or on their side; a roll is as wide as
// it is said to be and as long as needed.
func TestLargePapers(t *testing.T) {
	pieces := smock(t)
	for _, paper := range []sheet.Paper{sheet.A2, sheet.A1, sheet.A0} {
		pages := sizes(t, pdf(t, sheet.Options{Paper: paper}, pieces...))
		for _, s := range pages {
			if d := math.Abs(math.Min(s[0], s[1])-paper.Width) + math.Abs(math.Max(s[0], s[1])-paper.Height); d > 0.01 {
				t.Errorf("%s: a page of %.2f x %.2f mm", paper.Label, s[0], s[1])
			}
		}
		t.Logf("%s: %d pages", paper.Label, len(pages))
	}
	for _, width := range []float64{610, 914, 914.4, 1067} {
		pages := sizes(t, pdf(t, sheet.Options{Paper: sheet.Roll(width)}, pieces...))
		if len(pages) != 1 || math.Abs(pages[0][0]-width) > 0.01 || pages[0][1] > 5080 {
			t.Errorf("roll of %g mm: pages %v", width, pages)
		}
		t.Logf("roll of %g mm: %.0f mm long", width, pages[0][1])
	}
}

// A roll that is longer than a page may be is cut into numbered lengths.
func TestLongRoll(t *testing.T) {
	var many []sheet.Piece
	for i := range 9 {
		for _, p := range smock(t) {
			p.Name = fmt.Sprintf("%s %d", p.Name, i+1)
			many = append(many, p)
		}
	}
	pages := sizes(t, pdf(t, sheet.Options{Paper: sheet.Roll(914)}, many...))
	if len(pages) < 2 {
		t.Errorf("%d pages", len(pages))
	}
	for _, s := range pages {
		if math.Abs(s[0]-914) > 0.01 || s[1] > sheet.MaxLengthMM {
			t.Errorf("a page of %.0f x %.0f mm", s[0], s[1])
		}
	}
}

// A printer that prints 0.99 across and 1.02 up prints true what was corrected for
// it: the squares of page one measured at 600 dpi and multiplied by what the
// printer does. The paper keeps its size, and page and tiles say whom they are for.
func TestPrintScale(t *testing.T) {
	scale := [2]float64{0.99, 1.02}
	data := pdf(t, sheet.Options{PrintScale: scale}, sleeve())
	for _, s := range sizes(t, data) {
		if math.Abs(s[0]-210) > 0.01 || math.Abs(s[1]-297) > 0.01 {
			t.Errorf("a page of %.2f x %.2f mm", s[0], s[1])
		}
	}
	file := exporttest.File(t, data)
	cover := exporttest.Render(t, file, 1, 1, 600, 297)[0]
	var sides int
	level := lines(cover, pt(13+6.5, 20), pt(13+6.5, 265))
	for i, a := range level {
		for _, b := range level[i+1:] {
			for _, want := range []float64{100, 101.6} {
				if d := (b - a) * scale[1]; math.Abs(d-want) < 0.05 {
					sides++
					row := 20 + (a+b)/2 - 30
					across := lines(cover, pt(11, row), pt(13+110, row))
					if w := (across[len(across)-1] - across[0]) * scale[0]; math.Abs(w-want) > 0.05 {
						t.Errorf("a square comes out %.3f mm wide and %.3f high, want %g", w, d, want)
					}
				}
			}
		}
	}
	if sides != 2 {
		t.Errorf("%d squares come out true, want 2", sides)
	}
	text := exporttest.Text(t, file)
	if n := strings.Count(strings.ReplaceAll(text, "\u00a0", " "), "prints 99 % across and 102 % up"); n != len(sizes(t, data)) {
		t.Errorf("%d pages say that they are corrected, want all", n)
	}
	for _, bad := range [][2]float64{{0.5, 1}, {1, 2}, {math.NaN(), 1}, {-1, 1}} {
		if err := sheet.PDF(io.Discard, title, []sheet.Piece{sleeve()}, sheet.Options{PrintScale: bad}); err == nil {
			t.Errorf("the scales %v were taken", bad)
		}
	}
}

// Names in the alphabets of Europe are printed and found again; what the font
// lacks is boxes in their place, and a finding names it.
func TestNames(t *testing.T) {
	names := []string{"Ärmelbündchen", "Рубаха, рукав", "Ποκάμισο", "Kieszeń łatka", "Höfuð Þórs", "Zad ní díl ěščřž", "e\u0301paule"}
	var pieces []sheet.Piece
	for _, n := range names {
		p := sleeve()
		p.Name = n
		pieces = append(pieces, p)
	}
	if f := sheet.Findings("Рубаха", pieces); len(f) != 0 {
		t.Errorf("findings %v", f)
	}
	text := exporttest.Text(t, exporttest.File(t, pdf(t, sheet.Options{Paper: sheet.A0}, pieces...)))
	for _, n := range append(names[:len(names)-1], "épaule") {
		if !strings.Contains(text, n) {
			t.Errorf("%q is not found in the print", n)
		}
	}
	pieces = pieces[:1]
	pieces[0].Name = "袖 sleeve 🧵"
	f := sheet.Findings(title, pieces)
	if len(f) != 1 || f[0].Code != sheet.CodeLetters || !strings.Contains(f[0].Message, "袖🧵") {
		t.Errorf("findings %v", f)
	}
	if text := exporttest.Text(t, exporttest.File(t, pdf(t, sheet.Options{}, pieces...))); !strings.Contains(text, "□ sleeve □") {
		t.Errorf("no boxes in %q", text)
	}
}

// Whatever is written as a paper, what is taken for one has a size to print on.
func FuzzPaperNamed(f *testing.F) {
	for _, s := range []string{"a4", "roll:914", "roll:36 in", "roll:1e3", "one", "roll:½", "ROLL:  "} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, name string) {
		p, err := sheet.PaperNamed(name)
		if err != nil {
			return
		}
		roll := p.Height == 0 && p.Width >= sheet.MinRollMM && p.Width <= sheet.MaxRollMM
		if !roll && p != sheet.One && !(p.Width > 0 && p.Height > p.Width) {
			t.Errorf("%q is %v", name, p)
		}
		if again, err := sheet.PaperNamed(p.Name); err != nil || again != p {
			t.Errorf("%q is %v, but its name %q is %v (%v)", name, p, p.Name, again, err)
		}
	})
}

func box(w, h float64) sheet.Piece {
	return sheet.Piece{
		Name: "Strip", Complete: true, Notes: []string{"cut 4 from indigo linen", "includes 10 mm seam allowance"},
		Outline: geometry.Path{{At: pt(0, 0), Corner: true}, {At: pt(w, 0), Corner: true}, {At: pt(w, h), Corner: true}, {At: pt(0, h), Corner: true}},
	}
}

// Pieces too small for their words are printed, listed on page one with what finds
// no room, and found out; pieces too large for the paper are refused.
func TestExtremes(t *testing.T) {
	for _, c := range []struct {
		w, h  float64
		short bool
	}{{3, 3, true}, {3, 700, true}, {20, 30, true}, {14, 300, true}, {120, 60, false}, {4000, 300, false}} {
		p := box(c.w, c.h)
		found := sheet.Findings(title, []sheet.Piece{p})
		if short := len(found) == 1 && found[0].Code == sheet.CodeLabelRoom; short != c.short {
			t.Errorf("%g x %g: findings %v", c.w, c.h, found)
		}
		text := exporttest.Text(t, exporttest.File(t, pdf(t, sheet.Options{}, p)))
		if !strings.Contains(text, "cut 4 from indigo linen") || !strings.Contains(text, "Strip") {
			t.Errorf("%g x %g: its words are nowhere", c.w, c.h)
		}
	}
	for _, opt := range []sheet.Options{{}, {Paper: sheet.A0}, {Paper: sheet.One}, {Paper: sheet.Roll(914)}} {
		err := sheet.PDF(io.Discard, title, []sheet.Piece{box(90e3, 90e3)}, opt)
		if err == nil {
			t.Errorf("90 m square were printed on %q", opt.Paper.Name)
		} else {
			t.Log(err)
		}
	}
}

// A half on the fold is not cut along the fold, and says where it lies.
func TestOnFold(t *testing.T) {
	p := box(200, 300)
	p.Stitch = geometry.Path{{At: pt(0, 10), Corner: true}, {At: pt(190, 10), Corner: true}, {At: pt(190, 290), Corner: true}, {At: pt(0, 290), Corner: true}}
	// The fold is that of the stitch line; the cut line goes on along it.
	p.Folds = []sheet.Fold{{Points: []geometry.Point{pt(0, 290), pt(0, 10)}, Text: "place on the fold of the cloth", OnFold: true}}
	var b bytes.Buffer
	if err := sheet.SVG(&b, title, []sheet.Piece{p}, sheet.Options{}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ layer, want string }{
		{"cut-line", "M10 310 L210 310 L210 10 L10 10"},
		{"stitch-line", "M10 300 L200 300 L200 20 L10 20"},
		{"fold-lines", "M10 10 L10 310"},
		{"fold-lines", "place on the fold of the cloth"},
	} {
		_, group, _ := strings.Cut(b.String(), `<g id="layer-`+c.layer+`"`)
		group, _, _ = strings.Cut(group, "</g>")
		if !strings.Contains(group, c.want) || strings.Contains(group, "Z") {
			t.Errorf("%s: not %q in\n%s", c.layer, c.want, group)
		}
	}
}
