package jobs_test

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"math"
	"sync/atomic"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/api/store"
	"secondcut/api/store/storetest"
	"secondcut/geometry"
	"secondcut/vision"
)

// fakeTracer answers every photo with trace, which sees the photo's bytes.
type fakeTracer struct {
	opened atomic.Int32
	trace  func(ctx context.Context, strokes []api.Stroke) (*vision.Trace, error)
}

func (f *fakeTracer) Open(_ context.Context, _ []byte, progress func(api.Step), _ jobs.TraceOptions) (jobs.Session, error) {
	f.opened.Add(1)
	progress(api.Step{Name: "read", Index: 1, Count: 2, Text: "Reading the photo"})
	return fakeSession{f}, nil
}

type fakeSession struct{ f *fakeTracer }

func (s fakeSession) Trace(ctx context.Context, strokes []api.Stroke, progress func(api.Step)) (*vision.Trace, error) {
	progress(api.Step{Name: "segment", Index: 2, Count: 2, Text: "Finding the cloth"})
	return s.f.trace(ctx, strokes)
}

func (s fakeSession) Backdrop(context.Context, *vision.Trace) (api.Plane, []byte, error) {
	return api.Plane{PxPerMM: 2, Width: 20, Height: 10}, []byte("a plane"), nil
}

func (fakeSession) Close() error { return nil }

func square() geometry.Path {
	return geometry.Path{{At: geometry.Point{X: 0, Y: 0}}, {At: geometry.Point{X: 50, Y: 0}}, {At: geometry.Point{X: 50, Y: 50}}}
}

func onePiece(context.Context, []api.Stroke) (*vision.Trace, error) {
	return &vision.Trace{Format: vision.TraceFormat, Pieces: []vision.TracedPiece{{Knots: square(), UncertaintyMM: 0.3}}}, nil
}

// rig is a store with one uploaded photo.
type rig struct {
	*testing.T
	dir   string
	store *store.Store
	photo *api.Photo
	job   *api.Job
}

func newRig(t *testing.T) *rig {
	t.Helper()
	r := &rig{T: t, dir: t.TempDir()}
	r.open()
	g, err := r.store.CreateGarment(t.Context(), "smock", api.Key{})
	r.must(err)
	r.photo, r.job, err = r.store.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, FileName: "Front.jpg", Width: 400, Height: 300, Data: []byte("a photo")}, api.Key{})
	r.must(err)
	return r
}

func (r *rig) open() {
	r.Helper()
	var err error
	r.store, err = store.OpenAt(r.Context(), storetest.Place(r, r.dir))
	r.must(err)
	s := r.store
	r.Cleanup(func() { s.Close() })
}

func (r *rig) must(err error) {
	r.Helper()
	if err != nil {
		r.Fatal(err)
	}
}

// start runs a queue until the test or stop ends it.
func (r *rig) start(tr jobs.Tracer, opt jobs.Options) (q *jobs.Queue, stop func()) {
	r.Helper()
	opt.Logger = slog.New(slog.NewTextHandler(io.Discard, nil))
	opt.RetryAfter = time.Millisecond
	q, err := jobs.New(r.Context(), r.store, r.store, tr, opt)
	r.must(err)
	r.must(q.Start(r.Context()))
	done := false
	stop = func() {
		if !done {
			done = true
			ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
			defer cancel()
			if err := q.Stop(ctx); err != nil {
				r.Error(err)
			}
		}
	}
	r.Cleanup(stop)
	return q, stop
}

// await waits until the job has the status.
func (r *rig) await(id string, want api.JobStatus) *api.Job {
	r.Helper()
	ch, stop := r.store.Watch(id)
	defer stop()
	late := time.After(20 * time.Second)
	for {
		j, err := r.store.Job(r.Context(), id)
		r.must(err)
		if j.Status == want {
			return j
		}
		if j.Status.Final() {
			r.Fatalf("job ended as %s (%v), want %s", j.Status, j.Refusal, want)
		}
		select {
		case <-ch:
		case <-late:
			r.Fatalf("job is still %s, want %s", j.Status, want)
		}
	}
}

