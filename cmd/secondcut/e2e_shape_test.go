package main

import (
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// TestShapes makes stretches of an outline like others, drags with and without
// snapping, measures an angle, and makes a seam agree: each taken back to the same.
func TestShapes(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	garment := p.takeSmock(url)
	eval[bool](p, `([...document.querySelectorAll("a.piece-link")].find((a) => a.textContent.includes("Front")).click(), true)`)
	p.until("the outline", `document.querySelector(".overlay path.outline")`)
	piece := eval[string](p, `location.hash.split("/")[2]`)
	t.Run("stretch", func(t *testing.T) { p.t = t; p.shapes(url, piece) })
	t.Run("snap", func(t *testing.T) { p.t = t; p.snaps() })
	t.Run("angle", func(t *testing.T) { p.t = t; p.angle() })
	t.Run("corner", func(t *testing.T) { p.t = t; p.cornerLarge() })
	t.Run("share", func(t *testing.T) { p.t = t; p.shares(url, garment) })
	t.Run("cloth", func(t *testing.T) { p.t = t; p.cloth(url, garment) })
	p.t = t
}

// TestRawEdge shows what was taken off the edge of a traced piece and how sure it is, and
// shapes a stretch, by touch on a phone; the scale bar follows the unit of lengths.
func TestRawEdge(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.upload(url, "Raw smock")
	p.step("outline")
	p.press("Details")
	p.press("Show the raw edge")
	p.until("the raw edge and what was taken off", `document.querySelector(".overlay .raw")?.getTotalLength() > 100 && document.querySelector(".overlay .removed")`)
	p.press("Show the band of doubt")
	p.until("a band as wide as the doubt", `document.querySelectorAll(".overlay .band").length > 2 && [...document.querySelectorAll(".overlay .band")].every((b) => +b.getAttribute("stroke-width") > 0.05 && +b.getAttribute("stroke-width") < 10)`)
	p.press("Back to the photo")
	before := p.outlineText()
	p.press("Straighten")
	p.still()
	for _, n := range []int{0, 1} {
		p.tap(p.knotAt(n))
	}
	p.press("Make symmetric")
	p.until("choices for it", `document.querySelectorAll(".offer.shape select").length === 2`)
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
	p.press("Cancel")
	if now := p.outlineText(); now != before {
		t.Error("looking at what would change has changed the outline")
	}
	p.until("a bar in centimetres", `document.querySelector(".scale-bar").textContent.includes("cm")`)
	eval[bool](p, `(document.querySelector(".canvas").focus(), true)`)
	p.keys("u")
	p.until("a bar in inches", `document.querySelector(".scale-bar").textContent.includes('"')`)
}

// still waits until the outline stands where it stood a frame before.
func (p *tab) still() {
	p.t.Helper()
	eval[bool](p, `(window.stood = false, (() => {
		let before = "";
		const look = () => {
			const path = document.querySelector(".overlay path.outline"), m = path?.getScreenCTM(), now = m ? [m.a, m.e, m.f, path.getAttribute("d")].join() : "";
			if (now && now === before) return void (window.stood = true);
			before = now;
			requestAnimationFrame(() => requestAnimationFrame(look));
		};
		look();
	})(), true)`)
	p.until("the outline to stand still", "window.stood")
}

// outlineText returns what is drawn of the outline.
func (p *tab) outlineText() string {
	p.t.Helper()
	p.still()
	return eval[string](p, `document.querySelector(".overlay path.outline").getAttribute("d")`)
}

func (p *tab) shapes(url, piece string) {
	p.step("outline")
	p.until("the points", `document.querySelector(".knot.square")`)
	before := p.outlineText()
	stored := outlineOf(p.t, url, piece)
	p.press("Straighten")
	for _, n := range []int{0, 2} {
		at := p.knotAt(n)
		p.do(chromedp.MouseClickXY(at[0], at[1]))
	}
	for _, how := range []struct{ button, undo string }{{"Make symmetric", "Undo: Make symmetric"}, {"Borrow from the twin", "Undo: Borrow an edge"}} {
		p.press(how.button)
		p.until("how it would look", `document.querySelector(".overlay .would")`)
		p.until("what would change", `document.querySelector(".offer.shape [role=status]").textContent.includes("Moves by up to")`)
		if now := p.outlineText(); now != before {
			p.t.Errorf("%s changed the outline before it was asked to", how.button)
		}
		p.press("Do it")
		p.until("another outline", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") !== %q`, before))
		p.sent(url, piece, stored)
		changed := outlineOf(p.t, url, piece)
		p.press(how.undo)
		p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
		p.sent(url, piece, changed)
		if d := gap(outlineOf(p.t, url, piece), stored); d > 0 {
			p.t.Errorf("undo after %s left the stored outline %.4f mm off", how.button, d)
		}
	}
	p.press("As smooth as")
	p.until("what it is compared with", `document.querySelector(".offer.shape select")`)
	p.press("Cancel")
	p.press("Move points")
}

// snaps drags a corner to within four pixels of the level of another one: it goes there
// and says so; with the switch off it stays where the pointer is.
func (p *tab) snaps() {
	before := p.outlineText()
	from, to := p.knotAt(0), p.knotAt(2) // both are corners
	aim := [2]float64{from[0] + 60, to[1] + 4}
	drag := func() [2]float64 {
		p.mouseDown(from)
		for i := 1; i <= dragSteps; i++ {
			at := between(from, aim, i)
			p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1], chromedp.ButtonLeft))
		}
		on := eval[bool](p, `document.querySelector(".snap").getAttribute("aria-pressed") === "true"`)
		if on {
			p.until("the reason", `document.querySelector(".snap-why")`)
		}
		p.still()
		why := eval[string](p, `document.querySelector(".snap-why")?.textContent ?? ""`)
		p.do(chromedp.MouseEvent(chromedp.MouseReleased, aim[0], aim[1], chromedp.ButtonLeft))
		p.still()
		at := p.knotAt(0)
		if !on && why != "" {
			p.t.Errorf("snapping is off, and the reason is %q", why)
		} else if on && !strings.Contains(why, "level") && !strings.Contains(why, "square") && !strings.Contains(why, "line") {
			p.t.Errorf("the reason is %q", why)
		}
		return at
	}
	if at := drag(); math.Abs(at[1]-to[1]) > 0.5 {
		p.t.Errorf("let go at %v, the point went to %v: not level with %v", aim, at, to)
	}
	p.press("Undo")
	p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
	p.press("Snap")
	if at := drag(); math.Hypot(at[0]-aim[0], at[1]-aim[1]) > 1 {
		p.t.Errorf("without snapping the point went to %v, the pointer to %v", at, aim)
	}
	p.press("Undo")
	p.press("Snap")
	p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
}

