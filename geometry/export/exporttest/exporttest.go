// Package exporttest looks at PDF files as a printer would, for tests: it renders
// pages with poppler and measures where ink stands.
package exporttest

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/geometry"
)

// Page is a rendered page: grey values, 0 black, row by row from the top.
type Page struct {
	Gray          []byte
	Width, Height int
	// PxPerMM is the resolution, HeightMM the height of the paper.
	PxPerMM, HeightMM float64
}

// Tool runs one of poppler's programs and returns what it prints. Without
// poppler the test is skipped, or fails where CI is set.
func Tool(t testing.TB, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatalf("%s is missing: install poppler-utils", name)
		}
		t.Skipf("%s is missing: install poppler-utils", name)
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v: %s", name, err, out)
	}
	return string(out)
}

// File writes bytes to a file that the test removes at its end.
func File(t testing.TB, data []byte) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "out.pdf")
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// Render returns pages first to last of a PDF file, from 1, at a resolution in
// dots an inch.
func Render(t testing.TB, pdf string, first, last, dpi int, heightMM float64) []Page {
	t.Helper()
	out := filepath.Join(t.TempDir(), "page")
	Tool(t, "pdftoppm", "-r", fmt.Sprint(dpi), "-gray", "-f", fmt.Sprint(first), "-l", fmt.Sprint(last), pdf, out)
	names, err := filepath.Glob(out + "*.pgm")
	if err != nil || len(names) != last-first+1 {
		t.Fatalf("%d pages rendered (%v), want %d", len(names), err, last-first+1)
	}
	pages := make([]Page, len(names))
	for i, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		p := Page{PxPerMM: float64(dpi) / 25.4, HeightMM: heightMM}
		var depth int
		if _, err := fmt.Fscanf(bytes.NewReader(data), "P5\n%d %d\n%d\n", &p.Width, &p.Height, &depth); err != nil || depth != 255 {
			t.Fatalf("pdftoppm wrote no grey picture: %v", err)
		}
		p.Gray = data[len(data)-p.Width*p.Height:]
		pages[i] = p
	}
	return pages
}

// ToPixel returns where a position on the paper (mm from its lower left corner)
// stands in the picture, pixel centres at integers.
func (p Page) ToPixel(q geometry.Point) (x, y float64) {
	return q.X*p.PxPerMM - 0.5, (p.HeightMM-q.Y)*p.PxPerMM - 0.5
}

// Dark returns the darkness from 0 to 1 of a pixel; 0 outside the page.
func (p Page) Dark(x, y int) float64 {
	if x < 0 || y < 0 || x >= p.Width || y >= p.Height {
		return 0
	}
	return 1 - float64(p.Gray[y*p.Width+x])/255
}

// At returns the darkness at a position on the paper, between pixels by
// bilinear interpolation.
func (p Page) At(q geometry.Point) float64 {
	x, y := p.ToPixel(q)
	ix, iy := math.Floor(x), math.Floor(y)
	u, v := x-ix, y-iy
	i, j := int(ix), int(iy)
	return (1-v)*((1-u)*p.Dark(i, j)+u*p.Dark(i+1, j)) + v*((1-u)*p.Dark(i, j+1)+u*p.Dark(i+1, j+1))
}

// Line returns where a dark line crosses the way from centre-reach to
// centre+reach along a direction: the centre of its ink, in mm from centre, and
// whether there is a line at all.
func (p Page) Line(centre geometry.Point, along geometry.Vec, reach float64) (offset float64, ok bool) {
	u := along.Unit()
	step := 0.25 / p.PxPerMM
	var ink, moment float64
	n := int(reach / step)
	for i := -n; i <= n; i++ {
		s := float64(i) * step
		d := p.At(centre.Add(u.Scale(s)))
		ink += d
		moment += d * s
	}
	if ink*step < 0.03 {
		return 0, false
	}
	return moment / ink, true
}

// Text returns the text of a PDF file, with runs of spaces as one.
func Text(t testing.TB, pdf string) string {
	t.Helper()
	return strings.Join(strings.Fields(Tool(t, "pdftotext", pdf, "-")), " ")
}
