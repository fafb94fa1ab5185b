package main

import (
	"math"
	"path"
	"testing"

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

// TestDragIsQuick holds a drag of a knot of a 200-knot piece to 16 ms of script a
// frame, but for what the machine's other work takes from a few of them.
func TestDragIsQuick(t *testing.T) {
	frames := dragKnot(t)
	mean, worst, late := judge(frames)
	t.Logf("script of %d frames: mean %.1f ms, longest %.1f ms, %d over 16 ms", len(frames), mean, worst, late)
	if mean > 8 || late > len(frames)/20 {
		t.Errorf("script of a frame takes %.1f ms on average, %d of %d frames more than 16 ms", mean, late, len(frames))
	}
}

// BenchmarkPage reports the script time of the frames of such a drag, and what
// scripts and styles take compressed.
func BenchmarkPage(b *testing.B) {
	for b.Loop() {
		mean, worst, _ := judge(dragKnot(b))
		b.ReportMetric(mean, "ms-script/frame")
		b.ReportMetric(worst, "ms-script/longest-frame")
	}
	b.ReportMetric(float64(pageBytes(b))/1024, "KiB-page")
}

// judge returns the mean and the longest of times in ms, and how many are over 16.
func judge(frames []float64) (mean, worst float64, late int) {
	for _, ms := range frames {
		mean, worst = mean+ms/float64(len(frames)), math.Max(worst, ms)
		if ms > 16 {
			late++
		}
	}
	return mean, worst, late
}

// dragKnot drags a knot of a piece of 200 and returns the script time of each frame
// in ms.
func dragKnot(t testing.TB) []float64 {
	t.Helper()
	url := startService(t)
	p := newTab(t, startBrowser(t), 1280, 900, false)
	piece := p.upload(url, "Many points")
	many(t, url, piece, 200)
	p.do(chromedp.Reload())
	p.editorReady()
	p.until("all points", `document.querySelector(".points h2")?.textContent.includes("200")`)
	eval[[]float64](p, dragFrames)
	p.until("the end of the drag", "window.dragged")
	return eval[[]float64](p, "window.dragged")
}

// dragFrames drags the first knot for 120 frames; what a move sets off is done when
// its microtasks are.
const dragFrames = `(() => {
	const canvas = document.querySelector(".canvas"), box = canvas.getBoundingClientRect(), path = document.querySelector(".overlay path.outline");
	const q = path.getPointAtLength(0).matrixTransform(path.getScreenCTM());
	const send = (type, x, y) => canvas.dispatchEvent(new PointerEvent(type, { pointerId: 5, pointerType: "mouse", isPrimary: true, button: 0, buttons: 1, clientX: x, clientY: y, bubbles: true }));
	const frames = [];
	window.dragged = null;
	send("pointerdown", q.x, q.y);
	let i = 0;
	const frame = async () => {
		const begin = performance.now();
		send("pointermove", q.x + 30 * Math.sin(i / 9), q.y + 20 * Math.sin(i / 7));
		for (let k = 0; k < 30; k++) await null;
		frames.push(performance.now() - begin);
		if (++i < 120) return void requestAnimationFrame(frame);
		send("pointerup", q.x, q.y);
		window.dragged = frames.slice(5);
	};
	requestAnimationFrame(frame);
	return [];
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
