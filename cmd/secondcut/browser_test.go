package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// startService runs the true program on a free port with an empty data folder
// and returns its address.
func startService(t testing.TB) string {
	t.Helper()
	return startServiceIn(t, t.TempDir())
}

// startServiceIn does so on a data folder.
func startServiceIn(t testing.TB, dir string, flags ...string) string {
	t.Helper()
	r, w := io.Pipe()
	root := newRootCommand()
	root.SetArgs(append([]string{"serve", "--addr", "127.0.0.1:0", "--data", dir}, flags...))
	root.SetOut(w)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- root.ExecuteContext(ctx); w.Close() }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Errorf("the service ended with: %v", err)
		}
	})
	buf := make([]byte, 4096)
	n, err := r.Read(buf)
	if err != nil {
		t.Fatal(err)
	}
	go io.Copy(io.Discard, r) //nolint:errcheck // ends with the service
	url := regexp.MustCompile(`http://[0-9.:]+`).FindString(string(buf[:n]))
	if url == "" {
		t.Fatalf("no address in %q", buf[:n])
	}
	return url
}

// startBrowser starts one Chromium for all tabs of a test.
func startBrowser(t testing.TB) context.Context {
	t.Helper()
	path := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		if os.Getenv("CI") == "" {
			t.Skip("no Chromium here; 'make test' installs it")
		}
		t.Fatal("no Chromium here; 'make test' installs it")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(again(t, path)), chromedp.NoSandbox,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	return ctx
}

// again writes a script that starts a browser anew when it crashes (SIGTRAP, SIGABRT or
// SIGSEGV), as Chromium does in about one of a hundred starts; chromedp panics then.
func again(t testing.TB, browser string) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "browser")
	script := "#!/bin/sh\nfor n in 1 2 3; do\n\t'" + browser + "' \"$@\"\n\tcode=$?\n\tcase $code in 133|134|139) ;; *) exit $code ;; esac\ndone\nexit $code\n"
	if err := os.WriteFile(name, []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	return name
}

// tab is one page of the browser that fails its test on anything that goes wrong
// in the page without being shown.
type tab struct {
	t         testing.TB
	ctx       context.Context
	downloads string
	mu        sync.Mutex
	troubles  []string
	// expected are parts of the errors that the test brings about itself.
	expected []string
}

// newTab opens a page of the given size; touch makes it a phone.
func newTab(t testing.TB, browserCtx context.Context, width, height int64, touch bool) *tab {
	t.Helper()
	ctx, cancel := chromedp.NewContext(browserCtx)
	t.Cleanup(cancel)
	ctx, cancelTime := context.WithTimeout(ctx, 5*time.Minute)
	t.Cleanup(cancelTime)
	p := &tab{t: t, ctx: ctx, downloads: t.TempDir()}
	view := []chromedp.EmulateViewportOption{}
	if touch {
		view = append(view, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	p.do(chromedp.EmulateViewport(width, height, view...))
	if _, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: p.downloads,
	}); err != nil {
		t.Fatal(err)
	}
	if err := chromedp.Listen(ctx, p.watch); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := chromedp.Call(ctx, log.Enable, cdp.Empty{})
		return err
	}))
	t.Cleanup(func() {
		p.mu.Lock()
		defer p.mu.Unlock()
		for _, s := range p.troubles {
			t.Errorf("in the page: %s", s)
		}
		if t.Failed() {
			p.keepPicture()
		}
	})
	return p
}

// watch notes console errors, exceptions, refused content and failed requests.
func (p *tab) watch(ev any) {
	var s string
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		s = "exception: " + ev.ExceptionDetails.Text
		if ev.ExceptionDetails.Exception != nil {
			s += " " + ev.ExceptionDetails.Exception.Description
		}
	case *runtime.EventConsoleAPICalled:
		if ev.Type == runtime.ConsoleAPICalledTypeError {
			s = "console error"
		}
	case *log.EventEntryAdded:
		if ev.Entry.Level == log.EntryLevelError {
			s = ev.Entry.Text + " " + ev.Entry.URL
		}
	case *network.EventResponseReceived:
		if ev.Response.Status >= 400 {
			s = fmt.Sprintf("%d from %s", ev.Response.Status, ev.Response.URL)
		}
	}
	if s == "" {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if !slices.ContainsFunc(p.expected, func(part string) bool { return strings.Contains(s, part) }) {
		p.troubles = append(p.troubles, s)
	}
}