func (p *tab) mouseDown(at [2]float64) {
	p.t.Helper()
	p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1]), chromedp.MouseEvent(chromedp.MousePressed, at[0], at[1], chromedp.ButtonLeft))
}

// angle measures between three points of the outline, by keys alone, against what their
// places on the screen say.
func (p *tab) angle() {
	p.press("Measure")
	p.press("Angle")
	a, b, c := p.knotAt(0), p.knotAt(1), p.knotAt(2)
	eval[bool](p, `(document.querySelector(".canvas").focus(), true)`)
	p.keys("\u001b", "\u001b") // Esc: the tool away, then the selection
	p.press("Measure")
	eval[bool](p, `(document.querySelector(".canvas").focus(), true)`)
	for range 3 {
		p.keys("n", "Enter")
	}
	p.until("the angle", `document.querySelector(".offer strong")?.textContent.includes("°")`)
	got := eval[float64](p, `parseFloat(document.querySelector(".offer strong").textContent)`)
	u, v := math.Atan2(a[1]-b[1], a[0]-b[0]), math.Atan2(c[1]-b[1], c[0]-b[0])
	want := math.Abs(math.Remainder(u-v, 2*math.Pi)) * 180 / math.Pi
	if math.Abs(got-want) > 0.3 {
		p.t.Errorf("the angle is said to be %.1f°, on the screen it is %.2f°", got, want)
	}
	p.press("Angle")
	p.press("Move points")
}

