package main

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// TestFirstPage leads somebody who has no garment yet to the scale cards first, and
// somebody who has many to the one that is looked for.
func TestFirstPage(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 390, 780, true)
	p.do(chromedp.Navigate(url))
	p.until("the cards above the garments", `document.querySelector(".none-yet") &&
		document.getElementById("cards-title").getBoundingClientRect().y < document.getElementById("garments-title").getBoundingClientRect().y`)
	p.checkView("the first page of a newcomer")
	for i := range 7 {
		body := fmt.Appendf(nil, `{"name":"Garment %d"}`, i)
		var g struct {
			ID      string
			Version int
		}
		if err := call(t.Context(), http.MethodPost, url+"/api/v1/garments", jsonType, body, &g); err != nil {
			t.Fatal(err)
		}
		header := jsonType.Clone()
		header.Set("If-Match", fmt.Sprintf(`"v%d"`, g.Version))
		if err := call(t.Context(), http.MethodPatch, url+"/api/v1/garments/"+g.ID, header, fmt.Appendf(nil, `{"tags":["autumn %d"]}`, i), nil); err != nil {
			t.Fatal(err)
		}
	}
	p.do(chromedp.Reload())
	p.until("all garments", `document.querySelectorAll(".garments li").length === 7`)
	p.do(chromedp.SendKeys(chromedp.CSS("input[type=search]"), "AUTUMN 3"))
	p.until("the one with the tag", `document.querySelectorAll(".garments li").length === 1 && document.querySelector(".garments strong").textContent === "Garment 3"`)
	p.checkView("a search")
	p.press("Garment 3")
	p.until("the garment", `location.hash.startsWith("#/garment/") && document.querySelector(".add")`)
	p.press("Scale cards")
	p.until("the cards in sight", `(() => { const r = document.getElementById("cards-title")?.getBoundingClientRect(); return r && r.y >= 0 && r.bottom < innerHeight; })()`)
}

// TestInstallable reads the manifest as a browser does before it offers to install the
// page (Web Application Manifest, W3C): its icons are there in the sizes that it says.
func TestInstallable(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 800, 600, false)
	p.do(chromedp.Navigate(url))
	eval[bool](p, `(fetch(document.querySelector("link[rel=manifest]").href).then(async (r) => {
		const m = await r.json(), bad = [];
		if (!r.headers.get("Content-Type").startsWith("application/manifest+json")) bad.push("type " + r.headers.get("Content-Type"));
		for (const k of ["name", "short_name", "start_url", "display"]) if (!m[k]) bad.push("no " + k);
		for (const i of m.icons) {
			const img = new Image();
			img.src = i.src;
			await img.decode().catch(() => bad.push(i.src + " is no picture"));
			if (i.sizes !== "any" && i.sizes !== img.naturalWidth + "x" + img.naturalHeight) bad.push(i.src + " is not " + i.sizes);
		}
		if (!m.icons.some((i) => i.sizes === "512x512")) bad.push("no large icon");
		window.manifest = bad;
	}), true)`)
	p.until("the manifest to be read", "window.manifest")
	for _, s := range eval[[]string](p, "window.manifest") {
		t.Error(s)
	}
}

// TestStillAndPlain: whoever wants no motion gets none, and forced colours leave every
// control visible.
func TestStillAndPlain(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 800, 700, false)
	if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-reduced-motion", Value: "reduce"}, {Name: "forced-colors", Value: "active"},
	}}); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Navigate(url))
	p.until("the page", `document.querySelector(".new button")`)
	if !eval[bool](p, `matchMedia("(prefers-reduced-motion: reduce)").matches && matchMedia("(forced-colors: active)").matches`) {
		t.Fatal("the browser was not asked for stillness and forced colours")
	}
	p.press("Help")
	if n := eval[float64](p, `document.getAnimations().length + [...document.querySelectorAll("*")].filter((e) => getComputedStyle(e).transitionDuration.split(",").some((s) => parseFloat(s) > 0)).length`); n != 0 {
		t.Errorf("%.0f things move", n)
	}
	if n := eval[float64](p, `[...document.querySelectorAll("button, .button, input:not(.file), select")].filter((e) => e.offsetParent && !e.classList.contains("plain") && e.type !== "checkbox" && getComputedStyle(e).borderTopStyle === "none").length`); n != 0 {
		t.Errorf("%.0f controls have no border to be seen by", n)
	}
	p.checkView("forced colours")
}
