package main

import (
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
)

// TestSeamsAndOutlineTools takes a garment file in, pairs two edges by tapping them,
// and straightens, measures and moves by numbers what is drawn.
func TestSeamsAndOutlineTools(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	garment := p.takeSmock(url)
	eval[bool](p, `(document.querySelector("a.piece-link").click(), true)`)
	p.until("the outline", `document.querySelector(".overlay path.outline")`)
	t.Run("seams", func(t *testing.T) { p.t = t; p.seams(url, garment) })
	t.Run("outline", func(t *testing.T) { p.t = t; p.outlineTools() })
	t.Run("back", func(t *testing.T) { p.t = t; p.bringsBack(url) })
	p.t = t
}

// takeSmock takes the example garment in from its file and waits for its page; it returns
// the garment's id.
func (p *tab) takeSmock(url string) string {
	p.t.Helper()
	file, err := filepath.Abs("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		p.t.Fatal(err)
	}
	p.do(chromedp.Navigate(url+"/"), chromedp.WaitReady(chromedp.CSS("input.file")),
		chromedp.SetUploadFiles(chromedp.CSS("input.file"), []string{file}))
	p.until("the pieces of the file", `document.querySelectorAll("a.piece-link").length > 3`)
	return eval[string](p, `location.hash.split("/").pop()`)
}

// bringsBack takes an earlier version of the piece, and the piece out of the trash.
func (p *tab) bringsBack(url string) {
	p.saved()
	piece := eval[string](p, `location.hash.split("/")[2]`)
	p.step("photo")
	p.press("Earlier versions")
	p.until("the versions", `document.querySelectorAll(".versions-list li").length > 1`)
	now := outlineOf(p.t, url, piece)
	eval[bool](p, `([...document.querySelectorAll(".versions-list button")].at(-1).click(), true)`)
	p.sent(url, piece, now)
	first := outlineOf(p.t, url, piece)
	p.press("Undo: Bring an earlier version back")
	p.sent(url, piece, first)
	if d := gap(outlineOf(p.t, url, piece), now); d > 0 {
		p.t.Errorf("undo after an earlier version left the outline %.3f mm off", d)
	}
	eval[bool](p, `(window.confirm = () => true, true)`)
	p.press("Remove this piece")
	p.until("the garment's page", `location.hash.startsWith("#/garment/")`)
	p.do(chromedp.Navigate(url + "/#/"))
	p.press("Trash")
	p.press("Bring Front back")
	p.until("word of it", `document.querySelector(".said")?.innerText.includes("is back")`)
	if d := gap(outlineOf(p.t, url, piece), now); d > 0 {
		p.t.Errorf("the piece came back %.3f mm off", d)
	}
}

// pairsOf asks the service how many seams a garment has.
func (p *tab) pairsOf(url, garment string) int {
	var g struct {
		Pairs []struct{ ID string } `json:"seam_pairs"`
	}
	ask(p.t, url+"/api/v1/garments/"+garment, &g)
	return len(g.Pairs)
}

func (p *tab) seams(url, garment string) {
	before := p.pairsOf(url, garment)
	p.step("check")
	p.until("the seams of the file", fmt.Sprintf(`document.querySelectorAll(".edge-list .round").length === %d`, before))
	p.until("all pieces on the board", `document.querySelectorAll(".board-cloth").length === document.querySelectorAll(".board-name").length && document.querySelectorAll(".board-cloth").length > 3`)
	for i, edge := range []string{"Front, hem", "Back, hem"} {
		p.tapStrip(edge)
		if i == 0 {
			p.until("the first edge to be held", `document.querySelector(".board-edge.held")`)
		}
	}
	p.until("the new seam, checked", `document.querySelector(".edge-list li.on table td")`)
	if n := p.pairsOf(url, garment); n != before+1 {
		p.t.Errorf("%d seams after one more was made of %d", n, before)
	}
	p.press("Undo: Pair edges")
	p.until("the seam gone", fmt.Sprintf(`document.querySelectorAll(".edge-list .round").length === %d && !document.querySelector(".edge-list.stale")`, before))
	if n := p.pairsOf(url, garment); n != before {
		p.t.Errorf("%d seams after undo, %d before", n, before)
	}
}

// knotAt returns where on the screen the n-th point of the outline stands.
func (p *tab) knotAt(n int) [2]float64 {
	p.t.Helper()
	return [2]float64(eval[[]float64](p, fmt.Sprintf(`(() => {
		const path = document.querySelector(".overlay path.outline"), ends = [...path.getAttribute("d").matchAll(/(-?[\d.]+) (-?[\d.]+)(?=[MLCZ]|$)/g)];
		const q = new DOMPoint(+ends[%d][1], +ends[%[1]d][2]).matrixTransform(path.getScreenCTM());
		return [q.x, q.y];
	})()`, n)))
}

func (p *tab) outlineTools() {
	p.step("outline")
	p.until("the points", `document.querySelector(".knot.square")`)
	length := `document.querySelector(".overlay path.outline").getTotalLength()`
	before := eval[float64](p, length)
	p.press("Straighten")
	for _, n := range []int{0, 2} {
		p.frames()
		at := p.knotAt(n)
		p.do(chromedp.MouseClickXY(at[0], at[1]))
	}
	p.press("Make straight")
	after := eval[float64](p, length)
	if after > before-0.5 {
		p.t.Errorf("a straightened armhole took the outline from %.1f to %.1f mm", before, after)
	}
	p.press("Undo")
	p.press("Measure")
	p.frames()
	a, b := p.knotAt(0), p.knotAt(2)
	p.mouseDrag(a, b)
	scale := eval[float64](p, `document.querySelector(".overlay path.outline").getScreenCTM().a`)
	want := dist(a, b) / scale / 10
	got := eval[float64](p, `parseFloat(document.querySelector(".offer strong").textContent)`)
	if math.Abs(got-want) > 0.02 {
		p.t.Errorf("the tape says %.2f cm, the points are %.2f cm apart", got, want)
	}
	p.press("Move points")
	p.frames() // what the tape said goes, and the cloth may take its room
	a = p.knotAt(0)
	p.do(chromedp.MouseClickXY(a[0], a[1]))
	a = p.knotAt(0)
	p.fill("Move up by", `1/2`)
	moved := p.knotAt(0)
	if up := (a[1] - moved[1]) / scale; math.Abs(up-12.7) > 0.05 {
		p.t.Errorf("half an inch up moved the point by %.2f mm", up)
	}
}
