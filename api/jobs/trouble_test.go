package jobs_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/vision"
)

// A photo over which the tracer dies three times is set aside, and says so.
func TestPhotoThatKillsItsTracer(t *testing.T) {
	r := newRig(t)
	var tries atomic.Int32
	r.start(&fakeTracer{trace: func(context.Context, []api.Stroke) (*vision.Trace, error) {
		tries.Add(1)
		return nil, fmt.Errorf("%w: signal: segmentation fault", jobs.ErrTracerDied)
	}}, jobs.Options{})
	j := r.await(r.job.ID, api.JobFailed)
	if j.Refusal == nil || j.Refusal.Code != "set-aside" || tries.Load() != 3 {
		t.Errorf("after %d tries: %+v", tries.Load(), j.Refusal)
	}
}

// Pictures that are away for a while cost no photo: its job waits and is done when
// they are back, and none of that counts against the photo.
func TestPicturesAwayForAWhile(t *testing.T) {
	r := newRig(t)
	folder := filepath.Join(r.dir, "pictures")
	r.must(os.Rename(folder, folder+"-away"))
	r.start(&fakeTracer{trace: onePiece}, jobs.Options{Attempts: 1})
	time.Sleep(300 * time.Millisecond) // it is tried meanwhile
	if j, err := r.store.Job(t.Context(), r.job.ID); err != nil || j.Status.Final() {
		t.Fatalf("without its picture the job is %+v, %v", j, err)
	}
	r.must(os.Rename(folder+"-away", folder))
	r.await(r.job.ID, api.JobDone)
}

// Pictures that stay away end the job with a word on it, and a damaged one at once.
func TestPicturesThatStayAway(t *testing.T) {
	for name, spoil := range map[string]func(folder string) error{
		"storage": func(folder string) error { return os.Rename(folder, folder+"-away") },
		"damaged": func(folder string) error {
			files, err := filepath.Glob(filepath.Join(folder, "*", "*"))
			if err != nil || len(files) != 1 {
				return fmt.Errorf("files %v, %w", files, err)
			}
			return os.WriteFile(files[0], []byte("rotten"), 0o600)
		},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			r.must(spoil(filepath.Join(r.dir, "pictures")))
			r.start(&fakeTracer{trace: onePiece}, jobs.Options{Patience: 2})
			if j := r.await(r.job.ID, api.JobFailed); j.Refusal == nil || string(j.Refusal.Code) != name || j.Refusal.Remedy == "" {
				t.Errorf("refusal %+v", j.Refusal)
			}
		})
	}
}

// What a person waits for does not wait behind a heap of uploads.
func TestAskedJobsOvertake(t *testing.T) {
	r := newRig(t)
	tr, begun := blocking()
	q, _ := r.start(tr, jobs.Options{Workers: 1})
	<-begun // the only worker for uploads is busy
	p, j, err := r.store.AddPhoto(t.Context(), api.NewPhoto{GarmentID: r.photo.GarmentID, FileName: "b.jpg", Data: []byte("second")}, api.Key{})
	r.must(err)
	r.must(q.Enqueue(t.Context(), *j))
	asked, err := r.store.AddTrace(t.Context(), p.ID, nil, false, api.Key{})
	r.must(err)
	r.must(q.Enqueue(t.Context(), *asked))
	r.await(asked.ID, api.JobDone)
	if first, err := r.store.Job(t.Context(), r.job.ID); err != nil || first.Status != api.JobRunning {
		t.Errorf("the first job is %+v, %v", first, err)
	}
}

// A photo's deletion ends whatever runs on it, strokes included, and lets go of the
// session that waits for more.
func TestForgetStopsStrokes(t *testing.T) {
	r := newRig(t)
	begun := make(chan struct{})
	var runs atomic.Int32
	tr := &fakeTracer{trace: func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
		if runs.Add(1) == 1 {
			return onePiece(ctx, s)
		}
		close(begun)
		<-ctx.Done()
		return nil, ctx.Err()
	}}
	q, _ := r.start(tr, jobs.Options{})
	r.await(r.job.ID, api.JobDone)
	j, err := r.store.AddTrace(t.Context(), r.photo.ID, []api.Stroke{}, false, api.Key{})
	r.must(err)
	r.must(q.Enqueue(t.Context(), *j))
	<-begun
	_, err = r.store.DeletePhoto(t.Context(), r.photo.ID)
	r.must(err)
	q.Forget(r.photo.ID)
	for end := time.Now().Add(10 * time.Second); q.Running() > 0; time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the stroke's job runs on")
		}
	}
}
