package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/pattern"
)

// linen waits until the garment's linen is as wanted, and returns it.
func (p *tab) linen(url, garment, what string, want func(pattern.Cloth) bool) pattern.Cloth {
	p.t.Helper()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		var got struct{ Cloths []pattern.Cloth }
		ask(p.t, url+"/api/v1/garments/"+garment, &got)
		for _, c := range got.Cloths {
			if c.ID == "linen" && want(c) {
				return c
			}
		}
		if time.Now().After(end) {
			p.fail(fmt.Errorf("waited in vain: %s; cloths %+v", what, got.Cloths))
		}
	}
}

// unfoldMore opens the rest of what is said of the cloth.
func (p *tab) unfoldMore() {
	p.t.Helper()
	if !eval[bool](p, `document.querySelector(".cloth-more").open`) {
		p.press("Stripes, shrinkage")
	}
}

// linenWide is the demo garment's linen between its selvages, washed: 1400 mm less 3 %.
const linenWide = 1358.0

// onScreen returns the places on the screen of points of the linen.
func (p *tab) onScreen(points ...geometry.Point) (out [][2]float64) {
	p.t.Helper()
	for _, q := range points {
		at := eval[[]float64](p, fmt.Sprintf(`(() => {
			const svg = document.querySelector(".cloth-view"), down = svg.dataset.down === "true";
			const q = new DOMPoint(down ? %[2]g : %[1]g, down ? %[1]g : %[3]g - %[2]g).matrixTransform(svg.getScreenCTM());
			return [q.x, q.y];
		})()`, q.X, q.Y, linenWide))
		out = append(out, [2]float64(at))
	}
	return out
}

// near reports whether outlines have the same corners within so many mm.
func near(got, want geometry.Polyline, within float64) bool {
	if len(got) != len(want) {
		return false
	}
	for i := range got {
		if math.Abs(got[i].X-want[i].X) > within || math.Abs(got[i].Y-want[i].Y) > within {
			return false
		}
	}
	return true
}

// layDraws sends a photo of the cloth, sees it on both pages, draws a flaw and a remnant by
// mouse, and lays round them.
func layDraws(p *tab, url, garment string) {
	p.openLay(url, garment)
	photo, err := filepath.Abs("../../testdata/demo/pocket.jpg")
	if err != nil {
		p.t.Fatal(err)
	}
	p.do(chromedp.SetUploadFiles(chromedp.CSS(".swatch-file"), []string{photo}))
	shown := `[...document.querySelectorAll("img.swatch-photo")].some((i) => i.complete && i.naturalWidth === 640)`
	p.until("the photo of the cloth", shown)
	p.linen(url, garment, "the photo with its cloth", func(c pattern.Cloth) bool { return c.Swatch != "" })

	before := p.kept(url, garment, "the layout", func(l lay.Plan) bool { return len(l.Pieces) == linenPieces })
	// A flaw in the middle, whose third corner is pulled out afterwards.
	p.unfoldMore()
	p.press("Draw one on the cloth")
	want := geometry.Polyline{{X: 300, Y: 300}, {X: 400, Y: 300}, {X: 400, Y: 400}, {X: 300, Y: 420}}
	p.until("the cloth to draw on", `document.querySelector(".drawn-ground")`)
	p.steady()
	for i := range want {
		at := p.onScreen(want[i])[0]
		p.do(chromedp.MouseClickXY(at[0], at[1]))
		p.until("a corner more", fmt.Sprintf(`document.querySelectorAll(".drawn-corner").length === %d`, i+1))
	}
	want[2] = geometry.Point{X: 480, Y: 450}
	at := p.onScreen(geometry.Point{X: 400, Y: 400}, want[2])
	p.drag(at[0], at[1])
	p.press("Done")
	const px = 4 // mm, about what a pixel is on this screen
	p.linen(url, garment, "the flaw", func(c pattern.Cloth) bool { return len(c.Flaws) == 1 && near(c.Flaws[0], want, px) })
	p.until("a first layout round it", `/Better|A first layout|Done/.test(document.querySelector(".word").textContent)`)
	p.openLay(url, garment)
	p.kept(url, garment, "a layout round the flaw", func(l lay.Plan) bool { return len(l.Cloth.Flaws) == 1 && !slices.Equal(l.Pieces, before.Pieces) })
	p.until("nothing wrong with it", `!document.querySelector(".note.error")`)

	// An outline that crosses itself is not taken.
	p.unfoldMore()
	p.press("Draw it on the cloth")
	p.until("the cloth to draw on", `document.querySelector(".drawn-ground")`)
	p.steady()
	for i, q := range (geometry.Polyline{{X: 200, Y: 200}, {X: 800, Y: 800}, {X: 800, Y: 200}, {X: 200, Y: 800}}) {
		at := p.onScreen(q)[0]
		p.do(chromedp.MouseClickXY(at[0], at[1]))
		p.until("a corner more", fmt.Sprintf(`document.querySelectorAll(".drawn-corner").length === %d`, i+1))
	}
	p.until("word that it crosses itself", `document.querySelector(".drawn-bar").innerText.includes("crosses itself") && document.querySelector(".drawn-bar .main").disabled`)
	p.press("Cancel")

	p.do(chromedp.Navigate(url + "/#/garment/" + garment + "/sheet"))
	p.until("the photo on the making sheet", shown)
	p.press("The whole set")
	p.download(".pdf")
}

