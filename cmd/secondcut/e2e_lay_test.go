package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"secondcut/geometry/lay"
)

// TestLays lays the demo garment on its cloth, moves a piece, lays the rest anew and
// prints, by mouse, by touch and by keyboard alone.
func TestLays(t *testing.T) {
	t.Parallel()
	url, browser := startService(t), startBrowser(t)
	garment := importSmock(t, url)
	t.Run("mouse", func(t *testing.T) { layByMouse(newTab(t, browser, 1280, 900, false), url, garment) })
	t.Run("touch", func(t *testing.T) { layByTouch(newTab(t, browser, 390, 844, true), url, garment) })
	t.Run("keyboard", func(t *testing.T) { layByKeyboard(newTab(t, browser, 1280, 900, false), url, garment) })
	t.Run("swatch and drawing", func(t *testing.T) { layDraws(newTab(t, browser, 1280, 900, false), url, importSmock(t, url)) })
	t.Run("drawing by touch", func(t *testing.T) { layDrawsByTouch(newTab(t, browser, 390, 844, true), url, importSmock(t, url)) })
	t.Run("drawing by keyboard", func(t *testing.T) { layDrawsByKeys(newTab(t, browser, 1280, 900, false), url, importSmock(t, url)) })
	t.Run("accessible", func(t *testing.T) { layAccessible(newTab(t, browser, 820, 1180, false), url, garment) })
}

// importSmock takes the demo garment's file in and returns the garment's id.
func importSmock(t testing.TB, url string) string {
	t.Helper()
	data, err := os.ReadFile("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	res, err := http.Post(url+"/api/v1/garments/file", "application/json", bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	var made struct{ ID string }
	if err := json.NewDecoder(res.Body).Decode(&made); err != nil || made.ID == "" {
		t.Fatalf("import: %d %v", res.StatusCode, err)
	}
	return made.ID
}

// keptLay is a layout as the service keeps it, with what is wrong with it.
type keptLay struct {
	Plan     lay.Plan
	Troubles []lay.Trouble
}

// kept waits until the layout that is kept is as wanted, and returns it. Nothing may be
// wrong with it.
func (p *tab) kept(url, garment, what string, want func(lay.Plan) bool) lay.Plan {
	p.t.Helper()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		var got keptLay
		ask(p.t, url+"/api/v1/garments/"+garment+"/lay?cloth=linen", &got)
		if want(got.Plan) {
			if len(got.Troubles) > 0 {
				p.t.Errorf("%s: %v", what, got.Troubles)
			}
			return got.Plan
		}
		if time.Now().After(end) {
			p.fail(fmt.Errorf("waited in vain: %s", what))
		}
	}
}

// linenPieces is how often the demo garment's linen is cut into.
const linenPieces = 7

// openLay goes to the laying page and waits until the pieces lie and nothing runs.
func (p *tab) openLay(url, garment string) {
	p.t.Helper()
	p.do(chromedp.Navigate(url + "/#/garment/" + garment + "/lay"))
	p.until("all pieces on the cloth", fmt.Sprintf(`document.querySelectorAll(".on-cloth").length === %d`, linenPieces))
	p.until("how much to buy", `/^Buy \d+\.\d0\sm of 140\scm cloth$/.test(document.querySelector(".buy")?.textContent ?? "")`)
	if eval[bool](p, `[...document.querySelectorAll("button")].some((b) => b.textContent.startsWith("Stop"))`) {
		p.press("Stop, take this one")
	}
	p.until("an end to the search", `[...document.querySelectorAll(".result button")].some((b) => b.textContent.startsWith("Lay again") || b.textContent.startsWith("Lay the rest"))`)
}

// pieceOnCloth returns a place on the screen inside the i-th piece.
func (p *tab) pieceOnCloth(i int) [2]float64 {
	p.t.Helper()
	return [2]float64(eval[[]float64](p, fmt.Sprintf(`(() => {
		const g = document.querySelectorAll(".on-cloth")[%d], path = g.querySelector(".piece-shape");
		g.scrollIntoView({ block: "center" });
		const b = path.getBoundingClientRect();
		for (const f of [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]) for (const h of [0.5, 0.4, 0.6, 0.3, 0.7]) {
			const x = b.x + f * b.width, y = b.y + h * b.height;
			if (document.elementFromPoint(x, y)?.closest(".on-cloth") === g) return [x, y];
		}
		return [b.x, b.y];
	})()`, i)))
}

