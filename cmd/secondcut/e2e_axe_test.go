package main

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// axe is the accessibility checker axe-core; npm puts it there for the checks.
const axe = "../../web/node_modules/axe-core/axe.min.js"

// TestAccessible lets axe-core look at every view, on a desk and on the smallest
// phone, light and dark: nothing serious or critical may be found, and nothing wider
// than the screen.
func TestAccessible(t *testing.T) {
	t.Parallel()
	code := axeCode(t)
	if code == "" {
		t.Skip("no axe-core here; 'npm ci' in web installs it")
	}
	url, browser := startService(t), startBrowser(t)
	p := newTab(t, browser, 1280, 900, false)
	piece := p.upload(url, "Open to all")
	garment := eval[string](p, `document.querySelector(".editor-top a").hash`)
	themes := []string{"light", "dark"}
	look := func(p *tab, what string) {
		t.Helper()
		if over := eval[float64](p, "document.documentElement.scrollWidth - innerWidth"); over > 0 {
			t.Errorf("%s is %.0f px wider than the screen", what, over)
		}
		for _, theme := range themes {
			eval[bool](p, fmt.Sprintf(`(document.documentElement.dataset.theme = %q, true)`, theme))
			p.frames() // what is drawn later begins to change its colour later
			p.until("colours that stand still", `document.getAnimations().every((a) => a.playState === "finished" || !(a instanceof CSSTransition))`)
			for _, s := range p.axe(code) {
				t.Errorf("%s, %s: %s", what, theme, s)
			}
		}
	}
	views := func(p *tab, size string) {
		for _, hash := range []string{"#/", garment, garment + "/lay", garment + "/sheet", garment + "/wear", "#/piece/" + piece + "/photo", "#/piece/" + piece + "/outline", "#/piece/" + piece + "/marks", "#/piece/" + piece + "/check", "#/piece/" + piece + "/print"} {
			p.do(chromedp.Navigate(url + "/" + hash))
			p.settle()
			look(p, size+" "+strings.ReplaceAll(hash, piece, "ID"))
		}
		p.do(chromedp.Navigate(url + "/#/piece/" + piece + "/edges"))
		p.settle()
		eval[bool](p, `(document.querySelector(".edge-head").click(), true)`)
		p.settle()
		look(p, size+" an open edge")
	}
	views(p, "desk")
	p.press("Enlarge the corner")
	look(p, "an enlarged corner")
	p.press("Close")
	p.press("Help")
	look(p, "help")
	p.press("Close")
	p.press("All commands")
	look(p, "commands")

	// Those who ask for strong or for their own colours get them everywhere.
	themes = themes[:1]
	for _, want := range []*emulation.MediaFeature{{Name: "prefers-contrast", Value: "more"}, {Name: "forced-colors", Value: "active"}} {
		if _, err := chromedp.Call(p.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{want}}); err != nil {
			t.Fatal(err)
		}
		p.until(want.Name, fmt.Sprintf("matchMedia('(%s: %s)').matches", want.Name, want.Value))
		look(p, "commands, "+want.Name)
		p.press("Close")
		p.press("Enlarge the corner")
		look(p, "an enlarged corner, "+want.Name)
		p.press("Close")
		look(p, "an open edge, "+want.Name)
		p.press("All commands")
	}
	views(newTab(t, browser, 320, 640, true), "phone")
}

// axeCode is the checker's code; empty where it is not installed, which only the
// person at the desk is forgiven.
func axeCode(t *testing.T) string {
	t.Helper()
	code, err := os.ReadFile(axe)
	if err != nil && os.Getenv("CI") != "" {
		t.Fatal(err)
	}
	return string(code)
}

// settle waits until nothing is loading and the cut line, where there is one, is
// drawn.
func (p *tab) settle() {
	p.t.Helper()
	p.until("an end to loading", `document.querySelector("main") && !document.body.innerText.includes("Loading …") && !document.querySelector(".draft.stale")`)
}

// axe returns what axe-core finds serious or critical in the page as it is now.
func (p *tab) axe(code string) []string {
	p.t.Helper()
	if !eval[bool](p, "typeof axe === 'object'") {
		eval[bool](p, "(() => {"+code+"\n; return true; })()")
	}
	eval[bool](p, `(window.axeFound = null, axe.run(document, { resultTypes: ["violations"] }).then((r) => { window.axeFound = r.violations
		.filter((v) => v.impact === "serious" || v.impact === "critical")
		.map((v) => v.id + ": " + v.nodes.slice(0, 4).map((n) => n.target.join(" ") + " (" + n.failureSummary.split("\n").slice(1, 2).join("").trim() + ")").join("; ")); }), true)`)
	p.until("axe to have looked", "window.axeFound")
	return eval[[]string](p, "window.axeFound")
}
