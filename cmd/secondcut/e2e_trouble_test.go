package main

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"secondcut/api/jobs"
	"secondcut/api/rest"
	"secondcut/api/store"
	"secondcut/geometry"
	"secondcut/web"
)

// A photo without cloth says what is wrong and what to do, and lets the person
// paint where the cloth is.
func TestRefusedPhotoInTheBrowser(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	p.startGarment(url, "Refused")
	p.addPhoto("../../testdata/photos/d18_refuse_no_cloth.jpg")
	p.until("the refusal", `document.body.innerText.includes("This photo can't be traced")`)
	if remedy := eval[string](p, `document.querySelector(".note .remedy").textContent`); len(remedy) < 20 {
		t.Errorf("the remedy is %q", remedy)
	}
	p.press("Show the cloth")
	p.until("the photo to paint on", `document.querySelector("img.backdrop")?.complete`)
	p.press("Trace again")
	p.until("the hint to paint first", `document.body.innerText.includes("Paint over the cloth first")`)
	p.press("Close")
	mid := eval[[]float64](p, `(() => { const r = document.querySelector("img.backdrop").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 3]; })()`)
	from := [2]float64(mid)
	p.mouseDrag(from, [2]float64{from[0] + 60, from[1] + 20})
	p.until("the stroke", `document.querySelector(".paint.cloth")`)
	p.press("Undo")
	p.until("no stroke", `!document.querySelector(".paint.cloth")`)
	p.mouseDrag(from, [2]float64{from[0] + 60, from[1] + 20})
	p.until("the stroke again", `document.querySelector(".paint.cloth")`)
	p.press("Trace again")
	// What a stroke on bare boards leads to is the tracer's to say; it has to be
	// something that the person sees: pieces, or the reason why not.
	p.until("the end of the trace", `location.hash.startsWith("#/garment/") && document.querySelector("a.piece-link") ||
		document.querySelector(".said .slip") && !document.querySelector(".offer[role=status]")`)
}

// Two devices: what one does while its connection is broken is kept and sent
// later, and where both changed the piece the person chooses.
func TestBrokenConnectionAndTwoDevices(t *testing.T) {
	t.Parallel()
	direct := startService(t)
	shaky, down := shakyLine(t, direct)
	browser := startBrowser(t)
	a := newTab(t, browser, 1280, 900, false)
	piece := a.upload(direct, "Two places")
	b := newTab(t, browser, 1280, 900, false)
	b.expect("net::ERR_", "502")
	b.do(chromedp.Navigate(shaky + "/#/piece/" + piece))
	b.editorReady()
	before := outlineOf(t, direct, piece)

	// Kept over a reload of the page, and then sent.
	down.Store(true)
	b.nudge(30)
	b.until("the word not saved", `document.querySelector(".saved.is-unsent")`)
	if kept := eval[string](b, fmt.Sprintf("localStorage.getItem('secondcut.unsent.%s') ?? ''", piece)); !strings.Contains(kept, "knots") {
		t.Errorf("kept on the device: %.80q", kept)
	}
	if d := gap(outlineOf(t, direct, piece), before); d != 0 {
		t.Errorf("the service changed by %.3f mm without a connection", d)
	}
	down.Store(false)
	b.do(chromedp.Reload())
	b.editorReady()
	b.sent(direct, piece, before)
	a.until("the change on the other device", `document.querySelector("[aria-label='Undo: Changed on another device']")`)

	// Both change it.
	down.Store(true)
	b.nudge(-20)
	b.until("the word not saved", `document.querySelector(".saved.is-unsent")`)
	common := outlineOf(t, direct, piece)
	a.nudge(45)
	a.sent(direct, piece, common)
	theirs := outlineOf(t, direct, piece)
	down.Store(false)
	b.expect("412")
	// The page may try again by itself before the button is found.
	b.until("the choice", `([...document.querySelectorAll("button")].find((e) => e.textContent.trim().startsWith("Save now"))?.click(),
		document.querySelector("dialog[open]")?.innerText.includes("changed in two places"))`)
	if d := gap(outlineOf(t, direct, piece), theirs); d != 0 {
		t.Errorf("the service changed by %.3f mm before the person chose", d)
	}
	if code := axeCode(t); code != "" {
		for _, s := range b.axe(code) {
			t.Errorf("the choice between two versions: %s", s)
		}
	}
	b.press("Keep mine")
	b.sent(direct, piece, theirs)
}

