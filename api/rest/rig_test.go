package rest_test

import (
	"bytes"
	"context"
	"encoding/json"
	"image"
	"image/color"
	"image/jpeg"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/api/rest"
	"secondcut/api/store"
	"secondcut/api/store/storetest"
	"secondcut/geometry"
	"secondcut/vision"
)

// tracer finds one triangle in every photo, unless trace says otherwise.
type tracer struct {
	trace func(ctx context.Context, strokes []api.Stroke) (*vision.Trace, error)
	// prints and references are those of the photos opened, in order.
	mu         sync.Mutex
	prints     []api.Print
	references [][]api.Reference
}

func (f *tracer) Open(_ context.Context, _ []byte, progress func(api.Step), opt jobs.TraceOptions) (jobs.Session, error) {
	f.mu.Lock()
	f.prints = append(f.prints, opt.Print)
	f.references = append(f.references, opt.References)
	f.mu.Unlock()
	progress(api.Step{Name: "read", Index: 1, Count: 2, Text: "Reading the photo"})
	return session{f}, nil
}

type session struct{ f *tracer }

func (s session) Trace(ctx context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error) {
	progress(api.Step{Name: "segment", Index: 2, Count: 2, Text: "Finding the cloth"})
	if s.f.trace != nil {
		return s.f.trace(ctx, strokes)
	}
	path := geometry.Path{{At: pt(0, 0), Corner: true}, {At: pt(90, 0), Corner: true, Out: ptr(pt(95, 30))}, {At: pt(80, 60), Corner: true}}
	ring := path.Flatten(0.02)
	return &vision.Trace{
		Format: vision.TraceFormat, Findings: []geometry.Finding{}, Calibration: vision.Calibration{Cards: []vision.CardReport{{ID: 3, Used: true, MeasuredMM: 64.01}}},
		Pieces: []vision.TracedPiece{{
			Outline: ring, Corners: path.Corners(), Holes: []geometry.Polyline{}, Knots: path, HoleKnots: []geometry.Path{},
			UncertaintyMM: 0.3, FrayMM: 0.8, Unsure: []geometry.Stretch{{From: pt(0, 0), To: pt(90, 0), Why: "shadow"}},
			Seen: []vision.SeenEdge{{Points: ring, Doubts: []vision.EdgeDoubt{{From: 0, To: 0, UncertaintyMM: 0.4, FrayMM: 0.8}}}},
		}},
	}, nil
}

func (s session) Backdrop(context.Context, *vision.Trace) (api.Plane, []byte, error) {
	return api.Plane{PxPerMM: 2, Origin: pt(-1, 2), Width: 20, Height: 10}, photoBytes(20, 10), nil
}

func (session) Close() error { return nil }

func pt(x, y float64) geometry.Point              { return geometry.Point{X: x, Y: y} }
func ptr(p geometry.Point) *geometry.Point        { return &p }
func quiet() *slog.Logger                         { return slog.New(slog.NewTextHandler(io.Discard, nil)) }
func reader(s string) io.Reader                   { return strings.NewReader(s) }
func mustJSON[T any](r *rig, b []byte) (v T)      { r.Helper(); r.must(json.Unmarshal(b, &v)); return v }
func header(name, value string) map[string]string { return map[string]string{name: value} }