// freeAhead puts a piece behind all others, where nothing is in its way whatever the
// search found, and returns its number and the layout.
func (p *tab) freeAhead(url, garment string, plan lay.Plan) (int, lay.Plan) {
	p.t.Helper()
	pieces := slices.Clone(plan.Pieces)
	pieces[0].X += plan.LaidLengthMM
	pieces[0].Fixed = false
	body, err := json.Marshal(map[string]any{"lays": []any{map[string]any{"cloth": "linen", "pieces": pieces}}})
	if err != nil {
		p.t.Fatal(err)
	}
	var now struct{ Version int }
	ask(p.t, url+"/api/v1/garments/"+garment, &now)
	req, err := http.NewRequest("PATCH", url+"/api/v1/garments/"+garment, bytes.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("If-Match", fmt.Sprintf(`"v%d"`, now.Version))
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		p.t.Fatal(err)
	}
	res.Body.Close()
	if res.StatusCode != http.StatusOK {
		p.t.Fatalf("the layout was not taken: %s", res.Status)
	}
	p.do(chromedp.Reload())
	p.openLay(url, garment)
	return 0, p.kept(url, garment, "the piece behind the others", func(l lay.Plan) bool { return l.Pieces[0].X == pieces[0].X })
}

func layByMouse(p *tab, url, garment string) {
	p.openLay(url, garment)
	i, before := p.freeAhead(url, garment, p.kept(url, garment, "the layout", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces }))
	from := p.pieceOnCloth(i)
	p.drag(from, [2]float64{from[0] + 60, from[1]})
	moved := p.kept(url, garment, "the piece where it was dragged", func(l lay.Plan) bool { return l.Pieces[i].X > before.Pieces[i].X+20 })
	if m, b := moved.Pieces[i], before.Pieces[i]; m.RotationDeg != b.RotationDeg || m.Mirrored != b.Mirrored || moved.LaidLengthMM < before.LaidLengthMM+20 {
		p.t.Errorf("dragged from %+v to %+v, length %.0f to %.0f", b, m, before.LaidLengthMM, moved.LaidLengthMM)
	}
	p.until("the new length to buy", fmt.Sprintf(`document.querySelector(".result").innerText.includes("%g\u00a0cm")`, math.Round(moved.LaidLengthMM)/10))

	// Off the cloth, over all that lies on the way: it stops, says why, and lies in
	// nothing.
	other := (i + 1) % linenPieces
	at := p.pieceOnCloth(other)
	target := [2]float64{at[0], eval[float64](p, `Math.max(1, document.querySelector(".cloth-view").getBoundingClientRect().top + 1)`)}
	p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1]), chromedp.MouseEvent(chromedp.MousePressed, at[0], at[1], chromedp.ButtonLeft))
	for k := 1; k <= 6; k++ {
		f := float64(k) / 6
		p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0]+f*(target[0]-at[0]), at[1]+f*(target[1]-at[1]), chromedp.ButtonLeft))
	}
	p.until("word of what is in the way", `document.querySelector(".met")?.textContent.includes("is in the way")`)
	p.do(chromedp.MouseEvent(chromedp.MouseReleased, target[0], target[1], chromedp.ButtonLeft))
	p.kept(url, garment, "a layout without overlaps", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces })

	at = p.pieceOnCloth(i)
	p.do(chromedp.MouseClickXY(at[0], at[1]))
	p.until("the chosen piece", fmt.Sprintf(`document.querySelectorAll(".on-cloth")[%d].matches(".chosen")`, i))
	p.press("Pin")
	pinned := p.kept(url, garment, "the pin", func(l lay.Plan) bool { return l.Pieces[i].Fixed })
	p.press("Lay the rest again")
	again := p.kept(url, garment, "the rest laid anew", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces && l.Pieces[0].Fixed })
	if was, is := pinned.Pieces[i], again.Pieces[0]; math.Abs(is.X-was.X) > 1e-6 || math.Abs(is.Y-was.Y) > 1e-6 || is.RotationDeg != was.RotationDeg {
		p.t.Errorf("the pinned piece went from %+v to %+v", was, is)
	}
	p.press("Undo")
	p.kept(url, garment, "the layout before", func(l lay.Plan) bool { return l.Pieces[i].Fixed && math.Abs(l.Pieces[i].X-pinned.Pieces[i].X) < 1e-6 })

	p.press("Compare widths")
	p.until("other widths", `document.querySelector(".widths tbody th")`)
	p.press("Layout, to scale (PDF)")
	p.download(".pdf")
}

