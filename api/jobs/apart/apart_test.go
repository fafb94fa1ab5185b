package apart_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/drawing"
	"secondcut/api/jobs"
	"secondcut/api/jobs/apart"
	"secondcut/geometry"
	"secondcut/vision"
)

// asChild makes the test program a child of itself.
const asChild = "SECONDCUT_TEST_CHILD"

func TestMain(m *testing.M) {
	if os.Getenv(asChild) == "" {
		os.Exit(m.Run())
	}
	mib := 512
	if raced {
		mib = 1 << 40
	}
	if err := apart.Limit(mib); err != nil {
		panic(err)
	}
	err := apart.Serve(context.Background(), os.Stdin, os.Stdout, told{}, func() { os.Exit(0) })
	if err != nil {
		panic(err)
	}
}

// told is a tracer that does what the photo's bytes say.
type told struct{}

func (told) Open(_ context.Context, data []byte, progress func(api.Step), opt jobs.TraceOptions) (jobs.Session, error) {
	progress(api.Step{Name: "read", Index: 1, Count: 2, Text: "Reading the photo"})
	switch string(data) {
	case "refuse":
		return nil, vision.Refuse(vision.CodeNoCard, "No card.", "Lay one.")
	case "who":
		return nil, vision.Refuse(vision.CodeNoCard, strconv.Itoa(os.Getpid()), "")
	case "fail":
		return nil, errors.New("cannot")
	case "panic":
		panic("a bug")
	case "exit":
		os.Stderr.WriteString("last words\n")
		os.Exit(7)
	case "segfault":
		_ = syscall.Kill(os.Getpid(), syscall.SIGSEGV)
		select {}
	case "memory":
		var all [][]byte
		for {
			b := make([]byte, 32<<20)
			for i := 0; i < len(b); i += 4096 {
				b[i] = 1
			}
			all = append(all, b)
			runtime.KeepAlive(all)
		}
	case "write":
		return nil, os.WriteFile(filepath.Join(os.TempDir(), "secondcut-written"), []byte("out"), 0o600)
	case "garbage":
		os.Stdout.WriteString("this is no frame, it is a lot of other words")
	case "hang":
		select {}
	}
	return &sheet{data: string(data), print: opt.Print, things: len(opt.References)}, nil
}

// sheet is an open photo that counts its traces.
type sheet struct {
	data   string
	print  api.Print
	things int
	runs   int
}

func (s *sheet) Trace(_ context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error) {
	progress(api.Step{Name: "segment", Index: 2, Count: 2, Text: "Finding the cloth"})
	s.runs++
	return &vision.Trace{Format: s.data, Pieces: []vision.TracedPiece{{UncertaintyMM: float64(s.runs), FrayMM: s.print.AcrossMM + float64(s.things)}}, Findings: make([]geometry.Finding, len(strokes))}, nil
}

func (s *sheet) Backdrop(_ context.Context, t *vision.Trace) (api.Plane, []byte, error) {
	if t == nil {
		return api.Plane{Width: 1}, []byte("all"), nil
	}
	return api.Plane{Width: 2}, []byte("around " + t.Format), nil
}

func (*sheet) Close() error { return nil }

func tracer() *apart.Tracer {
	return &apart.Tracer{Command: func() *exec.Cmd {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), asChild+"=1")
		return cmd
	}}
}

// A child keeps its photo for the strokes that follow.
func TestSession(t *testing.T) {
	var steps []string
	note := func(s api.Step) { steps = append(steps, s.Name) }
	s, err := tracer().Open(t.Context(), []byte("smock"), note, jobs.TraceOptions{Print: api.Print{AcrossMM: 149}, References: make([]api.Reference, 2)})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, pic, err := s.Backdrop(t.Context(), nil); err != nil || string(pic) != "all" {
		t.Errorf("backdrop of all: %q, %v", pic, err)
	}
	for i := 1; i <= 3; i++ {
		tr, err := s.Trace(t.Context(), make([]api.Stroke, i), note)
		if err != nil || tr.Pieces[0].UncertaintyMM != float64(i) || tr.Pieces[0].FrayMM != 151 || len(tr.Findings) != i {
			t.Fatalf("trace %d: %+v, %v", i, tr, err)
		}
		plane, pic, err := s.Backdrop(t.Context(), tr)
		if err != nil || plane.Width != 2 || string(pic) != "around smock" {
			t.Errorf("backdrop %d: %+v %q %v", i, plane, pic, err)
		}
	}
	if got := strings.Join(steps, " "); got != "read segment segment segment" {
		t.Errorf("steps: %s", got)
	}
	if _, _, err := s.Backdrop(t.Context(), &vision.Trace{}); err == nil {
		t.Error("a backdrop of a foreign trace")
	}
	if err := errors.Join(s.Close(), s.Close()); err != nil {
		t.Error(err)
	}
	if _, err := s.Trace(t.Context(), nil, note); !errors.Is(err, jobs.ErrTracerDied) {
		t.Errorf("trace after the end: %v", err)
	}
}