// expect says that errors with these parts are part of the test.
func (p *tab) expect(parts ...string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.expected = append(p.expected, parts...)
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	if err := chromedp.Do(p.ctx, steps...); err != nil {
		p.fail(err)
	}
}

func (p *tab) fail(err error) {
	p.t.Helper()
	p.keepPicture()
	p.t.Fatal(err)
}

// keepPicture leaves a screenshot of a failed test where 'go test -artifacts'
// looks for it.
func (p *tab) keepPicture() {
	ctx, cancel := context.WithTimeout(p.ctx, 5*time.Second)
	defer cancel()
	if png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot()); err == nil {
		_ = os.WriteFile(p.t.ArtifactDir()+"/page.png", png, 0o644)
	}
}

// eval returns the value of an expression in the page.
func eval[T any](p *tab, js string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		p.fail(fmt.Errorf("%s: %w", js, err))
	}
	return v
}

// until waits until an expression in the page is true; for long, since what a machine
// with much to do takes its time for is no fault.
func (p *tab) until(what, js string) {
	p.t.Helper()
	for end := time.Now().Add(90 * time.Second); time.Now().Before(end); time.Sleep(50 * time.Millisecond) {
		if v, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool]("!!("+js+")")); err == nil && v {
			return
		}
	}
	p.fail(fmt.Errorf("waited in vain: %s", what))
}

// frames waits until the page has drawn what was last changed, and once more after
// its boxes took their sizes. A page that lies behind another is not drawn.
func (p *tab) frames() {
	p.t.Helper()
	const js = `new Promise((done) => { const next = (n) => n ? requestAnimationFrame(() => next(n - 1)) : setTimeout(done, 0, true); next(3); setTimeout(done, 2000, true); })`
	if _, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](js, chromedp.EvalAwaitPromise)); err != nil {
		p.fail(err)
	}
}

// press clicks the visible button, link or label that carries the text, once it may be
// clicked.
func (p *tab) press(text string) {
	p.t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll("button,a,label,summary")].find(e => e.offsetParent && !e.disabled && (e.textContent.trim().startsWith(%[1]q) || (e.getAttribute("aria-label") ?? "").startsWith(%[1]q)))`, text)
	p.until("a button "+text, find)
	eval[bool](p, "("+find+".click(), true)")
}

// touch sends one touch event with the given fingers.
func (p *tab) touch(typ input.DispatchTouchEventType, fingers ...[2]float64) {
	p.t.Helper()
	params := input.DispatchTouchEventParams{Type: typ, TouchPoints: []*input.TouchPoint{}}
	for i, f := range fingers {
		id := float64(i)
		params.TouchPoints = append(params.TouchPoints, &input.TouchPoint{X: f[0], Y: f[1], ID: &id})
	}
	if _, err := chromedp.Call(p.ctx, input.DispatchTouchEvent, params); err != nil {
		p.fail(err)
	}
}

// step goes to a step of the piece by its link.
func (p *tab) step(name string) {
	p.t.Helper()
	link := fmt.Sprintf(`document.querySelector(".steps a[href$='/%s']")`, name)
	p.until("the step "+name, link)
	eval[bool](p, "("+link+".click(), true)")
	p.until("to be at "+name, fmt.Sprintf(`document.querySelector("main.step-%s")`, name))
}

// choose takes a value in the list with this label.
func (p *tab) choose(label, value string) {
	p.t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll("select")].find(e => e.labels[0]?.textContent.trim().startsWith(%q))`, label)
	p.until("the list "+label, find)
	eval[bool](p, fmt.Sprintf(`((e) => { e.value = %q; return e.dispatchEvent(new Event("change", { bubbles: true })); })(%s)`, value, find))
}

// fill types into the field with this label and leaves it.
func (p *tab) fill(label, text string) {
	p.t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll("input,textarea")].find(e => e.offsetParent && e.labels?.[0]?.textContent.trim().startsWith(%q))`, label)
	p.until("the field "+label, find)
	eval[bool](p, fmt.Sprintf(`((e) => { e.focus(); e.value = %q; e.dispatchEvent(new Event("change", { bubbles: true })); e.blur(); return true; })(%s)`, text, find))
}