// drag draws from one place to another by mouse, in steps.
func (p *tab) drag(from, to [2]float64) {
	p.t.Helper()
	p.do(chromedp.MouseEvent(chromedp.MouseMoved, from[0], from[1]), chromedp.MouseEvent(chromedp.MousePressed, from[0], from[1], chromedp.ButtonLeft))
	for k := 1; k <= 5; k++ {
		f := float64(k) / 5
		p.do(chromedp.MouseEvent(chromedp.MouseMoved, from[0]+f*(to[0]-from[0]), from[1]+f*(to[1]-from[1]), chromedp.ButtonLeft))
	}
	p.do(chromedp.MouseEvent(chromedp.MouseReleased, to[0], to[1], chromedp.ButtonLeft))
}

func layByTouch(p *tab, url, garment string) {
	p.openLay(url, garment)
	i, before := p.freeAhead(url, garment, p.kept(url, garment, "the layout", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces }))
	from := p.pieceOnCloth(i)
	along := [2]float64{6, 0}
	if eval[bool](p, `document.querySelector(".cloth-view").dataset.down === "true"`) {
		along = [2]float64{0, 6} // the length runs down the screen
	}
	p.touch(input.DispatchTouchEventTypeTouchStart, from)
	for k := 1; k <= 5; k++ {
		p.touch(input.DispatchTouchEventTypeTouchMove, [2]float64{from[0] + along[0]*float64(k), from[1] + along[1]*float64(k)})
	}
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	p.kept(url, garment, "the piece where a finger drew it", func(l lay.Plan) bool { return l.Pieces[i].X > before.Pieces[i].X+20 })
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		p.t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
	p.do(chromedp.Navigate(url + "/#/garment/" + garment + "/sheet"))
	p.press("The whole set")
	p.download(".pdf")
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		p.t.Errorf("the making sheet is %.0f px wide on a phone of 390", wide)
	}
}

// layByKeyboard touches no pointer: Tab, arrows, and the keys of the cloth.
func layByKeyboard(p *tab, url, garment string) {
	p.openLay(url, garment)
	i, before := p.freeAhead(url, garment, p.kept(url, garment, "the layout", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces }))
	p.tabTo("the last piece", fmt.Sprintf(`document.activeElement === document.querySelectorAll(".on-cloth")[%d]`, i))
	p.keys("ArrowRight", "ArrowRight", "ArrowRight")
	p.kept(url, garment, "the piece 3 mm further", func(l lay.Plan) bool { return math.Abs(l.Pieces[i].X-before.Pieces[i].X-3) < 1e-6 })
	p.keys("r")
	p.kept(url, garment, "the piece turned round", func(l lay.Plan) bool {
		return math.Abs(math.Abs(math.Remainder(l.Pieces[i].RotationDeg-before.Pieces[i].RotationDeg, 360))-180) < 1e-6
	})
	p.keys("p")
	p.kept(url, garment, "the pin", func(l lay.Plan) bool { return l.Pieces[i].Fixed != before.Pieces[i].Fixed })
	for range 5 {
		p.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	}
	p.kept(url, garment, "all of it undone", func(l lay.Plan) bool { return l.Pieces[i] == before.Pieces[i] })
	p.tabTo("the drawing", `document.activeElement.textContent.startsWith("Layout, to scale (PDF)")`)
	p.keys("Enter")
	p.download(".pdf")
}

// layAccessible lets axe-core look at the pages of laying, making and the library.
func layAccessible(p *tab, url, garment string) {
	code, err := os.ReadFile(axe)
	if err != nil {
		if os.Getenv("CI") == "" {
			p.t.Skip("no axe-core here; 'npm ci' in web installs it")
		}
		p.t.Fatal(err)
	}
	look := func(what string) {
		for _, theme := range []string{"light", "dark"} {
			eval[bool](p, fmt.Sprintf(`(document.documentElement.dataset.theme = %q, true)`, theme))
			p.until("colours that stand still", `document.getAnimations().every((a) => a.playState === "finished" || !(a instanceof CSSTransition))`)
			for _, s := range p.axe(string(code)) {
				p.t.Errorf("%s, %s: %s", what, theme, s)
			}
		}
		if over := eval[float64](p, "document.documentElement.scrollWidth - innerWidth"); over > 0 {
			p.t.Errorf("%s is %.0f px wider than the screen", what, over)
		}
	}
	p.openLay(url, garment)
	p.press("Stripes, shrinkage")
	look("laying")
	p.do(chromedp.Navigate(url + "/#/garment/" + garment + "/sheet"))
	p.until("the making sheet", `document.querySelector(".making-steps")`)
	look("making sheet")
	p.do(chromedp.Navigate(url + "/#/"))
	p.until("the picture of the garment", `document.querySelector(".garment-card img")?.complete`)
	look("library")
}
