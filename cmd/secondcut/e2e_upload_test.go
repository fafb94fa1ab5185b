package main

import (
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

// cutLine passes requests on to the service until it has passed on one part of a photo
// whole; it breaks the connection in the middle of the next, and every one after that
// until it is mended.
type cutLine struct {
	mu     sync.Mutex
	passed []int64 // offsets of the parts that the service has acknowledged
	cut    bool
	mended bool
	broken chan struct{} // closed when the line is cut
}

func newCutLine(t *testing.T, service string) (address string, l *cutLine) {
	t.Helper()
	target, err := url.Parse(service)
	if err != nil {
		t.Fatal(err)
	}
	l = &cutLine{broken: make(chan struct{})}
	proxy := &httputil.ReverseProxy{ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelError), Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(target)
		r.Out.Host = r.In.Host
	}, ModifyResponse: l.note}
	line := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if l.cuts(r) {
			_, _ = io.CopyN(io.Discard, r.Body, r.ContentLength/2)
			panic(http.ErrAbortHandler)
		}
		proxy.ServeHTTP(w, r)
	}))
	t.Cleanup(func() {
		line.CloseClientConnections() // event streams
		line.Close()
	})
	return line.URL, l
}

// isPart reports whether a request sends a part.
func isPart(r *http.Request) bool {
	return r.Method == http.MethodPut && strings.Contains(r.URL.Path, "/uploads/")
}

// cuts says whether the connection of a request breaks.
func (l *cutLine) cuts(r *http.Request) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.mended || !l.cut && !(isPart(r) && len(l.passed) == 1) {
		return false
	}
	if !l.cut {
		l.cut = true
		close(l.broken)
	}
	return true
}

// note writes down the parts that arrive.
func (l *cutLine) note(res *http.Response) error {
	if isPart(res.Request) && res.StatusCode == http.StatusOK {
		l.mu.Lock()
		defer l.mu.Unlock()
		at, err := strconv.ParseInt(res.Request.URL.Query().Get("offset"), 10, 64)
		if err != nil {
			return err
		}
		l.passed = append(l.passed, at)
	}
	return nil
}

// A photo whose connection breaks in the middle of a part goes on from there once the
// connection is back, by itself, and nothing that has arrived is sent again.
func TestPhotoGoesOnWhereItWasCutOff(t *testing.T) {
	t.Parallel()
	address, line := newCutLine(t, startService(t))
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.expect("net::ERR_", "502")
	p.startGarment(address, "A bad network")
	p.addPhoto("../../testdata/photos/d1_plain_on_paper.jpg")
	select {
	case <-line.broken:
	case <-time.After(2 * time.Minute):
		t.Fatal("no second part was sent")
	}
	p.until("the photo on its way, or the word that it is not sent", `/Sending the photo|Not sent yet/.test(document.body.innerText)`)
	line.mu.Lock()
	line.mended = true
	line.mu.Unlock()
	// On a slow machine the page may have given up, and then the person asks for it.
	p.until("the traced piece", `([...document.querySelectorAll("button")].find((e) => e.textContent.trim() === "Try again")?.click(),
		document.querySelector("a.piece-link"))`)
	line.mu.Lock()
	defer line.mu.Unlock()
	var want []int64
	for at := int64(0); at < 1_821_378; at += 512 << 10 { // the size of the photo, the length of a part
		want = append(want, at)
	}
	if !slices.Equal(line.passed, want) {
		t.Errorf("parts that arrived began at %d, want %d, each once", line.passed, want)
	}
}
