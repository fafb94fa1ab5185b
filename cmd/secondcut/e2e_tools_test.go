package main

import (
	"encoding/json"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"secondcut/geometry"
)

// TestTools zooms by the wheel, measures a curve, reshapes a stretch, moves by inches and
// puts marks into the cloth: at a desk by mouse, and on a phone by touch.
func TestTools(t *testing.T) {
	t.Parallel()
	url, browser := startService(t), startBrowser(t)
	desk := newTab(t, browser, 1280, 900, false)
	piece := desk.upload(url, "Tools smock")
	desk.step("outline")
	desk.until("the points", `document.querySelector(".knot.square")`)
	desk.still()
	for _, part := range []struct {
		name string
		run  func(p *tab, url, piece string)
	}{{"wheel", wheel}, {"curve", curveDepth}, {"stretch", stretches}, {"inches", inches}, {"marks", marksByMouse}, {"sheets", sheetsShown}} {
		t.Run(part.name, func(t *testing.T) { desk.t = t; part.run(desk, url, piece) })
	}
	desk.t = t
	t.Run("touch", func(t *testing.T) { toolsByTouch(newTab(t, browser, 390, 844, true), url, piece) })
}

// wheel turns the wheel over a point of the outline: the picture grows and that point
// stays under the pointer; turned back, all is as it was.
func wheel(p *tab, _, _ string) {
	scale := `document.querySelector(".overlay path.outline").getScreenCTM().a`
	at, before := p.knotAt(1), eval[float64](p, scale)
	turn := func(by float64) {
		p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1]))
		if _, err := chromedp.Call(p.ctx, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: input.DispatchMouseEventTypeMouseWheel, X: at[0], Y: at[1], DeltaX: 1e-3, DeltaY: by}); err != nil {
			p.fail(err)
		}
		p.still()
	}
	turn(-240)
	p.until("a larger picture", fmt.Sprintf("%s > %g", scale, 1.2*before))
	if now := p.knotAt(1); dist(now, at) > 1 {
		p.t.Errorf("the wheel took the point under the pointer from %v to %v", at, now)
	}
	turn(240)
	p.until("the picture as it was", fmt.Sprintf("Math.abs(%s / %g - 1) < 0.001", scale, before))
}

// curveDepth lays the tape from one point of the outline to the next but one: what it
// says of length and depth is what the browser's own path measures.
func curveDepth(p *tab, _, _ string) {
	p.press("Measure")
	p.still()
	p.mouseDrag(p.knotAt(0), p.knotAt(2))
	p.until("a length along the edge and a depth", `document.querySelectorAll(".offer .what").length === 2`)
	got := eval[[]float64](p, `[...document.querySelectorAll(".offer .what")].flatMap((e) => [...e.textContent.matchAll(/([\d.]+)\u00a0(cm|mm)/g)].map((m) => (m[2] === "cm" ? 10 : 1) * m[1]))`)
	// Between the points by the browser: the straight way, the shorter way along, and the farthest from the chord.
	want := eval[[]float64](p, `(() => {
		const path = document.querySelector(".overlay path.outline"), all = path.getTotalLength(), N = 20000;
		const ends = [...path.getAttribute("d").matchAll(/(-?[\d.]+) (-?[\d.]+)(?=[MLCZ]|$)/g)].map((m) => [+m[1], +m[2]]), [a, b] = [ends[0], ends[2]];
		let at = 0, least = Infinity;
		const pts = Array.from({ length: N }, (_, i) => { const q = path.getPointAtLength((all * i) / N); return [q.x, q.y]; });
		pts.forEach((q, i) => { const d = Math.hypot(q[0] - b[0], q[1] - b[1]); if (d < least) [at, least] = [i, d]; });
		const chord = Math.hypot(b[0] - a[0], b[1] - a[1]), there = (all * at) / N, way = there <= all - there ? pts.slice(0, at) : pts.slice(at);
		return [chord, Math.min(there, all - there), Math.max(...way.map((q) => Math.abs((q[0] - a[0]) * (b[1] - a[1]) - (q[1] - a[1]) * (b[0] - a[0])) / chord))];
	})()`)
	if len(got) != 3 {
		p.t.Fatalf("the tape names %d lengths: %v", len(got), got)
	}
	for i, what := range []string{"straight", "along the edge", "depth"} {
		if math.Abs(got[i]-want[i]) > 0.15 {
			p.t.Errorf("%s: the tape says %.2f mm, the path %.2f", what, got[i], want[i])
		}
	}
	p.press("Move points")
}

