package main

import (
	"math"
	"net/http"
	"os"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"

	"secondcut/api"
	"secondcut/geometry/pattern"
)

// TestTwinsAndSeams corrects the wear of the demo garment on a phone: what would move is
// looked at, one edge is refused by key, the rest is moved, and the seams fit better; a
// former version is there.
func TestTwinsAndSeams(t *testing.T) {
	t.Parallel()
	url := startService(t)
	file, err := os.ReadFile("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	var g api.Garment
	if err := call(t.Context(), http.MethodPost, url+"/api/v1/garments/file", jsonType, file, &g); err != nil {
		t.Fatal(err)
	}
	off := func() (sum float64) {
		var r pattern.Report
		ask(t, url+"/api/v1/garments/"+g.ID+"/check", &r)
		for _, s := range r.Seams {
			sum += math.Abs(s.OffMM)
		}
		return sum
	}
	before := off()
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.do(chromedp.Navigate(url + "/#/garment/" + g.ID))
	p.press("Correct wear")
	p.until("the edges that would move", `document.querySelectorAll(".wear-piece").length === 3`)
	n := eval[int](p, `document.querySelectorAll(".wear-piece input").length`)
	if lines := eval[int](p, `document.querySelectorAll(".wear-drawing .is[d^=M]").length`); lines != 3 || n < 10 {
		t.Errorf("%d drawings of what would move, %d edges", lines, n)
	}
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
	// One edge is refused by key; the button says how many are left.
	eval[bool](p, `(document.querySelector(".wear-piece input").focus(), true)`)
	p.keys(" ")
	p.until("one edge fewer", `document.querySelector(".wear-accept button").textContent.trim() === "Move `+strconv.Itoa(n-1)+` edges" && !document.querySelector(".wear-accept button").disabled`)
	p.press("Move " + strconv.Itoa(n-1) + " edges")
	p.until("that it was done", `document.querySelector(".said")?.textContent.includes("3 pieces changed")`)
	if after := off(); after > before/2 {
		t.Errorf("seams are off by %.2f mm together, were by %.2f", after, before)
	}
	var front struct{ Items []api.Version }
	ask(t, url+"/api/v1/pieces/"+g.Pieces[0].ID+"/versions", &front)
	if len(front.Items) != 2 {
		t.Errorf("%d versions of the front, want 2", len(front.Items))
	}
	// From a piece the page is among all commands.
	p.do(chromedp.Navigate(url + "/#/piece/" + g.Pieces[0].ID + "/check"))
	p.settle()
	p.press("All commands")
	p.until("the command", `[...document.querySelectorAll(".palette [role=option]:not([aria-disabled=true])")].some((o) => o.textContent.includes("Correct wear"))`)
}
