package sheet_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/sheet"
)

// ruler is a long page with a word every metre.
func ruler(long float64, upright bool) export.Page {
	p := export.Page{Width: long, Height: 900}
	if upright {
		p.Width, p.Height = p.Height, p.Width
	}
	for m := 0.5; m*1000 < long; m++ {
		at := geometry.Point{X: 1000 * m, Y: 450}
		if upright {
			at = geometry.Point{X: 450, Y: 1000 * m}
		}
		p.Items = append(p.Items, export.Text{Layer: "a", At: at, Size: 10, Ink: export.Black, Content: fmt.Sprintf("metre%g", m)})
	}
	return p
}

// A long page becomes numbered ones that any PDF viewer takes; laid join line on join line
// every word lies where it was (read back with poppler).
func TestLengths(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		if os.Getenv("CI") == "" {
			t.Skip("no poppler-utils here; 'make test' installs it")
		}
		t.Fatal(err)
	}
	for _, c := range []struct {
		long    float64
		pages   int
		upright bool
	}{{4999, 1, false}, {5000, 1, true}, {5001, 2, false}, {12300, 3, false}, {12300, 3, true}, {29000, 6, false}} {
		pages := sheet.Lengths(ruler(c.long, c.upright))
		if len(pages) != c.pages {
			t.Fatalf("%g mm: %d pages, want %d", c.long, len(pages), c.pages)
		}
		var b bytes.Buffer
		if err := export.WritePDF(&b, export.Drawing{Title: "ruler", Pages: pages}); err != nil {
			t.Fatal(err)
		}
		found := words(t, b.Bytes())
		if len(found) != c.pages {
			t.Fatalf("%g mm: poppler reads %d pages", c.long, len(found))
		}
		start := 0.0 // of the page on the floor
		seen := map[string]bool{}
		for k, page := range found {
			along := func(w word) float64 {
				if c.upright {
					return page.high - w.yMax // y runs down in poppler's boxes
				}
				return w.xMin
			}
			if long := math.Max(page.wide, page.high); long > 5080 {
				t.Errorf("page %d of %g mm is %g mm long", k+1, c.long, long)
			}
			if k > 0 { // its first join on the last one of the page before
				start += joinAt(pages[k-1], c.upright, k) - joinAt(pages[k], c.upright, k)
			}
			for _, w := range page.words {
				m, ok := bytes.CutPrefix([]byte(w.text), []byte("metre"))
				if !ok {
					continue
				}
				n, err := strconv.ParseFloat(string(m), 64)
				if err != nil {
					t.Fatal(err)
				}
				seen[w.text] = true
				// The box of a word begins some tenths of a millimetre beside its baseline's start.
				if got := start + along(w); math.Abs(got-1000*n) > 4 {
					t.Errorf("%s of %g mm lies at %.2f mm", w.text, c.long, got)
				}
			}
		}
		if want := int(math.Ceil(c.long/1000 - 0.5)); len(seen) != want {
			t.Errorf("%g mm: %d words of %d", c.long, len(seen), want)
		}
	}
}

// joinAt returns how far along a page the join line of a number lies: between its crosses.
func joinAt(p export.Page, upright bool, number int) float64 {
	for i, it := range p.Items {
		text, ok := it.(export.Text)
		if !ok || text.Content != fmt.Sprint(number) || i < 2 {
			continue
		}
		cross := p.Items[i-1].(export.Shape).Contours[0].Knots
		middle := cross[0].At.Lerp(cross[1].At, 0.5)
		if upright {
			return middle.Y
		}
		return middle.X
	}
	return math.NaN()
}

type word struct {
	text       string
	xMin, yMax float64 // mm
}

type wordPage struct {
	wide, high float64
	words      []word
}

var (
	pageBox = regexp.MustCompile(`<page width="([\d.]+)" height="([\d.]+)"`)
	wordBox = regexp.MustCompile(`<page |<word xMin="([\d.]+)" yMin="[\d.]+" xMax="[\d.]+" yMax="([\d.]+)">([^<]*)<`)
)

// words reads the words of a PDF with their boxes.
func words(t *testing.T, pdf []byte) (out []wordPage) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "a.pdf")
	if err := os.WriteFile(file, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	html, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	mm := func(s []byte) float64 {
		v, err := strconv.ParseFloat(string(s), 64)
		if err != nil {
			t.Fatal(err)
		}
		return v / 72 * 25.4
	}
	for _, p := range pageBox.FindAllSubmatch(html, -1) {
		out = append(out, wordPage{wide: mm(p[1]), high: mm(p[2])})
	}
	k := -1
	for _, w := range wordBox.FindAllSubmatch(html, -1) {
		if w[3] == nil {
			k++
			continue
		}
		out[k].words = append(out[k].words, word{string(w[3]), mm(w[1]), mm(w[2])})
	}
	return out
}