// Whatever a photo does to its child is an error here and nothing worse.
func TestChildThatBreaksDown(t *testing.T) {
	for data, want := range map[string]string{
		"refuse":   "no-card",
		"fail":     "cannot",
		"panic":    "a bug",
		"exit":     "exit status 7",
		"segfault": "exit status 2",
		"memory":   "exit status 2",
		"garbage":  "could not be read",
		"write":    "too large",
	} {
		t.Run(data, func(t *testing.T) {
			if runtime.GOOS != "linux" && (data == "memory" || data == "write") {
				t.Skip("the system sets no such bounds")
			}
			if raced && data == "memory" {
				t.Skip("the race detector's child has no bound")
			}
			s, err := tracer().Open(t.Context(), []byte(data), func(api.Step) {}, jobs.TraceOptions{})
			if err == nil {
				t.Fatalf("opened: %v", s)
			}
			died := errors.Is(err, jobs.ErrTracerDied)
			if alive := data == "refuse" || data == "fail" || data == "panic" || data == "write"; died == alive || !strings.Contains(err.Error(), want) {
				t.Errorf("error: %v", err)
			}
			if r, ok := errors.AsType[*vision.Refusal](err); ok != (data == "refuse") || ok && r.Remedy != "Lay one." {
				t.Errorf("refusal: %+v", r)
			}
			if data == "exit" && !strings.Contains(err.Error(), "last words") {
				t.Errorf("the last words are missing: %v", err)
			}
		})
	}
}

// A child that did its work well has the next photo too; one that broke down takes all
// that wait with it.
func TestSpareChildren(t *testing.T) {
	who := func(tr *apart.Tracer) string {
		t.Helper()
		_, err := tr.Open(t.Context(), []byte("who"), func(api.Step) {}, jobs.TraceOptions{})
		r, ok := errors.AsType[*vision.Refusal](err)
		if !ok {
			t.Fatal(err)
		}
		return r.Message
	}
	open := func(tr *apart.Tracer) jobs.Session {
		t.Helper()
		s, err := tr.Open(t.Context(), []byte("smock"), func(api.Step) {}, jobs.TraceOptions{})
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	none := tracer()
	if first, second := who(none), who(none); first == second {
		t.Error("a child was kept that nobody asked to keep")
	}
	tr := tracer()
	tr.Spare = 1
	first := who(tr)
	if again := who(tr); again != first {
		t.Errorf("child %s did well, and the next photo went to %s", first, again)
	}
	a, b := open(tr), open(tr) // the one at hand, and a new one
	for _, s := range []jobs.Session{a, b} {
		if _, err := s.Trace(t.Context(), nil, func(api.Step) {}); err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if again := who(tr); again != first {
		t.Errorf("two were given back, one is kept: %s, want %s", again, first)
	}
	for _, bad := range []string{"fail", "exit"} {
		tr.Spare = 2
		before, held := who(tr), open(tr)
		second := open(tr)
		_, _ = held.Close(), second.Close() // two wait
		if _, err := tr.Open(t.Context(), []byte(bad), func(api.Step) {}, jobs.TraceOptions{}); err == nil {
			t.Fatalf("%s: no error", bad)
		}
		if after := who(tr); after == before {
			t.Errorf("%s: a child was kept that had waited beside it", bad)
		}
	}
	// One that was at work when another broke down is not used again.
	before, held := who(tr), open(tr)
	if _, err := tr.Open(t.Context(), []byte("exit"), func(api.Step) {}, jobs.TraceOptions{}); err == nil {
		t.Fatal("no error")
	}
	if _ = held.Close(); who(tr) == before {
		t.Error("a child was kept that had worked beside one that broke down")
	}
	// One that died while it waited is nobody's fault.
	dead := who(tr)
	pid, err := strconv.Atoi(dead)
	if err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	last := who(tr)
	if last == dead {
		t.Error("a dead child answers")
	}
	for range 45 {
		if who(tr) != last {
			return
		}
	}
	t.Error("a child has photos for ever")
}

// A context that ends kills the child at once, though it hangs.
func TestCancelKills(t *testing.T) {
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	start := time.Now()
	_, err := tracer().Open(ctx, []byte("hang"), func(api.Step) {}, jobs.TraceOptions{})
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("error: %v", err)
	}
	if d := time.Since(start); d > 5*time.Second {
		t.Errorf("it took %v", d)
	}
}

// A child whose parent has gone ends by itself, also while it is busy.
func TestOrphanEnds(t *testing.T) {
	cmd := tracer().Command()
	in, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	// A request to open the photo "hang", written by hand.
	head := `{"ask":"open"}`
	frame := append([]byte{0, 0, 0, byte(len(head)), 0, 0, 0, 4}, head+"hang"...)
	if _, err := in.Write(frame); err != nil {
		t.Fatal(err)
	}
	if _, err := io.ReadFull(out, make([]byte, 16)); err != nil { // its first step
		t.Fatal(err)
	}
	in.Close()
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		_ = cmd.Process.Kill()
		t.Error("the child goes on without its parent")
	}
}