// steady waits until the page does not scroll any more.
func (p *tab) steady() {
	p.t.Helper()
	p.until("a page that stands still", `(() => { const y = Math.round(document.querySelector(".cloth-view").getBoundingClientRect().y), same = window.stoodAt === y; window.stoodAt = y; return same; })()`)
}

// layDrawsByTouch draws a flaw with a finger.
func layDrawsByTouch(p *tab, url, garment string) {
	p.openLay(url, garment)
	p.unfoldMore()
	p.press("Draw one on the cloth")
	p.until("the cloth to draw on", `document.querySelector(".drawn-ground")`)
	p.steady()
	want := geometry.Polyline{{X: 200, Y: 300}, {X: 500, Y: 300}, {X: 500, Y: 600}}
	for i, q := range want {
		at := p.onScreen(q)[0]
		p.touch(input.DispatchTouchEventTypeTouchStart, at)
		p.touch(input.DispatchTouchEventTypeTouchEnd)
		p.until("a corner more", fmt.Sprintf(`document.querySelectorAll(".drawn-corner").length === %d`, i+1))
	}
	// The finger draws the last corner on; the page stays where it is.
	top := eval[float64](p, "scrollY")
	at := p.onScreen(want[2], geometry.Point{X: 500, Y: 800})
	p.touch(input.DispatchTouchEventTypeTouchStart, at[0])
	for k := 1; k <= 5; k++ {
		f := float64(k) / 5
		p.touch(input.DispatchTouchEventTypeTouchMove, [2]float64{at[0][0] + f*(at[1][0]-at[0][0]), at[0][1] + f*(at[1][1]-at[0][1])})
	}
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	if now := eval[float64](p, "scrollY"); now != top {
		p.t.Errorf("the page scrolled by %g px while a corner was drawn", now-top)
	}
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		p.t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
	p.press("Done")
	want[2].Y = 800
	const px = 12 // mm, about two pixels on this screen
	p.linen(url, garment, "the flaw", func(c pattern.Cloth) bool { return len(c.Flaws) == 1 && near(c.Flaws[0], want, px) })
}

// layDrawsByKeys draws a remnant by keys and numbers alone.
func layDrawsByKeys(p *tab, url, garment string) {
	p.openLay(url, garment)
	p.tabTo("more of the cloth", `document.activeElement.matches(".cloth-more summary")`)
	p.keys("Enter")
	p.tabTo("the drawing of a remnant", `document.activeElement.textContent === "Draw it on the cloth"`)
	p.keys("Enter")
	p.until("the bar", `document.querySelector(".drawn-bar")`)
	want := geometry.Polyline{{X: 0, Y: 0}, {X: 3000, Y: 0}, {X: 3000, Y: 1300}, {X: 0, Y: linenWide}}
	for i, q := range want {
		p.tabTo("a corner more", `document.activeElement.textContent === "Add a corner"`)
		p.keys("Enter")
		p.until("a corner more", fmt.Sprintf(`document.querySelectorAll(".drawn-corner").length === %d`, i+1))
		for k, cm := range []float64{q.X / 10, q.Y / 10} {
			p.tabTo("a number", fmt.Sprintf(`document.activeElement === document.querySelectorAll(".drawn-bar input")[%d]`, k))
			p.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent(fmt.Sprintf("%g", cm)))
			p.keys("Enter")
			p.until("the number", fmt.Sprintf(`document.activeElement.value.startsWith("%g")`, cm))
		}
	}
	p.tabTo("the second corner", `document.activeElement === document.querySelectorAll(".drawn-corner")[1]`)
	p.keys("ArrowRight", "ArrowRight")
	want[1].X += 2
	p.tabTo("the end of it", `document.activeElement.textContent === "Done"`)
	p.keys("Enter")
	p.linen(url, garment, "the remnant", func(c pattern.Cloth) bool { return near(c.Remnant, want, 1e-9) })
	p.until("that it fits", `document.querySelector(".buy").textContent.startsWith("It fits")`)
}
