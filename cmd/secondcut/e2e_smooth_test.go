package main

import (
	"fmt"
	"math"
	"testing"
)

// TestSmoothness draws a traced outline smoother and closer by the slider, by keys: each
// visit to the slider is one step, and undo brings the same outline back.
func TestSmoothness(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	piece := p.upload(url, "Smooth smock")
	p.step("outline")
	p.until("the slider", `document.querySelector("input[type=range][aria-describedby=smooth-how]")`)
	before, stored := p.outlineText(), outlineOf(t, url, piece)
	points := eval[int](p, `document.querySelectorAll(".knot").length`)
	slide := func(keys ...string) {
		t.Helper()
		eval[bool](p, `(document.querySelector("[aria-describedby=smooth-how]").focus(), true)`)
		p.keys(keys...)
	}
	says := func(text string) {
		t.Helper()
		p.until("the slider to say "+text, fmt.Sprintf(`document.querySelector("[aria-describedby=smooth-how]").parentElement.querySelector("output").textContent === %q`, text))
	}
	slide("End")
	says("smoother, 10 of 10")
	p.until("another outline", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") !== %q`, before))
	p.sent(url, piece, stored)
	if now := eval[int](p, `document.querySelectorAll(".knot").length`); now > points {
		t.Errorf("as simple as can be, the outline has %d points instead of %d", now, points)
	}
	smooth := outlineOf(t, url, piece)
	if off := math.Abs(smooth.Area()/stored.Area() - 1); off > 0.01 {
		t.Errorf("smoothing changed the area by %.1f %%", 100*off)
	}
	p.press("Undo: Draw smoother or closer")
	says("as traced")
	p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
	p.sent(url, piece, smooth)
	if d := gap(outlineOf(t, url, piece), stored); d > 0 {
		t.Errorf("undo left the stored outline %.4f mm off", d)
	}
	// Several moves of the slider without a pause are answered with the last of them.
	slide("ArrowLeft", "ArrowLeft", "ArrowLeft")
	says("closer, 3 of 10")
	p.sent(url, piece, stored)
	// The same by the list of commands.
	p.press("Undo: Draw smoother or closer")
	p.until("the outline as it was", fmt.Sprintf(`document.querySelector(".overlay path.outline").getAttribute("d") === %q`, before))
	eval[bool](p, `(document.querySelector(".canvas").focus(), true)`)
	p.keys("/")
	p.until("the list of commands", `document.querySelector("dialog[open] input")`)
	p.keys("s", "m", "o", "o", "t", "h", "e", "r", "Enter")
	says("smoother, 2 of 10")
}