// sent waits until the service holds another outline than it did.
func (p *tab) sent(url, piece string, old geometry.Polyline) {
	p.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if gap(outlineOf(p.t, url, piece), old) > 0 {
			p.saved()
			return
		}
	}
	p.fail(errors.New("the change was not sent"))
}

// nudge drags the first point of the outline to the right by some pixels.
func (p *tab) nudge(px float64) {
	p.t.Helper()
	// The browser draws, and feels the mouse on, the page in front only.
	if _, err := chromedp.Call(p.ctx, page.BringToFront, cdp.Empty{}); err != nil {
		p.fail(err)
	}
	// What was said last may lie over the point.
	eval[bool](p, `(document.querySelector(".said button")?.click(), true)`)
	at := p.knot()
	p.mouseDrag(at, [2]float64{at[0] + px, at[1] + px/2})
}

// shakyLine leads to the service at another address, where it breaks off every
// new request while down is set.
func shakyLine(t *testing.T, service string) (address string, down *atomic.Bool) {
	t.Helper()
	target, err := url.Parse(service)
	if err != nil {
		t.Fatal(err)
	}
	down = &atomic.Bool{}
	quiet := slog.NewLogLogger(slog.DiscardHandler, slog.LevelError)
	proxy := &httputil.ReverseProxy{ErrorLog: quiet, Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(target)
		r.Out.Host = r.In.Host
	}}
	line := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if down.Load() {
			panic(http.ErrAbortHandler)
		}
		proxy.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		line.CloseClientConnections() // event streams
		line.Close()
	})
	return line.URL, down
}

// What a person measured of the printed rulers is kept in the browser, goes with
// each photo, and makes the doubt of the print smaller.
func TestPrintedRulersInTheBrowser(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.do(chromedp.Navigate(url+"/"), chromedp.WaitVisible(chromedp.CSS(".ruler input")))
	typed := func(nth int, text string) {
		eval[bool](p, fmt.Sprintf(`(() => { const el = document.querySelectorAll(".ruler input")[%d]; el.value = %q; return el.dispatchEvent(new Event("change", { bubbles: true })); })()`, nth, text))
	}
	typed(0, "149.5")
	typed(1, "20")
	p.until("the word that a ruler can't be so", `document.body.innerText.includes("type a length between 180 and 220")`)
	typed(1, "199.2")
	p.until("no complaint", `!document.querySelector(".ruler .flag")`)
	p.do(chromedp.Reload())
	p.until("the kept lengths", `[...document.querySelectorAll(".ruler input")].map((el) => el.value).join() === "149.5,199.2"`)
	p.upload(url, "Measured")
	p.step("photo")
	p.press("Details")
	p.until("the doubt of the rulers", `/rulers of your cards are known to about 0\.2\s%/.test(document.body.innerText)`)
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
}

// A phone is let in by the link, once; its page shows no link for others.
func TestPhoneIsPaired(t *testing.T) {
	t.Parallel()
	base, link := servePhone(t)
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.expect("401", "410")
	p.do(chromedp.Navigate(base + "/"))
	p.until("the closed door", `document.body.innerText.includes("has not been let in")`)
	first := link()
	p.do(chromedp.Navigate(first))
	p.until("the first page", `document.body.innerText.includes("Your garments")`)
	p.until("the cards", `document.body.innerText.includes("Get the card sheet")`)
	if eval[bool](p, `!!document.querySelector(".qr")`) {
		t.Error("the phone is shown a link")
	}
	p.startGarment(base, "From the road")
	if link() == first {
		t.Error("the link was not renewed")
	}
	other := newTab(t, startBrowser(t), 390, 844, true)
	other.expect("410")
	other.do(chromedp.Navigate(first))
	other.until("the spent link", `document.body.innerText.includes("has been used already")`)
}

// servePhone runs the service as --lan does, for a machine without a private
// network: every request counts as coming from a phone.
func servePhone(t *testing.T) (base string, link func() string) {
	t.Helper()
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "data"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = st.Close() })
	log := slog.New(slog.DiscardHandler)
	queue, err := jobs.New(t.Context(), st, st, tracer{}, jobs.Options{Logger: log})
	if err != nil {
		t.Fatal(err)
	}
	var h http.Handler
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.RemoteAddr = "192.168.7.7:50123"
		h.ServeHTTP(w, r)
	}))
	t.Cleanup(func() { server.CloseClientConnections(); server.Close() })
	pairing := rest.NewPairing(server.URL, nil)
	h = rest.New(rest.Options{Store: st, Queue: queue, Files: web.Files, Pairing: pairing, Logger: log})
	return server.URL, pairing.URL
}
