package main

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"image/jpeg"
	"image/png"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var pictures = flag.String("pictures", "", "write the README's pictures of the page into this `FOLDER`")

// TestPictures makes the README's pictures of the page from the demo garment; it is
// run by 'make pictures'.
func TestPictures(t *testing.T) {
	if *pictures == "" {
		t.Skip("only with -pictures")
	}
	url, browser := startService(t), startBrowser(t)
	p := newTab(t, browser, 1280, 860, false)
	p.startGarment(url, "Lamplighter's smock")
	p.addPhoto("../../testdata/demo/front.jpg")
	p.until("the traced piece", `document.querySelector("a.piece-link")`)
	eval[bool](p, `(document.querySelector("a.piece-link").click(), true)`)
	p.editorReady()
	piece := eval[string](p, `location.hash.split("/")[2]`)
	finishAll(t, url, piece)
	p.do(chromedp.Navigate(url+"/#/piece/"+piece+"/edges"), chromedp.Reload())
	p.editorReady()
	p.press("Name ")
	p.drawn()
	at := p.edgeNumber(6)
	p.do(chromedp.MouseClickXY(at[0], at[1]))
	p.keep("editor.jpg")
	phone := newTab(t, browser, 390, 844, true)
	phone.do(chromedp.Navigate(url + "/#/piece/" + piece + "/edges"))
	phone.editorReady()
	phone.drawn()
	eval[bool](phone, `(document.documentElement.dataset.theme = "dark", true)`)
	phone.keep("phone.jpg")
}

// keep writes what the page shows as a JPEG picture.
func (p *tab) keep(name string) {
	p.t.Helper()
	time.Sleep(time.Second) // until nothing moves
	shot, err := chromedp.Run(p.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		p.fail(err)
	}
	img, err := png.Decode(bytes.NewReader(shot))
	if err != nil {
		p.t.Fatal(err)
	}
	f, err := os.Create(filepath.Join(*pictures, name))
	if err != nil {
		p.t.Fatal(err)
	}
	if err := jpeg.Encode(f, img, &jpeg.Options{Quality: 88}); err != nil {
		p.t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		p.t.Fatal(err)
	}
}

// finishAll gives a piece a hem on the edge that lies at the right of its photo, and
// seams on the others.
func finishAll(t *testing.T, url, piece string) {
	t.Helper()
	var now map[string]any
	ask(t, url+"/api/v1/pieces/"+piece, &now)
	for _, e := range now["edges"].([]any) {
		edge := e.(map[string]any)
		edge["old_allowance"] = map[string]any{"is": "length", "mm": 10}
		edge["finish"] = map[string]any{"kind": "seam", "allowance_mm": 12}
		if strings.HasPrefix(edge["name"].(string), "right") {
			edge["finish"] = map[string]any{"kind": "hem", "depth_mm": 25, "turns": 2, "turn_under_mm": 10}
		}
	}
	edit := map[string]any{}
	for _, k := range []string{"name", "knots", "holes", "strokes", "edges", "marks"} {
		edit[k] = now[k]
	}
	put(t, url, piece, int(now["version"].(float64)), edit)
}

// put stores an edit of a piece.
func put(t testing.TB, url, piece string, version int, edit any) {
	t.Helper()
	body, err := json.Marshal(edit)
	if err != nil {
		t.Fatal(err)
	}
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPut, url+"/api/v1/pieces/"+piece, bytes.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("If-Match", fmt.Sprintf(`"v%d"`, version))
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusOK {
		t.Fatalf("saving a piece: %s", res.Status)
	}
}