// stretches makes a stretch straight, smooth within a width, and as the photo shows it
// again; each is one step, and undo brings the same outline back.
func stretches(p *tab, url, piece string) {
	before, stored := p.outlineText(), outlineOf(p.t, url, piece)
	choose := func() {
		p.press("Straighten")
		for _, n := range []int{0, 2} {
			p.still()
			at := p.knotAt(n)
			p.do(chromedp.MouseClickXY(at[0], at[1]))
		}
		p.until("what can be done with the stretch", `document.querySelector(".offer.at-points.many")`)
	}
	back := func(label string, from geometry.Polyline) {
		p.press("Undo: " + label)
		p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
		p.sent(url, piece, from)
		if d := gap(outlineOf(p.t, url, piece), stored); d > 0 {
			p.t.Errorf("undo of %q left the stored outline %.4f mm off", label, d)
		}
	}
	choose()
	p.press("Make smooth")
	p.until("another outline", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") !== %q`, before))
	p.sent(url, piece, stored)
	within := eval[float64](p, `+document.querySelector(".offer .within input").value`)
	smooth := outlineOf(p.t, url, piece)
	if off := farthest(smooth, stored); off > within+0.05 || off == 0 {
		p.t.Errorf("made smooth within %.1f mm, the outline moved by %.2f mm", within, off)
	}
	back("Smooth a stretch", smooth)

	choose()
	p.press("Make straight")
	p.sent(url, piece, stored)
	straight := outlineOf(p.t, url, piece)
	was := p.outlineText()
	choose()
	p.press("Follow the photo")
	p.until("another outline", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") !== %q`, was))
	p.sent(url, piece, straight)
	again := outlineOf(p.t, url, piece)
	if off := farthest(again, stored); off > 0.5 {
		p.t.Errorf("following the photo again, the outline is still %.2f mm off what was traced", off)
	}
	p.press("Undo: Follow the photo again")
	p.until("the straight stretch", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, was))
	p.sent(url, piece, again)
	back("Straighten a stretch", outlineOf(p.t, url, piece))
}

// farthest returns how far a point of the first outline lies from the second, at most.
func farthest(a, b geometry.Polyline) float64 {
	var worst float64
	for _, q := range a {
		worst = math.Max(worst, b.Dist(q))
	}
	return worst
}

// inches moves a point by what is typed in inches, as on a ruler: 5/8" are 15.875 mm.
func inches(p *tab, _, _ string) {
	p.press("Move points")
	p.still()
	at := p.knotAt(0)
	p.do(chromedp.MouseClickXY(at[0], at[1]))
	p.still()
	at = p.knotAt(0)
	scale := eval[float64](p, `document.querySelector(".overlay path.outline").getScreenCTM().a`)
	p.fill("Move to the right by", `5/8"`)
	p.still()
	now := p.knotAt(0)
	if by := (now[0] - at[0]) / scale; math.Abs(by-15.875) > 0.05 || math.Abs(now[1]-at[1]) > 0.5 {
		p.t.Errorf(`5/8" to the right moved the point by %.2f mm to the right`, by)
	}
	p.press("Undo")
}

// marked is a mark as it is stored.
type marked struct {
	Kind   string
	Text   string
	Points [][2]float64 `json:"points_mm"`
}

func (p *tab) marks(url, piece string) []marked {
	p.t.Helper()
	p.saved()
	var got struct{ Marks []marked }
	ask(p.t, url+"/api/v1/pieces/"+piece, &got)
	return got.Marks
}

// inCloth returns a place on the screen in the middle of the piece, moved by px.
func (p *tab) inCloth(dx, dy float64) [2]float64 {
	p.t.Helper()
	p.still()
	at := eval[[]float64](p, `(() => { const r = document.querySelector(".overlay path.outline").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	return [2]float64{at[0] + dx, at[1] + dy}
}

// marksByMouse puts a drill hole and a text into the cloth: they lie as far apart in the
// piece as they were put on the screen. Undo takes both back.
func marksByMouse(p *tab, url, piece string) {
	p.step("marks")
	p.drawn()
	before := len(p.marks(url, piece))
	p.press("Drill hole")
	hole := p.inCloth(-30, 0)
	p.do(chromedp.MouseClickXY(hole[0], hole[1]))
	p.until("the hole among the marks", `[...document.querySelectorAll(".edge-list strong")].some((e) => e.textContent === "Drill hole")`)
	p.press("Text")
	note := p.inCloth(30, 20)
	p.do(chromedp.MouseClickXY(note[0], note[1]))
	p.until("the text's field", `[...document.querySelectorAll("label")].some((e) => e.textContent.trim().startsWith("What it says"))`)
	p.fill("What it says", "pocket here")
	p.until("the words on the cloth", `document.querySelector(".canvas").textContent.includes("pocket here")`)
	scale := eval[float64](p, `document.querySelector(".overlay path.outline").getScreenCTM().a`)
	places := map[string][2]float64{}
	for _, m := range p.marks(url, piece)[before:] {
		if len(m.Points) == 1 {
			places[m.Kind+m.Text] = m.Points[0]
		}
	}
	a, okA := places["drill-hole"]
	b, okB := places["textpocket here"]
	if !okA || !okB {
		p.t.Fatalf("the marks are stored as %v", places)
	}
	if want := dist(hole, note) / scale; math.Abs(dist(a, b)-want) > 0.6 {
		p.t.Errorf("hole and text lie %.2f mm apart, on the screen it was %.2f mm", dist(a, b), want)
	}
	for range 3 { // its words, the text, the hole
		p.press("Undo")
	}
	p.until("no mark of these", `![...document.querySelectorAll(".edge-list strong")].some((e) => ["Drill hole", "Text"].includes(e.textContent))`)
	if n := len(p.marks(url, piece)); n != before {
		p.t.Errorf("undo left %d marks, before there were %d", n, before)
	}
}

// sheetsShown looks at the map of the sheets before printing: another paper has another
// map, one large page none.
func sheetsShown(p *tab, _, _ string) {
	p.step("print")
	p.choose("Paper", "a4")
	shown := `document.querySelector("img.sheet-map")?.complete && document.querySelector("img.sheet-map").naturalWidth > 100 && document.querySelector("img.sheet-map").src.includes("paper=%s")`
	p.until("a map of A4 sheets", fmt.Sprintf(shown, "a4"))
	p.choose("Paper", "a3")
	p.until("a map of A3 sheets", fmt.Sprintf(shown, "a3"))
	p.choose("Paper", "one")
	p.until("no map of one page", `!document.querySelector("img.sheet-map")`)
	p.choose("Paper", "a4")
	p.step("outline")
}

// toolsByTouch slides smoothness by a finger, sees the place under the finger enlarged
// beside it, and puts a drill hole by a tap.
func toolsByTouch(p *tab, url, piece string) {
	p.do(chromedp.Navigate(url + "/#/piece/" + piece + "/outline"))
	p.editorReady()
	p.until("the points", `document.querySelector(".knot.square")`)
	stored := outlineOf(p.t, url, piece)
	at := p.knot()
	p.touch(input.DispatchTouchEventTypeTouchStart, at)
	p.touch(input.DispatchTouchEventTypeTouchMove, [2]float64{at[0] + 12, at[1] + 12})
	p.until("the place under the finger, enlarged", `document.querySelector(".loupe path.outline")`)
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	p.until("the enlargement gone", `!document.querySelector(".loupe")`)
	p.sent(url, piece, stored)
	moved := outlineOf(p.t, url, piece)
	p.press("Undo")
	p.sent(url, piece, moved)
	p.press("Details")
	p.until("the slider", `document.querySelector("[aria-describedby=smooth-how]")?.offsetParent`)
	eval[bool](p, `(document.querySelector("[aria-describedby=smooth-how]").scrollIntoView({ block: "center" }), true)`)
	p.stands("[aria-describedby=smooth-how]")
	thumb := eval[[]float64](p, `(() => { const r = document.querySelector("[aria-describedby=smooth-how]").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2, r.width / 2 - 4]; })()`)
	p.touchDrag([2]float64{thumb[0], thumb[1]}, [2]float64{thumb[0] + thumb[2], thumb[1]})
	p.until("the slider at its end", `document.querySelector("[aria-describedby=smooth-how]").parentElement.querySelector("output").textContent.startsWith("smoother")`)
	p.sent(url, piece, stored)
	smooth := outlineOf(p.t, url, piece)
	p.press("Back to the photo")
	p.press("Undo")
	p.sent(url, piece, smooth)
	if d := gap(outlineOf(p.t, url, piece), stored); d > 0 {
		p.t.Errorf("undo left the stored outline %.4f mm off", d)
	}
	p.step("marks")
	p.drawn()
	before := len(p.marks(url, piece))
	p.press("Drill hole")
	p.tap(p.inCloth(0, 10))
	p.until("the hole among the marks", `[...document.querySelectorAll(".edge-list strong")].some((e) => e.textContent === "Drill hole")`)
	if n := len(p.marks(url, piece)); n != before+1 {
		p.t.Errorf("%d marks after one more was put to %d", n, before)
	}
}

// TestBrush paints a corner off a traced pocket: the photo is traced again with the
// stroke, and one undo takes back both the stroke and what came of it.
func TestBrush(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	piece := p.upload(url, "Brushed smock")
	p.step("photo")
	before, stored := p.outlineText(), outlineOf(t, url, piece)
	p.press("Brush: not cloth")
	eval[bool](p, `((e) => { e.value = 30; return e.dispatchEvent(new Event("input", { bubbles: true })); })(document.querySelector(".row.brush input[type=range]"))`)
	p.still()
	box := eval[[]float64](p, `(() => { const r = document.querySelector(".overlay path.outline").getBoundingClientRect(); return [r.x, r.y, r.width, r.height]; })()`)
	at := func(x, y float64) [2]float64 { return [2]float64{box[0] + x*box[2], box[1] + y*box[3]} }
	p.mouseDrag(at(0.8, -0.02), at(1.02, 0.2))
	p.until("word of the new outline", `document.querySelector(".said")?.innerText.includes("traced again")`)
	p.until("another outline", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") !== %q`, before))
	p.sent(url, piece, stored)
	painted := outlineOf(t, url, piece)
	if share := painted.Area() / stored.Area(); share > 0.99 || share < 0.8 {
		t.Errorf("what was painted off leaves %.0f %% of the piece", 100*share)
	}
	p.press("Undo: Brush stroke")
	p.until("the outline as it was, without a stroke", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q && !document.querySelector(".paint")`, before))
	p.sent(url, piece, painted)
	if d := gap(outlineOf(t, url, piece), stored); d > 0 {
		t.Errorf("undo left the stored outline %.4f mm off", d)
	}
	p.press("Redo: Brush stroke")
	p.sent(url, piece, stored)
	if d := gap(outlineOf(t, url, piece), painted); d > 0 {
		t.Errorf("redo left the stored outline %.4f mm off", d)
	}
}

// stands waits until an element stands where it stood some frames before.
func (p *tab) stands(selector string) {
	p.t.Helper()
	for end, before := time.Now().Add(30*time.Second), ""; time.Now().Before(end); {
		p.frames()
		now := eval[string](p, fmt.Sprintf(`JSON.stringify(document.querySelector(%q).getBoundingClientRect())`, selector))
		if now == before {
			return
		}
		before = now
	}
	p.fail(fmt.Errorf("%s does not stand still", selector))
}

// TestCurvesOverlaid compares two edges as curves on the board: what the drawing says of
// their depths is what the service measured.
func TestCurvesOverlaid(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	garment := p.takeSmock(url)
	eval[bool](p, `(document.querySelector("a.piece-link").click(), true)`)
	p.until("the outline", `document.querySelector(".overlay path.outline")`)
	p.step("check")
	p.until("all pieces on the board", `document.querySelectorAll(".board-cloth").length === document.querySelectorAll(".board-name").length && document.querySelectorAll(".board-cloth").length > 3`)
	p.press("a comparison of curves")
	curves := func() (rows []curveRow) {
		var r struct{ Curves []curveRow }
		ask(t, url+"/api/v1/garments/"+garment+"/check", &r)
		return r.Curves
	}
	before := len(curves())
	for i, edge := range []string{"Front, armhole right", "Back, armhole right"} {
		p.tapStrip(edge)
		if i == 0 {
			p.until("the first edge to be held", `document.querySelector(".board-edge.held")`)
		}
	}
	p.until("both curves on their chord", `document.querySelector(".edge-list li.on svg[aria-label*='depths']")`)
	rows := curves()
	if len(rows) != before+1 {
		t.Fatalf("%d comparisons after one more was made of %d", len(rows), before)
	}
	row := rows[len(rows)-1]
	if row.A.Depth < 5 || row.B.Depth < 5 {
		t.Errorf("the armholes are said to be %.1f and %.1f mm deep", row.A.Depth, row.B.Depth)
	}
	said := eval[[]float64](p, `[...document.querySelector(".edge-list li.on svg[aria-label*='depths']").getAttribute("aria-label").matchAll(/([\d.]+)\u00a0(cm|mm)/g)].map((m) => (m[2] === "cm" ? 10 : 1) * m[1])`)
	if len(said) != 3 || math.Abs(said[0]-row.A.Depth) > 0.06 || math.Abs(said[1]-row.B.Depth) > 0.06 || math.Abs(said[2]-row.Apart) > 0.06 {
		raw, _ := json.Marshal(row)
		t.Errorf("the drawing says %v, the service %s", said, raw)
	}
}

type curveRow struct {
	A, B struct {
		Depth float64 `json:"depth_mm"`
	}
	Apart float64 `json:"apart_mm"`
}

// tapStrip clicks an edge on the board.
func (p *tab) tapStrip(edge string) {
	p.t.Helper()
	p.frames() // the board fits its box
	at := eval[[]float64](p, fmt.Sprintf(`(() => {
		const strip = [...document.querySelectorAll(".board-edge .strip")].find((e) => e.textContent === %q);
		const q = strip.getPointAtLength(strip.getTotalLength() * 0.3).matrixTransform(strip.getScreenCTM());
		return [q.x, q.y];
	})()`, edge))
	p.do(chromedp.MouseClickXY(at[0], at[1]))
}
