package main

import (
	"errors"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"secondcut/api"
)

// TestLibrary finds a garment among others by a word and by its tag, remakes it, and
// brings all that is kept out as an archive and in again, on a phone.
func TestLibrary(t *testing.T) {
	t.Parallel()
	url, other := startService(t), startService(t) // before the browser, which ends before them
	garment, _ := bringIn(t, url)
	for _, name := range []string{"Lantern apron", "Wick gloves", "Night cape"} {
		if err := call(t.Context(), http.MethodPost, url+"/api/v1/garments", jsonType, []byte(`{"name":"`+name+`"}`), nil); err != nil {
			t.Fatal(err)
		}
	}
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.do(chromedp.Navigate(url + "/#/garment/" + garment))
	p.until("the garment's page", `document.querySelector("h1 input.name")`)
	p.press("About the pattern")
	const tags = `[...document.querySelectorAll("input")].find((e) => e.offsetParent && e.labels?.[0]?.textContent === "Tags")`
	p.until("the field for tags", tags)
	eval[bool](p, "("+tags+".focus(), true)")
	p.keys("w", "o", "r", "k", ",", " ", "w", "i", "n", "t", "e", "r", "Enter")
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(100 * time.Millisecond) {
		var g api.Garment
		if ask(t, url+"/api/v1/garments/"+garment, &g); slices.Equal(g.Tags, []string{"work", "winter"}) {
			break
		}
		if time.Now().After(end) {
			t.Fatalf("the tags are %q", g.Tags)
		}
	}
	p.do(chromedp.Navigate(url + "/#/"))
	cards := func(what string, n int) {
		t.Helper()
		p.until(what, `document.querySelectorAll(".garment-card").length === `+string(rune('0'+n)))
	}
	cards("all garments", 4)
	eval[bool](p, `(document.querySelector("#find-garment").focus(), true)`)
	p.keys("a", "p", "r", "o", "n")
	cards("the apron alone", 1)
	p.keys("Backspace", "Backspace", "Backspace", "Backspace", "Backspace")
	cards("all garments again", 4)
	p.press("winter")
	cards("what is for winter", 1)
	p.press("Remake in another size or cloth")
	p.until("the remake's own page", `location.hash.startsWith("#/garment/") && !location.hash.includes("`+garment+`") && document.querySelector("h1 input.name")?.value.endsWith(", remake")`)
	p.until("where it comes from", `document.querySelector("main a[href='#/garment/`+garment+`']")`)
	p.until("its pieces", `document.querySelectorAll("a.piece-link").length > 3`)
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
	archive := filepath.Join(t.TempDir(), "all.tar")
	res, err := http.Get(url + "/api/v1/archive")
	if err != nil {
		t.Fatal(err)
	}
	data, err := io.ReadAll(res.Body)
	if err := errors.Join(err, res.Body.Close(), os.WriteFile(archive, data, 0o600)); err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("status %d, %v", res.StatusCode, err)
	}
	p.do(chromedp.Navigate(other+"/"), chromedp.WaitReady(chromedp.CSS("input.archive")), chromedp.SetUploadFiles(chromedp.CSS("input.archive"), []string{archive}))
	cards("all garments in another folder", 5)
}
