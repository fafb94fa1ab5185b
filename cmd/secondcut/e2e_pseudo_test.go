package main

import (
	"bytes"
	"context"
	"io/fs"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/chromedp/chromedp"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/api/rest"
	"secondcut/api/store"
	"secondcut/geometry/pattern"
	"secondcut/web"
)

// pseudoTexts writes every text with Arabic letters, a third longer: what is written in
// the page and not in texts.js stays as it is, and stands out.
const pseudoTexts = `import { texts as said, SHAKY } from "./texts.en.js";
export { SHAKY };
const LETTERS = "ابتثجحخدذرزسشصضطظعغفقكلمنه";
const letters = (s) => s.replace(/[a-z]/gi, (c) => LETTERS[c.toLowerCase().charCodeAt(0) - 97]) + " ا".repeat(Math.ceil(s.length / 6));
const pseudo = (v) => (typeof v === "string" ? letters(v) : typeof v === "function" ? (...a) => pseudo(v(...a)) : Array.isArray(v) ? v.map(pseudo)
	: v && typeof v === "object" ? Object.fromEntries(Object.entries(v).map(([k, x]) => [k, pseudo(x)])) : v);
export const texts = pseudo(said);
document.documentElement.dir = "rtl";
`

// pseudoPage is the page in a language that does not exist and runs from right to left.
func pseudoPage(t *testing.T) map[string][]byte {
	t.Helper()
	source := fstest.MapFS{}
	err := fs.WalkDir(web.Source(), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(web.Source(), name)
		source[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	source["app/texts.en.js"] = source["app/texts.js"]
	source["app/texts.js"] = &fstest.MapFile{Data: []byte(pseudoTexts)}
	files, err := web.Build(source)
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// TestRightToLeft lays every view out from right to left, in longer texts, on a phone:
// nothing may be wider than the screen, no text may stick out of its button, and no text
// may stand in the page that could not be translated.
func TestRightToLeft(t *testing.T) {
	t.Parallel()
	browser := startBrowser(t)
	st, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "data"))
	if err != nil {
		t.Fatal(err)
	}
	log := slog.New(slog.DiscardHandler)
	queue, err := jobs.New(t.Context(), st, st, tracer{}, jobs.Options{Logger: log})
	if err != nil {
		t.Fatal(err)
	}
	if err := queue.Start(t.Context()); err != nil {
		t.Fatal(err)
	}
	files := pseudoPage(t)
	server := httptest.NewServer(rest.New(rest.Options{Store: st, Queue: queue, Files: func() (map[string][]byte, error) { return files, nil }, Logger: log}))
	t.Cleanup(func() {
		server.CloseClientConnections()
		server.Close()
		_ = queue.Stop(context.Background())
		_ = st.Close()
	})
	garment, piece := bringIn(t, server.URL)
	p := newTab(t, browser, 390, 844, true)
	photo, traced := bringPhoto(t, server.URL, garment)
	for _, view := range []string{
		"#/", "#/garment/" + garment, "#/garment/" + garment + "/lay", "#/garment/" + garment + "/sheet", "#/garment/" + garment + "/wear", "#/known/" + photo, "#/piece/" + traced + "/photo", "#/piece/" + traced + "/outline",
		"#/piece/" + piece + "/outline", "#/piece/" + piece + "/edges", "#/piece/" + piece + "/marks", "#/piece/" + piece + "/check", "#/piece/" + piece + "/print",
	} {
		p.do(chromedp.Navigate(server.URL + "/" + view))
		p.until("the view", `document.querySelector("main h1, main h2, main .name") && getComputedStyle(document.querySelector("main")).direction === "rtl"`)
		p.settle()
		name := strings.NewReplacer(piece, "ID", traced, "ID", photo, "ID", garment, "ID").Replace(view)
		if over := eval[float64](p, "document.documentElement.scrollWidth - innerWidth"); over > 0 {
			t.Errorf("%s is %.0f px wider than the screen", name, over)
		}
		for _, s := range eval[[]string](p, stickingOut) {
			t.Errorf("%s: %s", name, s)
		}
		for _, s := range eval[[]string](p, untranslated) {
			t.Errorf("%s: %q stands in the page and not among its texts", name, s)
		}
	}
}

// bringIn brings the demo garment in and returns its id and that of a piece.
func bringIn(t *testing.T, url string) (garment, piece string) {
	t.Helper()
	g, err := readGarment(filepath.FromSlash("../../testdata/garments/lamplighter-smock.json"))
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := pattern.Write(&b, g); err != nil {
		t.Fatal(err)
	}
	var made struct {
		ID     string `json:"id"`
		Pieces []struct {
			ID string `json:"id"`
		} `json:"pieces"`
	}
	if err := call(t.Context(), http.MethodPost, url+"/api/v1/garments/file", jsonType, b.Bytes(), &made); err != nil {
		t.Fatal(err)
	}
	return made.ID, made.Pieces[0].ID
}

// bringPhoto adds the demo photo to a garment and returns its id, and that of the piece
// traced from it.
func bringPhoto(t *testing.T, url, garment string) (photo, piece string) {
	t.Helper()
	data, err := os.ReadFile(demoPhoto)
	if err != nil {
		t.Fatal(err)
	}
	var made struct {
		Photo api.Photo `json:"photo"`
		JobID string    `json:"job_id"`
	}
	if err := call(t.Context(), http.MethodPost, url+"/api/v1/garments/"+garment+"/photos", http.Header{"Content-Type": {"image/jpeg"}}, data, &made); err != nil {
		t.Fatal(err)
	}
	for end := time.Now().Add(90 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		var j api.Job
		ask(t, url+"/api/v1/jobs/"+made.JobID, &j)
		if j.Status.Final() {
			break
		}
		if time.Now().After(end) {
			t.Fatal("the photo was not traced")
		}
	}
	var g api.Garment
	ask(t, url+"/api/v1/garments/"+garment, &g)
	for _, p := range g.Pieces {
		if p.PhotoID == made.Photo.ID {
			return made.Photo.ID, p.ID
		}
	}
	t.Fatal("no piece was traced")
	return "", ""
}

// stickingOut names buttons, links and labels whose text is wider than they are.
const stickingOut = `[...document.querySelectorAll("button, a.button, label, h1, h2, summary")].filter((e) => e.offsetParent && !e.classList.contains("sr") && e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== "inline")
	.map((e) => e.localName + "." + e.className + " is " + (e.scrollWidth - e.clientWidth) + " px too narrow: " + e.textContent.trim().slice(0, 40))`

// untranslated finds texts with two Latin letters in a row: names, units and formats may
// have them.
const untranslated = `(() => {
	const walk = document.createTreeWalker(document.querySelector("#app"), NodeFilter.SHOW_TEXT), found = [];
	const may = /^(Lamplighter|chest|A\d|DXF|PDF|SVG|PNG|JSON|Letter|Tabloid|cm|mm|in|[\d.,\s×x%°]*(cm|mm|in)?)/;
	while (walk.nextNode()) {
		const e = walk.currentNode.parentElement, text = walk.currentNode.textContent.trim();
		if (/[A-Za-z]{2}/.test(text) && e.offsetParent && !may.test(text)) found.push(text.slice(0, 60));
	}
	return [...new Set(found)];
})()`
