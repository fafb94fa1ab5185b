package main

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// TestFinishes takes a traced piece through all steps to a printed cut line: by
// mouse, by touch, and by keyboard alone.
func TestFinishes(t *testing.T) {
	t.Parallel()
	url, browser := startService(t), startBrowser(t)
	first := newTab(t, browser, 1280, 900, false)
	piece := first.upload(url, "Finished smock")
	t.Run("mouse", func(t *testing.T) { finishByMouse(first, url, piece) })
	t.Run("touch", func(t *testing.T) { finishByTouch(newTab(t, browser, 390, 844, true), url, piece) })
	t.Run("keyboard", func(t *testing.T) { finishByKeyboard(newTab(t, browser, 1280, 900, false), url) })
}

// planned is what the tests look at of a stored piece.
type planned struct {
	Edges []struct {
		ID     string
		Name   string
		Old    struct{ Is string } `json:"old_allowance"`
		Finish struct {
			Kind      string
			Allowance float64 `json:"allowance_mm"`
			Depth     float64 `json:"depth_mm"`
		}
	}
	Marks []struct {
		Kind string
		Edge string
		At   float64
	}
	Label struct{ Cuts []struct{ Count int } }
}

func (p *tab) stored(url, piece string) planned {
	p.t.Helper()
	p.saved()
	var got planned
	ask(p.t, url+"/api/v1/pieces/"+piece, &got)
	return got
}

// drawn waits until the cut line that is shown is that of the present edges.
func (p *tab) drawn() {
	p.t.Helper()
	p.until("the cut line", `document.querySelector(".draft:not(.stale) path.cut")`)
}

// edgeNumber returns a place on the screen in the middle of the n-th edge.
func (p *tab) edgeNumber(n int) [2]float64 {
	p.t.Helper()
	p.drawn()
	p.until("the edges' numbers", fmt.Sprintf(`document.querySelectorAll(".edge-number").length > %d`, n))
	p.still() // the view is fitted to the cut line
	// The number stands 20 px inside the edge, square to it: the nearest of the outline is its middle.
	return [2]float64(eval[[]float64](p, fmt.Sprintf(`(() => {
		const m = document.querySelectorAll(".edge-number")[%d].getScreenCTM(), path = document.querySelector(".overlay path.outline"), c = path.getScreenCTM(), all = path.getTotalLength();
		let best = null, least = Infinity;
		for (let i = 0; i < 2000; i++) {
			const q = path.getPointAtLength((all * i) / 2000).matrixTransform(c), d = Math.hypot(q.x - m.e, q.y - m.f);
			if (d < least) [best, least] = [[q.x, q.y], d];
		}
		return best;
	})()`, n)))
}

func finishByMouse(p *tab, url, piece string) {
	p.step("edges")
	at := p.edgeNumber(0)
	p.do(chromedp.MouseClickXY(at[0], at[1]))
	p.until("the chosen edge's form", `document.querySelector(".edge-form")`)
	p.press("This wide")
	p.fill("Width", "1 cm")
	p.press("Same for every edge not known yet")
	p.press("Seam")
	p.fill("Seam allowance", "1,2")
	p.drawn()
	p.press("Give other edges the same finish")
	for _, e := range p.stored(url, piece).Edges[1:] {
		p.press("Also for " + e.Name)
	}
	p.drawn()
	got := p.stored(url, piece)
	for _, e := range got.Edges {
		if e.Finish.Kind != "seam" || e.Finish.Allowance != 12 || e.Old.Is != "length" {
			p.t.Errorf("%s has the finish %+v, old allowance %s", e.Name, e.Finish, e.Old.Is)
		}
	}
	if cut, line := cutLineOf(p.t, url, piece), outlineOf(p.t, url, piece); cut.Length() < line.Length()+8 {
		p.t.Errorf("the cut line is %.1f mm long, the outline %.1f: nothing was added", cut.Length(), line.Length())
	}
	for range len(got.Edges) - 1 {
		p.press("Undo")
	}
	p.until("edges without a finish again", `[...document.querySelectorAll(".edge-head .quiet")].filter((e) => e.textContent.startsWith("Keep")).length > 0`)
	for range len(got.Edges) - 1 {
		p.press("Redo")
	}
	p.step("marks")
	p.press("Upright on the photo")
	p.fill("How many", "2")
	p.until("the label's preview", `document.querySelector(".label-preview")?.innerText.includes("cut 2")`)
	p.step("check")
	p.until("what was noticed", `document.querySelector("#found-title")`)
	p.printsTrue(url, piece)
}

func finishByTouch(p *tab, url, piece string) {
	p.do(chromedp.Navigate(url + "/#/piece/" + piece + "/edges"))
	p.editorReady()
	p.drawn()
	n := len(p.stored(url, piece).Edges)
	at := p.edgeNumber(n - 1)
	p.tap(at)
	p.until("the chosen edge's form", `document.querySelector(".edge-form")`)
	p.press("Hem")
	p.fill("Hem depth", "2.5 cm")
	p.drawn()
	if e := p.stored(url, piece).Edges[n-1]; e.Finish.Kind != "hem" || e.Finish.Depth != 25 {
		p.t.Errorf("%s has the finish %+v", e.Name, e.Finish)
	}
	p.step("marks")
	p.press("Notch")
	at = p.outlinePoint(0.3)
	p.tap(at)
	p.until("the notch among the marks", `[...document.querySelectorAll(".edge-list strong")].some((e) => e.textContent === "Notch")`)
	notches := 0
	for _, m := range p.stored(url, piece).Marks {
		if m.Kind == "notch" && m.Edge != "" && m.At > 0 && m.At < 1 {
			notches++
		}
	}
	if notches != 1 {
		p.t.Errorf("%d notches are stored", notches)
	}
	p.printsTrue(url, piece)
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		p.t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
}