func TestStripAndPreview(t *testing.T) {
	photo, err := os.ReadFile("../../../testdata/photos/d18_refuse_no_cloth.jpg")
	if err != nil {
		t.Fatal(err)
	}
	got, err := tracer().Strip(t.Context(), photo, vision.Limits{})
	want, werr := vision.StripMetadata(t.Context(), photo, vision.Limits{})
	if err != nil || werr != nil || !bytes.Equal(got, want) {
		t.Errorf("stripped apart: %d bytes, %v; here: %d bytes, %v", len(got), err, len(want), werr)
	}
	small, err := tracer().Preview(t.Context(), photo, vision.Limits{}, 300)
	if err != nil {
		t.Fatal(err)
	}
	if info, err := vision.Header(small, vision.Limits{}); err != nil || max(info.Width, info.Height) != 300 {
		t.Errorf("preview: %+v, %v", info, err)
	}
	if _, err := tracer().Preview(t.Context(), photo[:2000], vision.Limits{}, 300); err == nil {
		t.Error("a preview of a broken photo")
	}
}

// Frames that come from elsewhere end the child with an error, never with a crash.
func FuzzServe(f *testing.F) {
	f.Add([]byte{0, 0, 0, 2, 0, 0, 0, 0, '{', '}'})
	f.Add([]byte{0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0})
	f.Add([]byte("\x00\x00\x00\x0f\x00\x00\x00\x00{\"ask\":\"trace\"}"))
	f.Add([]byte("\x00\x00\x00\x0e\x00\x00\x00\x06{\"ask\":\"open\"}refuse"))
	f.Fuzz(func(t *testing.T, in []byte) {
		if bytes.Contains(in, []byte("open")) && !bytes.Contains(in, []byte("refuse")) {
			return // that tracer can be told to break down
		}
		var out bytes.Buffer
		_ = apart.Serve(t.Context(), bytes.NewReader(in), &out, told{}, nil)
	})
}

// A child draws what is drawn here, says in its own words what cannot be drawn, and is
// gone when nobody waits any more.
func TestDrawing(t *testing.T) {
	g, err := os.ReadFile("../../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	e := api.Export{Format: "pdf", Paper: "a4"}
	want, err := drawing.Drawer{}.Draw(t.Context(), g, e)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := tracer().Draw(t.Context(), g, e); err != nil || !bytes.Equal(got, want) {
		t.Errorf("%d bytes, want %d; %v", len(got), len(want), err)
	}
	e.Tiles = []string{"Z99"}
	_, err = tracer().Draw(t.Context(), g, e)
	if r, ok := errors.AsType[*vision.Refusal](err); !ok || !strings.Contains(r.Message, "Z99") {
		t.Errorf("no such sheet: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := tracer().Draw(ctx, g, e); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}