func TestTraceMakesPieces(t *testing.T) {
	r := newRig(t)
	tr := &fakeTracer{trace: onePiece}
	q, _ := r.start(tr, jobs.Options{}) // finds the photo that was waiting
	r.await(r.job.ID, api.JobDone)

	p, err := r.store.Photo(t.Context(), r.photo.ID)
	r.must(err)
	if p.Status != api.PhotoTraced || p.Trace == nil || p.Plane == nil || p.Plane.Width != 20 {
		t.Fatalf("photo after the job: %+v", p)
	}
	g, err := r.store.Garment(t.Context(), p.GarmentID)
	r.must(err)
	if len(g.Pieces) != 1 || g.Pieces[0].Name != "Front" {
		t.Fatalf("pieces after the job: %+v", g.Pieces)
	}

	// A stroke is answered by the warm session and changes no piece.
	strokes := []api.Stroke{{Kind: "cloth", WidthMM: 5, Points: []geometry.Point{{X: 1, Y: 2}}}}
	var got []api.Stroke
	tr.trace = func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) { got = s; return onePiece(ctx, s) }
	j, err := r.store.AddTrace(t.Context(), p.ID, strokes, false, api.Key{})
	r.must(err)
	r.must(q.Enqueue(t.Context(), *j))
	j = r.await(j.ID, api.JobDone)
	if j.Kind != api.JobRetrace || j.Trace == nil || len(j.Trace.Pieces) != 1 {
		t.Errorf("retrace: %+v", j)
	}
	if n := tr.opened.Load(); n != 1 {
		t.Errorf("the photo was read %d times, want once", n)
	}
	if len(got) != 1 || got[0].Points[0] != strokes[0].Points[0] {
		t.Errorf("the tracer got strokes %+v", got)
	}
	again, err := r.store.Garment(t.Context(), p.GarmentID)
	r.must(err)
	if len(again.Pieces) != 1 || again.Pieces[0] != g.Pieces[0] {
		t.Errorf("the retrace changed the pieces: %+v", again.Pieces)
	}
}

func TestEndings(t *testing.T) {
	refusal := &vision.Refusal{Code: vision.CodeNoCard, Message: "No card.", Remedy: "Lay one."}
	tests := []struct {
		name  string
		trace func(ctx context.Context, strokes []api.Stroke) (*vision.Trace, error)
		opt   jobs.Options
		want  api.JobStatus
		code  vision.Code
		photo api.PhotoStatus
		tries int32
	}{
		{"refused without retry", func(context.Context, []api.Stroke) (*vision.Trace, error) { return nil, refusal }, jobs.Options{}, api.JobRefused, vision.CodeNoCard, api.PhotoRefused, 1},
		{"error until given up", func(context.Context, []api.Stroke) (*vision.Trace, error) { return nil, errors.New("disk on fire") }, jobs.Options{}, api.JobFailed, "internal", api.PhotoFailed, 3},
		{"panic until given up", func(context.Context, []api.Stroke) (*vision.Trace, error) { panic("a bug") }, jobs.Options{Attempts: 2}, api.JobFailed, "internal", api.PhotoFailed, 2},
		{"too slow", func(ctx context.Context, _ []api.Stroke) (*vision.Trace, error) { <-ctx.Done(); return nil, ctx.Err() }, jobs.Options{Timeout: 50 * time.Millisecond}, api.JobFailed, "too-slow", api.PhotoFailed, 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel() // they mostly wait
			r := newRig(t)
			var tries atomic.Int32
			tr := &fakeTracer{trace: func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
				tries.Add(1)
				return tt.trace(ctx, s)
			}}
			r.start(tr, tt.opt)
			j := r.await(r.job.ID, tt.want)
			if j.Refusal == nil || j.Refusal.Code != tt.code || j.Refusal.Message == "" || j.Refusal.Remedy == "" {
				t.Errorf("refusal %+v, want code %s", j.Refusal, tt.code)
			}
			p, err := r.store.Photo(t.Context(), r.photo.ID)
			r.must(err)
			if p.Status != tt.photo || p.Refusal == nil || p.Refusal.Code != tt.code {
				t.Errorf("photo is %s with %+v, want %s", p.Status, p.Refusal, tt.photo)
			}
			if n := tries.Load(); n != tt.tries {
				t.Errorf("tried %d times, want %d", n, tt.tries)
			}
		})
	}
}

// blocking is a tracer whose first run says that it has begun and then waits for
// its end; later runs find one piece.
func blocking() (*fakeTracer, chan struct{}) {
	begun := make(chan struct{})
	var runs atomic.Int32
	return &fakeTracer{trace: func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
		if runs.Add(1) > 1 {
			return onePiece(ctx, s)
		}
		close(begun)
		<-ctx.Done()
		return nil, ctx.Err()
	}}, begun
}