// cornerLarge opens the corner of an edge with its cut line.
func (p *tab) cornerLarge() {
	p.step("edges")
	p.drawn()
	eval[bool](p, `(document.querySelector(".edge-head").click(), true)`)
	p.press("Enlarge the corner")
	p.until("the corner with its cut line", `document.querySelector("dialog[open] .near-view .draft path.cut") && document.querySelector("dialog[open] .near-view").clientWidth > 400`)
	p.press("Close")
	p.until("the corner closed", `!document.querySelector("dialog[open]")`)
}

// shares makes a seam agree by changing both outlines, and takes that back.
func (p *tab) shares(url, garment string) {
	off := func() float64 {
		var r struct {
			Seams []struct {
				Name string
				Off  float64 `json:"off_mm"`
			}
		}
		ask(p.t, url+"/api/v1/garments/"+garment+"/check", &r)
		for _, s := range r.Seams {
			if s.Name == "side left" {
				return s.Off
			}
		}
		p.t.Fatal("the garment has no seam of that name")
		return 0
	}
	knots := func() string {
		var g struct{ Pieces []struct{ ID string } }
		ask(p.t, url+"/api/v1/garments/"+garment, &g)
		all := ""
		for _, q := range g.Pieces {
			var doc struct{ Knots json.RawMessage }
			ask(p.t, url+"/api/v1/pieces/"+q.ID, &doc)
			all += string(doc.Knots)
		}
		return all
	}
	before, was := off(), knots()
	if math.Abs(before) < 0.5 {
		p.t.Fatalf("the seam is off by %.2f mm only: nothing to share", before)
	}
	p.step("check")
	p.press("1side left")
	p.until("the walk along both edges", `document.querySelectorAll(".board .walk-tick").length === 2 && document.querySelector(".strips .strip-tick")`)
	p.press("Share")
	p.until("a seam that agrees", `!document.querySelector(".edge-list.stale") && ![...document.querySelectorAll(".offers button")].some((b) => b.textContent.startsWith("Share"))`)
	if now := off(); math.Abs(now) > 0.1 {
		p.t.Errorf("shared, the seam is still off by %.3f mm", now)
	}
	p.press("Undo: Make a seam agree")
	p.until("the difference again", `!document.querySelector(".edge-list.stale") && [...document.querySelectorAll(".offers button")].some((b) => b.textContent.startsWith("Share"))`)
	if now := knots(); now != was {
		p.t.Error("undo left other outlines than there were")
	}
}

// cloth adds a cloth to the garment and gives it a width.
func (p *tab) cloth(url, garment string) {
	count := func() (n int, widest float64) {
		var g struct {
			Cloths []struct {
				Width float64 `json:"width_mm"`
			}
		}
		ask(p.t, url+"/api/v1/garments/"+garment, &g)
		for _, c := range g.Cloths {
			widest = math.Max(widest, c.Width)
		}
		return len(g.Cloths), widest
	}
	before, _ := count()
	p.press("Add a cloth")
	p.fill("Usable width", "155 cm")
	p.until("the width in the list", `[...document.querySelectorAll(".edge-list .quiet")].some((e) => e.textContent.includes("155\u00a0cm wide")) && !document.querySelector(".edge-list.stale")`)
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if n, w := count(); n == before+1 && w == 1550 {
			return
		}
	}
	n, w := count()
	p.t.Errorf("%d cloths of up to %.0f mm after one more was added to %d", n, w, before)
}
