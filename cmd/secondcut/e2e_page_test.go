package main

import (
	"errors"
	"fmt"
	"math"
	"path"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"

	"secondcut/web"
)

// pageBytes returns the size of page, script and style as the service sends them.
func pageBytes(t testing.TB) int {
	t.Helper()
	files, err := web.Files()
	if err != nil {
		t.Fatal(err)
	}
	total := len(files["index.html"])
	for name, data := range files {
		if path.Ext(name) == ".gz" {
			total += len(data)
		}
	}
	return total
}

// TestDragIsQuick holds the script of a drag of a knot of a 200-knot piece to a share of
// a fixed piece of work that the same thread does between the frames, so that a slow or
// busy machine slows both. The share is what 16 ms a frame were on a machine at rest.
func TestDragIsQuick(t *testing.T) {
	frames, yard := dragKnot(t)
	mean, worst := judge(frames)
	one, _ := judge(yard)
	t.Logf("script of %d frames: mean %.1f ms, longest %.1f ms; of the fixed work: %.1f ms", len(frames), mean, worst, one)
	if mean > 3*one || worst > 10*one {
		t.Errorf("script of a frame takes %.2f of the fixed work on average and %.2f at most", mean/one, worst/one)
	}
}

// BenchmarkPage reports the script time of the frames of such a drag, and what
// scripts and styles take compressed.
func BenchmarkPage(b *testing.B) {
	for b.Loop() {
		frames, _ := dragKnot(b)
		mean, worst := judge(frames)
		b.ReportMetric(mean, "ms-script/frame")
		b.ReportMetric(worst, "ms-script/longest-frame")
	}
	b.ReportMetric(float64(pageBytes(b))/1024, "KiB-page")
}

// judge returns the mean and the longest of times in ms.
func judge(frames []float64) (mean, worst float64) {
	for _, ms := range frames {
		mean, worst = mean+ms/float64(len(frames)), math.Max(worst, ms)
	}
	return mean, worst
}

// dragKnot drags a knot of a piece of 200 and returns the script time of each frame in
// ms, and that of a fixed piece of work done between every two.
func dragKnot(t testing.TB) (frames, yard []float64) {
	t.Helper()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	piece := p.upload(url, "Many points")
	many(t, url, piece, 200)
	p.do(chromedp.Reload())
	p.editorReady()
	p.until("all points", `document.querySelector(".points h2")?.textContent.includes("200")`)
	if _, err := chromedp.Call(p.ctx, performance.Enable, performance.EnableParams{TimeDomain: performance.EnableTimeDomainThreadTicks}); err != nil {
		t.Fatal(err)
	}
	eval[bool](p, beginDrag)
	took := func(js string) float64 {
		before := p.scriptMS()
		if _, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](js, chromedp.EvalAwaitPromise)); err != nil {
			p.fail(err)
		}
		return p.scriptMS() - before
	}
	for i := range 120 {
		frames = append(frames, took(fmt.Sprintf("window.dragFrame(%d)", i)))
		yard = append(yard, took("window.fixedWork()"))
	}
	eval[bool](p, `(window.send("pointerup", 0), true)`)
	return frames[5:], yard[5:]
}

// scriptMS returns how long the page's thread has run script until now, in ms of its
// own time.
func (p *tab) scriptMS() float64 {
	p.t.Helper()
	got, err := chromedp.Call(p.ctx, performance.GetMetrics, cdp.Empty{})
	if err != nil {
		p.fail(err)
	}
	for _, m := range got.Metrics {
		if m.Name == "ScriptDuration" {
			return m.Value * 1000
		}
	}
	p.fail(errors.New("the browser does not count script time"))
	return 0
}

// beginDrag takes hold of the first knot; each call of dragFrame moves it in a frame of
// its own, and ends with what the move set off: its microtasks.
const beginDrag = `(() => {
	const canvas = document.querySelector(".canvas"), path = document.querySelector(".overlay path.outline");
	const q = path.getPointAtLength(0).matrixTransform(path.getScreenCTM());
	window.send = (type, i) => canvas.dispatchEvent(new PointerEvent(type, { pointerId: 5, pointerType: "mouse", isPrimary: true, button: 0, buttons: 1,
		clientX: q.x + 30 * Math.sin(i / 9), clientY: q.y + 20 * Math.sin(i / 7), bubbles: true }));
	window.dragFrame = (i) => new Promise((done) => requestAnimationFrame(async () => {
		send("pointermove", i);
		for (let k = 0; k < 30; k++) await null;
		done(true);
	}));
	const numbers = Array.from({ length: 4000 }, (_, i) => ({ x: Math.sin(i), y: i }));
	window.fixedWork = () => new Promise((done) => requestAnimationFrame(() => done(JSON.parse(JSON.stringify(numbers)).length > 0)));
	send("pointerdown", 0);
	return true;
})()`

// many gives a piece an outline of n knots of curves.
func many(t testing.TB, url, piece string, n int) {
	t.Helper()
	type knot struct {
		At     [2]float64 `json:"at"`
		In     [2]float64 `json:"in"`
		Out    [2]float64 `json:"out"`
		Corner bool       `json:"corner"`
	}
	knots := make([]knot, n)
	for i := range knots {
		a, k := 2*math.Pi*float64(i)/float64(n), 2*math.Pi/float64(n)/3
		x, y, dx, dy := 75*math.Cos(a), 90*math.Sin(a), -75*math.Sin(a)*k, 90*math.Cos(a)*k
		knots[i] = knot{At: [2]float64{x, y}, In: [2]float64{x - dx, y - dy}, Out: [2]float64{x + dx, y + dy}}
	}
	var now struct{ Version int }
	ask(t, url+"/api/v1/pieces/"+piece, &now)
	put(t, url, piece, now.Version, map[string]any{"name": "many", "knots": knots})
}