func (p *tab) tap(at [2]float64) {
	p.t.Helper()
	p.touch(input.DispatchTouchEventTypeTouchStart, at)
	p.touch(input.DispatchTouchEventTypeTouchEnd)
}

// outlinePoint returns a place on the screen at a part of the outline's length.
func (p *tab) outlinePoint(part float64) [2]float64 {
	p.t.Helper()
	return [2]float64(eval[[]float64](p, fmt.Sprintf(`(() => {
		const path = document.querySelector(".overlay path.outline"), q = path.getPointAtLength(path.getTotalLength() * %g).matrixTransform(path.getScreenCTM());
		return [q.x, q.y];
	})()`, part)))
}

// uploadByKeys starts a garment, chooses the demo photo and opens its piece by keys alone;
// the system's own window for files, which no page can reach, is answered for it.
func (p *tab) uploadByKeys(url, garment string) (piece string) {
	p.t.Helper()
	photo, err := filepath.Abs(demoPhoto)
	if err != nil {
		p.t.Fatal(err)
	}
	asked := make(chan cdp.BackendNodeID, 1)
	err = chromedp.Listen(p.ctx, func(ev any) {
		if ev, ok := ev.(*page.EventFileChooserOpened); ok {
			asked <- ev.BackendNodeID
		}
	})
	if err == nil {
		_, err = chromedp.Call(p.ctx, page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true})
	}
	if err != nil {
		p.fail(err)
	}
	p.do(chromedp.Navigate(url+"/"), chromedp.WaitVisible(chromedp.CSS("form input[type=text]")))
	p.tabTo("the name of a new garment", `document.activeElement.matches("form input[type=text]")`)
	p.keys(strings.Split(garment, "")...)
	p.keys("Enter")
	p.until("the garment's page", `location.hash.startsWith("#/garment/") && document.querySelector("input.file")`)
	p.tabTo("the photos", `document.activeElement.matches("input.file:not([capture])")`)
	p.keys("Enter")
	select {
	case node := <-asked:
		if _, err := chromedp.Call(p.ctx, dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: []string{photo}, BackendNodeID: node}); err != nil {
			p.fail(err)
		}
	case <-time.After(30 * time.Second):
		p.fail(errors.New("Enter on the photos asks for no file"))
	}
	p.until("the traced piece", `document.querySelector("a.piece-link") && document.body.innerText.includes("Traced")`)
	p.tabTo("the piece", `document.activeElement.matches("a.piece-link")`)
	p.keys("Enter")
	p.editorReady()
	return strings.Split(eval[string](p, "location.hash"), "/")[2]
}

// finishByKeyboard touches no pointer: Tab, Enter, arrows, and the editor's keys.
func finishByKeyboard(p *tab, url string) {
	piece := p.uploadByKeys(url, "Keys")
	before := p.knot()
	p.tabTo("the photo", `document.activeElement.matches(".canvas")`)
	p.keys("n", "b", "n") // the first point, the last one, the first again
	p.until("a chosen point", `document.querySelector(".knot.held")`)
	eval[bool](p, `document.activeElement.matches(".canvas")`)
	p.keys("ArrowRight", "ArrowRight")
	p.saved()
	if moved := p.knot(); math.Abs(moved[0]-before[0]) < 1 {
		p.t.Errorf("the arrow keys left the point at %v", moved)
	}
	p.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	if back := p.knot(); dist(back, before) > 0.01 {
		p.t.Errorf("undo left the point at %v, want %v", back, before)
	}
	p.keys("3")
	p.until("the edges", `document.querySelector("main.step-edges .edge-number")`)
	p.keys("n")
	p.until("the first edge's form", `document.querySelector(".edge-form")`)
	p.tabTo("the finish", `document.activeElement.matches(".kinds input")`)
	p.keys("ArrowRight", "ArrowRight") // from keep to seam to hem: each takes effect
	p.until("a hem", `document.querySelector(".kinds input:checked")?.parentElement.textContent === "Hem"`)
	p.tabTo("the hem's depth", `document.activeElement.labels?.[0]?.textContent === "Hem depth"`)
	p.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	p.keys("3", "0", " ", "m", "m", "Enter")
	p.drawn()
	if e := p.stored(url, piece).Edges[0]; e.Finish.Kind != "hem" || e.Finish.Depth != 30 {
		p.t.Errorf("%s has the finish %+v", e.Name, e.Finish)
	}
	p.do(chromedp.KeyEvent("k", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	p.until("the list of commands", `document.activeElement.matches(".palette input")`)
	p.keys(strings.Split("print", "")...)
	p.keys("Enter")
	p.until("the print step", `document.querySelector("main.step-print")`)
	p.tabTo("the download", `document.activeElement.textContent.trim() === "Get the PDF"`)
	p.keys("Enter")
	p.download(".pdf")
}

// tabTo presses Tab until the element with the focus is the wanted one.
func (p *tab) tabTo(what, js string) {
	p.t.Helper()
	for range 120 {
		p.keys("Tab")
		if eval[bool](p, "!!("+js+")") {
			return
		}
	}
	p.fail(fmt.Errorf("Tab never reached %s", what))
}

// names of keys that are no characters.
var namedKeys = map[string]string{"Tab": "\t", "Enter": "\r", "ArrowRight": "\u0303", "ArrowLeft": "\u0302", "ArrowUp": "\u0304", "ArrowDown": "\u0301", "Backspace": "\b", "End": "\u0305"}

func (p *tab) keys(names ...string) {
	p.t.Helper()
	for _, k := range names {
		if s, ok := namedKeys[k]; ok {
			k = s
		}
		p.do(chromedp.KeyEvent(k))
	}
}