// photoBytes is a small JPEG.
func photoBytes(w, h int) []byte {
	img := image.NewGray(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = color.Gray{Y: uint8(i * 7)}.Y
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, nil); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// rig is the whole service on a real store, with a tracer of our own.
type rig struct {
	*testing.T
	dir    string
	tracer *tracer
	store  *store.Store
	queue  *jobs.Queue
	opt    rest.Options
	// queueOpt are those of the queue.
	queueOpt jobs.Options
	server   *httptest.Server
	// check, where set, looks at every exchange.
	check func(*http.Request, *http.Response, []byte)
}

// page is a page of three files, one of them not to be given out.
func page() (map[string][]byte, error) {
	return map[string][]byte{
		"index.html":             []byte(`<!doctype html><script type="module" src="built/main-ABCDEFGH.js"></script>`),
		"built/main-ABCDEFGH.js": []byte("export {}\n"),
		"app/sign.svg":           []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"),
		"secret.go":              []byte("package web\n"),
	}, nil
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{T: t, dir: t.TempDir(), tracer: &tracer{}}
	r.start()
	t.Cleanup(r.stop)
	return r
}

func (r *rig) start() {
	r.Helper()
	var err error
	r.store, err = store.OpenAt(r.Context(), storetest.Place(r, r.dir))
	r.must(err)
	r.queueOpt.Logger, r.queueOpt.RetryAfter = quiet(), time.Millisecond
	r.queue, err = jobs.New(r.Context(), r.store, r.store, r.tracer, r.queueOpt)
	r.must(err)
	r.must(r.queue.Start(r.Context()))
	r.opt.Store, r.opt.Queue, r.opt.People, r.opt.Files, r.opt.Logger = r.store, r.queue, r.store, page, quiet()
	r.server = httptest.NewServer(rest.New(r.opt))
}

// stop ends the service as the command does.
func (r *rig) stop() {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	r.server.CloseClientConnections()
	r.server.Close()
	if err := r.queue.Stop(ctx); err != nil {
		r.Error(err)
	}
	if err := r.store.Close(); err != nil {
		r.Error(err)
	}
}

func (r *rig) must(err error) {
	r.Helper()
	if err != nil {
		r.Fatal(err)
	}
}

// do sends one request and returns status, header and body.
func (r *rig) do(method, url string, body io.Reader, headers map[string]string) (*http.Response, []byte) {
	r.Helper()
	if strings.HasPrefix(url, "/") && !strings.HasPrefix(url, "//") {
		url = r.server.URL + url
	}
	req, err := http.NewRequestWithContext(r.Context(), method, url, body)
	r.must(err)
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	for name, value := range headers {
		if name == "Host" {
			req.Host = value
		}
		req.Header.Set(name, value)
	}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	r.must(err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	r.must(err)
	if r.check != nil {
		r.check(req, res, data)
	}
	return res, data
}

// want sends one request that must have the status and returns its body.
func (r *rig) want(status int, method, url, body string, headers map[string]string) []byte {
	r.Helper()
	var in io.Reader
	if body != "" {
		in = reader(body)
	}
	res, data := r.do(method, url, in, headers)
	if res.StatusCode != status {
		r.Fatalf("%s %s: status %d, want %d: %s", method, url, res.StatusCode, status, data)
	}
	return data
}

func (r *rig) garment() api.Garment {
	r.Helper()
	return mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments", `{"name":"Smock"}`, nil))
}

// upload sends a photo and returns it with its job.
func (r *rig) upload(garmentID, query string, data []byte) (photo api.Photo, jobID string) {
	r.Helper()
	res, body := r.do("POST", "/api/v1/garments/"+garmentID+"/photos"+query, bytes.NewReader(data), header("Content-Type", "image/jpeg"))
	if res.StatusCode != 202 {
		r.Fatalf("upload: status %d: %s", res.StatusCode, body)
	}
	got := mustJSON[struct {
		Photo api.Photo `json:"photo"`
		JobID string    `json:"job_id"`
	}](r, body)
	return got.Photo, got.JobID
}

// events reads the whole event stream of a job, or n events of it.
func (r *rig) events(jobID string, n int, headers map[string]string) []sent {
	r.Helper()
	req, err := http.NewRequestWithContext(r.Context(), "GET", r.server.URL+"/api/v1/jobs/"+jobID+"/events", nil)
	r.must(err)
	for name, value := range headers {
		req.Header.Set(name, value)
	}
	res, err := http.DefaultClient.Do(req)
	r.must(err)
	defer res.Body.Close()
	if ct := res.Header.Get("Content-Type"); res.StatusCode != 200 || ct != "text/event-stream" {
		r.Fatalf("events: status %d, type %s", res.StatusCode, ct)
	}
	return readEvents(r, res.Body, n)
}

// traced uploads a photo and waits until it is traced.
func (r *rig) traced() (api.Photo, api.Piece) {
	r.Helper()
	g := r.garment()
	p, job := r.upload(g.ID, "?name=Front.jpg&face=right", photoBytes(400, 300))
	all := r.events(job, 0, nil)
	if last := all[len(all)-1]; last.name != "done" {
		r.Fatalf("job ended with %s: %s", last.name, last.data)
	}
	p = mustJSON[api.Photo](r, r.want(200, "GET", "/api/v1/photos/"+p.ID, "", nil))
	g = mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+g.ID, "", nil))
	if len(g.Pieces) != 1 {
		r.Fatalf("garment has %d pieces", len(g.Pieces))
	}
	return p, mustJSON[api.Piece](r, r.want(200, "GET", "/api/v1/pieces/"+g.Pieces[0].ID, "", nil))
}

// leftovers counts the picture files in the data folder.
func (r *rig) leftovers() int {
	r.Helper()
	n := 0
	err := filepath.WalkDir(filepath.Join(r.dir, "pictures"), func(_ string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			n++
		}
		return nil
	})
	r.must(err)
	return n
}

// sent is a server-sent event as received.
type sent struct{ id, name, data string }

func readEvents(r *rig, body io.Reader, n int) []sent {
	r.Helper()
	var out []sent
	var e sent
	data := make([]byte, 0, 1<<16)
	buf := make([]byte, 4096)
	for n == 0 || len(out) < n {
		k, err := body.Read(buf)
		data = append(data, buf[:k]...)
		for {
			line, rest, ok := bytes.Cut(data, []byte("\n"))
			if !ok {
				break
			}
			data = rest
			field, value, _ := strings.Cut(string(line), ": ")
			switch field {
			case "id":
				e.id = value
			case "event":
				e.name = value
			case "data":
				e.data = value
				out = append(out, e)
			}
		}
		if err == io.EOF {
			return out
		}
		r.must(err)
	}
	return out
}
