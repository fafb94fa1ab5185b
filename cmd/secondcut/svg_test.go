package main

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/chromedp/chromedp"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// The SVG of the demo garment, measured in Chromium: a millimetre of the drawing is
// 96/25.4 CSS pixels on the screen, every line is as long as in the model to 0.01
// mm, stitch lines are broken, and what is drawn covers the page but for its margin.
func TestSVGInChromium(t *testing.T) {
	g, err := readGarment(smockFile)
	if err != nil {
		t.Fatal(err)
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "smock.svg")
	out, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	pieces := sheet.Drafts(g, drafts)
	if err := sheet.SVG(out, g.Name, pieces, sheet.Options{}); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	tab := newTab(t, startBrowser(t), 1200, 900, false)
	tab.do(chromedp.Navigate("file://" + name))
	tab.until("the drawing", `document.documentElement.getScreenCTM`)

	const pxPerMM = 96 / 25.4 // CSS Values and Units, level 3, 5.2
	if m := eval[float64](tab, `document.documentElement.getScreenCTM().a`); math.Abs(m-pxPerMM) > 1e-4 {
		t.Errorf("a millimetre is %.5f pixels, want %.5f", m, pxPerMM)
	}
	page := eval[[]float64](tab, `(r => [r.width, r.height])(document.documentElement.getBoundingClientRect())`)
	ink := eval[[]float64](tab, `(b => [b.x, b.y, b.width, b.height])(document.documentElement.getBBox())`)
	for k := range 2 {
		if all := ink[k+2] + 20; math.Abs(page[k]/pxPerMM-all) > 0.5 || math.Abs(ink[k]-10) > 0.5 {
			t.Errorf("the page is %.2f mm, the drawing %.2f mm from %.2f mm", page[k]/pxPerMM, ink[k+2], ink[k])
		}
	}
	cut := eval[[]float64](tab, `[...document.querySelectorAll("#layer-cut-line path")].map(p => p.getTotalLength())`)
	if len(cut) != len(pieces) {
		t.Fatalf("%d cut lines, want %d", len(cut), len(pieces))
	}
	for i, p := range pieces {
		want := cutLength(p)
		if math.Abs(cut[i]-want) > 0.01 {
			t.Errorf("%s: the cut line is %.4f mm long, want %.4f", p.Name, cut[i], want)
		}
		t.Logf("%s: cut line %.4f mm, model %.4f", p.Name, cut[i], want)
	}
	fold := eval[[]float64](tab, `[...document.querySelectorAll("#layer-fold-lines path")].map(p => p.getTotalLength())`)
	var folds []float64
	for _, p := range pieces {
		for _, f := range p.Folds {
			if !f.OnFold { // that one goes on through the allowances
				folds = append(folds, openLength(f.Points))
			}
		}
	}
	if len(folds) < 6 {
		t.Fatalf("only %d fold lines", len(folds))
	}
	for _, want := range folds {
		if !slices.ContainsFunc(fold, func(got float64) bool { return math.Abs(got-want) <= 0.01 }) {
			t.Errorf("no fold line of %.4f mm among %.4f", want, fold)
		}
	}
	for layer, want := range map[string]string{"stitch-line": "3px, 1.5px", "fold-lines": "9px, 1.5px, 1px, 1.5px", "cut-line": "none"} {
		if got := eval[string](tab, `getComputedStyle(document.querySelector("#layer-`+layer+` path")).strokeDasharray`); got != want {
			t.Errorf("%s: dashes %q, want %q", layer, got, want)
		}
	}
	if font := eval[string](tab, `getComputedStyle(document.querySelector("text")).fontFamily`); font == "" {
		t.Error("the text has no font")
	}
}

// cutLength is how much of a piece is cut: outline and holes, but not what lies on
// the fold of the cloth.
func cutLength(p sheet.Piece) (sum float64) {
	for _, h := range p.Holes {
		sum += h.Length()
	}
	for _, s := range p.Outline.Segments() {
		onFold := false
		for _, f := range p.Folds {
			u := f.Points[len(f.Points)-1].Sub(f.Points[0]).Unit()
			off := math.Abs(u.Cross(s.A.Sub(f.Points[0]))) + math.Abs(u.Cross(s.D.Sub(f.Points[0])))
			onFold = onFold || f.OnFold && off < 0.2
		}
		if !onFold {
			sum += s.Length()
		}
	}
	return sum
}

func openLength(line []geometry.Point) (sum float64) {
	for i := 1; i < len(line); i++ {
		sum += line[i].Dist(line[i-1])
	}
	return sum
}
