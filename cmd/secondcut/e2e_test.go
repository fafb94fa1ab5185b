package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"secondcut/geometry"
)

const demoPhoto = "../../testdata/demo/pocket.jpg"

// TestEndToEnd takes a photo to a printed page in a real browser, by mouse on a
// desk and by touch on a phone.
func TestEndToEnd(t *testing.T) {
	t.Parallel()
	url, browser := startService(t), startBrowser(t)
	t.Run("mouse", func(t *testing.T) { byMouse(newTab(t, browser, 1280, 900, false), url) })
	t.Run("touch", func(t *testing.T) { byTouch(newTab(t, browser, 390, 844, true), url) })
}

func byMouse(p *tab, url string) {
	piece := p.upload(url, "Desk smock")
	p.wholeGarment()
	p.press("Snap") // off: the point shall go where the pointer goes
	before := p.knot()
	p.mouseDrag(before, [2]float64{before[0] + 40, before[1] + 25})
	moved := p.knot()
	if math.Hypot(moved[0]-before[0]-40, moved[1]-before[1]-25) > 2 {
		p.t.Errorf("dragged by 40, 25 px, the point went from %v to %v", before, moved)
	}
	p.do(chromedp.KeyEvent("z", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	if back := p.knot(); dist(back, before) > 0.01 {
		p.t.Errorf("undo left the point at %v, want %v", back, before)
	}
	p.mouseDrag(before, [2]float64{before[0] - 30, before[1] - 10})
	p.saved()
	kept := outlineOf(p.t, url, piece)
	p.do(chromedp.Reload())
	p.editorReady()
	if d := gap(outlineOf(p.t, url, piece), kept); d > 0 {
		p.t.Errorf("reload changed the outline by %.3f mm", d)
	}
	p.printsTrue(url, piece)
}

// wholeGarment downloads all pieces from the garment's page and comes back.
func (p *tab) wholeGarment() {
	p.t.Helper()
	p.do(chromedp.Navigate(eval[string](p, "location.origin + '/' + '#/garment/' + document.querySelector('a.button.plain').hash.split('/').pop()")))
	p.press("Garment file")
	var g struct {
		Format string
		Pieces []struct{ Name string }
	}
	data, err := os.ReadFile(p.download(".json"))
	if err == nil {
		err = json.Unmarshal(data, &g)
	}
	if err != nil || g.Format != "secondcut-garment/1" || len(g.Pieces) != 1 || g.Pieces[0].Name != "pocket" {
		p.t.Errorf("garment file: %v: %.200s", err, data)
	}
	p.do(chromedp.NavigateBack())
	p.editorReady()
}

func byTouch(p *tab, url string) {
	piece := p.upload(url, "Road smock")
	p.pinchOut()
	p.press("Whole piece")
	p.press("Snap") // off: the point shall go where the finger goes
	before := p.knot()
	p.touchDrag(before, [2]float64{before[0] + 25, before[1] + 30})
	if moved := p.knot(); dist(moved, [2]float64{before[0] + 25, before[1] + 30}) > 2 {
		p.t.Errorf("a finger that moved by 25, 30 px took the point from %v to %v", before, moved)
	}
	p.press("Undo")
	if back := p.knot(); dist(back, before) > 0.01 {
		p.t.Errorf("undo left the point at %v, want %v", back, before)
	}
	before = p.knot()
	p.touchDrag(before, [2]float64{before[0] + 20, before[1] + 20})
	p.saved()
	kept := outlineOf(p.t, url, piece)
	p.do(chromedp.Reload())
	p.editorReady()
	if d := gap(outlineOf(p.t, url, piece), kept); d > 0 {
		p.t.Errorf("reload changed the outline by %.3f mm", d)
	}
	p.printsTrue(url, piece)
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		p.t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
}

// upload starts a garment, gives it the demo photo, waits for its piece and
// opens that in the editor; it returns the piece's id.
func (p *tab) upload(url, garment string) string {
	p.t.Helper()
	p.startGarment(url, garment)
	p.addPhoto(demoPhoto)
	p.until("the traced piece", `document.querySelector("a.piece-link")`)
	p.until("the word traced", `document.body.innerText.includes("Traced")`)
	eval[bool](p, `(document.querySelector("a.piece-link").click(), true)`)
	p.editorReady()
	return strings.TrimPrefix(eval[string](p, "location.hash"), "#/piece/")
}

// startGarment makes a garment on the first page and waits for its own.
func (p *tab) startGarment(url, garment string) {
	p.t.Helper()
	p.do(chromedp.Navigate(url+"/"),
		chromedp.WaitVisible(chromedp.CSS("form input[type=text]")),
		chromedp.SendKeys(chromedp.CSS("form input[type=text]"), garment))
	p.press("Start a garment")
	p.until("the garment's page", `location.hash.startsWith("#/garment/")`)
	p.until("what to do first", `document.body.innerText.includes("What to do first")`)
}

// addPhoto gives the garment's page a photo.
func (p *tab) addPhoto(file string) {
	p.t.Helper()
	photo, err := filepath.Abs(file)
	if err != nil {
		p.t.Fatal(err)
	}
	p.do(chromedp.WaitReady(chromedp.CSS("input.file")),
		chromedp.SetUploadFiles(chromedp.CSS("input.file"), []string{photo}))
}

func (p *tab) editorReady() {
	p.t.Helper()
	p.until("the outline", `document.querySelector(".overlay path.outline")`)
	p.until("the photo below it", `document.querySelector("img.backdrop")?.complete`)
	p.frames() // the first fit of the view to its box
}

// knot returns where on the screen the first point of the outline stands.
func (p *tab) knot() [2]float64 {
	p.t.Helper()
	const js = `(() => {
		const path = document.querySelector(".overlay path.outline");
		const q = path.getPointAtLength(0).matrixTransform(path.getScreenCTM());
		return [q.x, q.y];
	})()`
	p.frames()
	return [2]float64(eval[[]float64](p, js))
}

func (p *tab) saved() {
	p.t.Helper()
	p.until("the word saved", `document.querySelector(".saved.is-saved")`)
}

// dragSteps is how many moves a drag takes, as a hand would.
const dragSteps = 8

func between(a, b [2]float64, i int) [2]float64 {
	f := float64(i) / dragSteps
	return [2]float64{a[0] + (b[0]-a[0])*f, a[1] + (b[1]-a[1])*f}
}

func (p *tab) mouseDrag(from, to [2]float64) {
	p.t.Helper()
	p.do(chromedp.MouseEvent(chromedp.MouseMoved, from[0], from[1]),
		chromedp.MouseEvent(chromedp.MousePressed, from[0], from[1], chromedp.ButtonLeft))
	for i := 1; i <= dragSteps; i++ {
		at := between(from, to, i)
		p.do(chromedp.MouseEvent(chromedp.MouseMoved, at[0], at[1], chromedp.ButtonLeft))
	}
	p.do(chromedp.MouseEvent(chromedp.MouseReleased, to[0], to[1], chromedp.ButtonLeft))
}

func (p *tab) touchDrag(from, to [2]float64) {
	p.t.Helper()
	p.touch(input.DispatchTouchEventTypeTouchStart, from)
	for i := 1; i <= dragSteps; i++ {
		p.touch(input.DispatchTouchEventTypeTouchMove, between(from, to, i))
	}
	p.touch(input.DispatchTouchEventTypeTouchEnd)
}

// pinchOut spreads two fingers in the middle of the canvas and expects the
// picture to grow.
func (p *tab) pinchOut() {
	p.t.Helper()
	scale := `document.querySelector(".overlay path.outline").getScreenCTM().a`
	before := eval[float64](p, scale)
	mid := eval[[]float64](p, `(() => { const r = document.querySelector(".canvas").getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()`)
	at := func(d float64) [][2]float64 { return [][2]float64{{mid[0] - d, mid[1]}, {mid[0] + d, mid[1]}} }
	p.touch(input.DispatchTouchEventTypeTouchStart, at(40)...)
	for d := 44.0; d <= 60; d += 4 {
		p.touch(input.DispatchTouchEventTypeTouchMove, at(d)...)
	}
	p.touch(input.DispatchTouchEventTypeTouchEnd)
	if after := eval[float64](p, scale); after < 1.2*before {
		p.t.Errorf("two fingers spread by half enlarged the picture from %.2f to %.2f px/mm", before, after)
	}
}

// printsTrue downloads the one-page PDF and compares the cut line that poppler
// reads from it with what the service drafts of the piece.
func (p *tab) printsTrue(url, piece string) {
	p.t.Helper()
	p.step("print")
	p.choose("Paper", "one")
	p.press("Get the PDF")
	pdf := p.download(".pdf")
	svg := filepath.Join(p.t.TempDir(), "page.svg")
	if out, err := exec.Command("pdftocairo", "-svg", "-noshrink", "-nocenter", pdf, svg).CombinedOutput(); err != nil {
		p.t.Fatalf("pdftocairo: %v %s", err, out)
	}
	printed, truth := largestPath(p.t, svg), cutLineOf(p.t, url, piece)
	plo, phi := printed.Bounds()
	tlo, thi := truth.Bounds()
	// A piece may be turned by a quarter to save paper.
	pw, ph, tw, th := phi.X-plo.X, phi.Y-plo.Y, thi.X-tlo.X, thi.Y-tlo.Y
	for what, d := range map[string]float64{
		"longer side":  max(pw, ph) - max(tw, th),
		"shorter side": min(pw, ph) - min(tw, th),
		"length":       printed.Length() - truth.Length(),
	} {
		if math.Abs(d) > 0.1 {
			p.t.Errorf("the printed cut line's %s is off by %.3f mm", what, d)
		}
	}
}

// download waits for a file with the ending in the download folder. The browser takes the
// name with an empty file first, and writes beside it until it has all.
func (p *tab) download(ending string) string {
	p.t.Helper()
	for end := time.Now().Add(30 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		found, _ := filepath.Glob(filepath.Join(p.downloads, "*"+ending))
		if partly, _ := filepath.Glob(filepath.Join(p.downloads, "*.crdownload")); len(partly) > 0 || len(found) == 0 {
			continue
		}
		if info, err := os.Stat(found[0]); err == nil && info.Size() > 0 {
			return found[0]
		}
	}
	p.fail(fmt.Errorf("no %s was downloaded", ending))
	return ""
}

// outlineOf asks the service for a piece and flattens its outline.
func outlineOf(t testing.TB, url, piece string) geometry.Polyline {
	t.Helper()
	var doc struct {
		Knots geometry.Path `json:"knots"`
	}
	ask(t, url+"/api/v1/pieces/"+piece, &doc)
	if len(doc.Knots) < 3 {
		t.Fatalf("piece %s has %d knots", piece, len(doc.Knots))
	}
	return doc.Knots.Flatten(0.01)
}

// cutLineOf asks the service for the cut line that it drafts of a piece.
func cutLineOf(t testing.TB, url, piece string) geometry.Polyline {
	t.Helper()
	var doc struct {
		Cut geometry.Path `json:"cut_line"`
	}
	ask(t, url+"/api/v1/pieces/"+piece+"/draft", &doc)
	if len(doc.Cut) < 3 {
		t.Fatalf("the cut line of piece %s has %d knots", piece, len(doc.Cut))
	}
	return doc.Cut.Flatten(0.01)
}

// ask decodes what the service answers.
func ask(t testing.TB, url string, answer any) {
	t.Helper()
	res, err := http.Get(url)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	if err == nil {
		err = json.Unmarshal(body, answer)
	}
	if err != nil || res.StatusCode != http.StatusOK {
		t.Fatalf("%s: %d %v: %.200s", url, res.StatusCode, err, body)
	}
}

var (
	strokedPath = regexp.MustCompile(`<path [^>]*style="fill:none[^>]* d="([^"]*)"(?: transform="matrix\(([^)]*)\)")?`)
	pathToken   = regexp.MustCompile(`[MLCZ]|-?[0-9.]+(?:e-?[0-9]+)?`)
)

// largestPath returns the closed stroked path with the largest area of a drawing
// by pdftocairo, in mm, y up: on a page of one piece that is the outline.
func largestPath(t testing.TB, svg string) geometry.Polyline {
	t.Helper()
	data, err := os.ReadFile(svg)
	if err != nil {
		t.Fatal(err)
	}
	var best geometry.Polyline
	for _, m := range strokedPath.FindAllStringSubmatch(string(data), -1) {
		if p := readPath(m[1], m[2]); math.Abs(p.Area()) > math.Abs(best.Area()) {
			best = p
		}
	}
	if best == nil {
		t.Fatal("no outline in the printed page")
	}
	return best
}

// readPath flattens one absolute SVG path of lines and cubics, given in points
// of 1/72 in, with an optional matrix.
func readPath(d, matrix string) geometry.Polyline {
	m := []float64{1, 0, 0, 1, 0, 0}
	for i, s := range strings.FieldsFunc(matrix, func(r rune) bool { return r == ',' || r == ' ' }) {
		m[i], _ = strconv.ParseFloat(s, 64)
	}
	const mm = 25.4 / 72
	var path geometry.Path
	var verb string
	var args []float64
	for _, tok := range pathToken.FindAllString(d, -1) {
		if strings.Contains("MLCZ", tok) {
			verb, args = tok, nil
			continue
		}
		v, _ := strconv.ParseFloat(tok, 64)
		if args = append(args, v); len(args) < 2 || verb == "C" && len(args) < 6 {
			continue
		}
		pts := make([]geometry.Point, 0, 3)
		for i := 0; i+1 < len(args); i += 2 {
			pts = append(pts, geometry.Point{
				X: mm * (m[0]*args[i] + m[2]*args[i+1] + m[4]), Y: -mm * (m[1]*args[i] + m[3]*args[i+1] + m[5]),
			})
		}
		k := geometry.Knot{At: pts[len(pts)-1]}
		if verb == "C" {
			path[len(path)-1].Out, k.In = &pts[0], &pts[1]
		}
		path, args = append(path, k), nil
	}
	return path.Flatten(0.01)
}

func dist(a, b [2]float64) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

// gap returns the largest distance between points of the same index, or infinity
// where the counts differ.
func gap(a, b geometry.Polyline) float64 {
	if len(a) != len(b) {
		return math.Inf(1)
	}
	var worst float64
	for i := range a {
		worst = math.Max(worst, a[i].Dist(b[i]))
	}
	return worst
}