func TestCancel(t *testing.T) {
	t.Run("running", func(t *testing.T) {
		r := newRig(t)
		tr, begun := blocking()
		q, _ := r.start(tr, jobs.Options{})
		<-begun
		j, err := q.Cancel(t.Context(), r.job.ID)
		r.must(err)
		if j.Status != api.JobCancelled {
			t.Errorf("status %s", j.Status)
		}
		// Tracing again works: the photo has no pieces yet.
		j, err = r.store.AddTrace(t.Context(), r.photo.ID, nil, false, api.Key{})
		r.must(err)
		r.must(q.Enqueue(t.Context(), *j))
		if j = r.await(j.ID, api.JobDone); j.Kind != api.JobTrace {
			t.Errorf("kind %s, want trace", j.Kind)
		}
		r.await(r.job.ID, api.JobCancelled)
	})
	t.Run("waiting", func(t *testing.T) {
		r := newRig(t)
		tr := &fakeTracer{trace: onePiece}
		_, err := r.store.CancelJob(t.Context(), r.job.ID)
		r.must(err)
		q, _ := r.start(tr, jobs.Options{})
		r.must(q.Enqueue(t.Context(), *r.job))
		second, err := r.store.AddTrace(t.Context(), r.photo.ID, nil, false, api.Key{})
		r.must(err)
		r.must(q.Enqueue(t.Context(), *second))
		r.await(second.ID, api.JobDone)
		r.await(r.job.ID, api.JobCancelled)
		if n := tr.opened.Load(); n != 1 {
			t.Errorf("photo read %d times, want once: the cancelled job must not run", n)
		}
	})
}

// A stopped service runs its unfinished job again, and the stop does not count
// as a failure of the job.
func TestStopAndStartAgain(t *testing.T) {
	r := newRig(t)
	tr, begun := blocking()
	_, stop := r.start(tr, jobs.Options{Attempts: 1})
	<-begun
	stop()
	r.await(r.job.ID, api.JobQueued)
	r.must(r.store.Close())
	r.open()
	r.start(tr, jobs.Options{Attempts: 1})
	r.await(r.job.ID, api.JobDone)
}

// A process that dies leaves its job running, in the store and in River: the next
// one runs it, and gives up a job that has brought it down too often.
func TestCrash(t *testing.T) {
	r := newRig(t)
	tr := &fakeTracer{trace: onePiece}
	w, err := r.store.ClaimJob(t.Context(), r.job.ID)
	r.must(err)
	if w == nil || w.Attempt != 1 {
		t.Fatalf("claim: %+v", w)
	}
	_, stop := r.start(tr, jobs.Options{Crashes: 2})
	r.await(r.job.ID, api.JobDone)
	stop()

	p, j, err := r.store.AddPhoto(t.Context(), api.NewPhoto{GarmentID: r.photo.GarmentID, FileName: "b.jpg", Data: []byte("poison")}, api.Key{})
	r.must(err)
	for range 2 {
		_, err = r.store.ClaimJob(t.Context(), j.ID)
		r.must(err)
		_, err = r.store.RequeueJobs(t.Context())
		r.must(err)
	}
	opened := tr.opened.Load()
	r.start(tr, jobs.Options{Crashes: 2})
	r.await(j.ID, api.JobFailed)
	if tr.opened.Load() != opened {
		t.Error("the photo that brought the process down was opened again")
	}
	got, err := r.store.Photo(t.Context(), p.ID)
	r.must(err)
	if got.Status != api.PhotoFailed {
		t.Errorf("photo is %s", got.Status)
	}
}

func TestPhotoDeletedWhileItRuns(t *testing.T) {
	r := newRig(t)
	tr, begun := blocking()
	q, _ := r.start(tr, jobs.Options{})
	<-begun
	_, err := r.store.DeletePhoto(t.Context(), r.photo.ID)
	r.must(err)
	if _, err := q.Cancel(t.Context(), r.job.ID); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("cancelling a deleted job: %v", err)
	}
	q.Forget(r.photo.ID)
	for end := time.Now().Add(10 * time.Second); q.Running() > 0; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the job runs on")
		}
	}
}

// A trace that can't be kept, here for a number that JSON does not have, does not
// leave the job running for ever: it is tried again, and given up in the end.
func TestOutcomeThatCannotBeKept(t *testing.T) {
	for name, c := range map[string]struct {
		bad  int32
		want api.JobStatus
	}{"once": {1, api.JobDone}, "always": {99, api.JobFailed}} {
		t.Run(name, func(t *testing.T) {
			t.Parallel() // they mostly wait
			r := newRig(t)
			var calls atomic.Int32
			r.start(&fakeTracer{trace: func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
				got, err := onePiece(ctx, s)
				if calls.Add(1) <= c.bad {
					got.Pieces[0].UncertaintyMM = math.NaN()
				}
				return got, err
			}}, jobs.Options{Attempts: 3})
			r.await(r.job.ID, c.want)
		})
	}
}
