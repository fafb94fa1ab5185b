package jobs

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime/debug"
	"time"

	"github.com/riverqueue/river"

	"secondcut/api"
	"secondcut/vision"
)

// worker is what River calls.
type worker struct {
	river.WorkerDefaults[args]
	queue *Queue
}

// Work runs one job. An error makes River offer the job again.
func (w *worker) Work(ctx context.Context, job *river.Job[args]) error {
	return w.queue.work(ctx, job.Args.JobID, job.Attempt)
}

// NextRetry says when River offers a job again.
func (w *worker) NextRetry(job *river.Job[args]) time.Time {
	return time.Now().Add(w.queue.pause(job.Attempt))
}

// pause is the time before a job is tried again that was tried n times.
func (q *Queue) pause(n int) time.Duration {
	const longest = 30
	return q.opt.RetryAfter * time.Duration(min(longest, 1<<min(max(n-1, 0), 8)))
}

var (
	errSlow = errors.New("took too long")
	// errStore says that the store could not read or keep what a job needs, which
	// is not the photo's fault and may pass.
	errStore = errors.New("the store failed")
)

// work claims the job, runs it and tells the store how it ended. tries counts how
// often River has offered it.
func (q *Queue) work(ctx context.Context, id string, tries int) error {
	w, err := q.store.ClaimJob(ctx, id)
	if err != nil || w == nil {
		return err
	}
	log := q.opt.Logger.With("job", id, "kind", w.Kind, "attempt", w.Attempt)
	// What is told to the store must arrive though the job's time is over.
	save := context.WithoutCancel(ctx)
	if w.Attempt > q.opt.Attempts || w.Crashes >= q.opt.Crashes {
		log.Error("job given up", "crashes", w.Crashes)
		return q.finish(save, w, api.Outcome{Status: api.JobFailed, Refusal: givenUp(w.Kind)})
	}
	out, err := q.timed(ctx, w)
	switch {
	case err == nil:
		return q.finish(save, w, out)
	case errors.Is(err, errCancelled):
		return nil // the store has it already, or has it no more
	case errors.Is(err, errSlow):
		log.Warn("job stopped: it took too long")
		return q.finish(save, w, api.Outcome{Status: api.JobFailed, Refusal: tooSlow(w.Kind)})
	case ctx.Err() != nil: // the service stops
		return errors.Join(err, q.release(save, w, true))
	}
	if r, ok := errors.AsType[*vision.Refusal](err); ok {
		out.Status, out.Refusal = api.JobRefused, r
		return q.finish(save, w, out)
	}
	log.Error("job failed", "error", err)
	if e, ok := errors.AsType[*api.Error](err); ok && e.Code == api.CodeDamaged { // a damaged file stays damaged
		return q.finish(save, w, api.Outcome{Status: api.JobFailed, Refusal: &vision.Refusal{Code: vision.Code(e.Code), Message: e.Message, Remedy: e.Remedy}})
	}
	return q.again(save, w, tries, err)
}

// again puts a job back into the queue that failed for err, or gives it up.
func (q *Queue) again(ctx context.Context, w *api.Work, tries int, err error) error {
	passing := errors.Is(err, errStore)
	switch {
	case passing && tries >= q.opt.Patience:
		return q.finish(ctx, w, api.Outcome{Status: api.JobFailed, Refusal: noStore(w.Kind)})
	case passing:
		return errors.Join(err, q.release(ctx, w, true))
	case w.Attempt < q.opt.Attempts:
		return errors.Join(err, q.release(ctx, w, false))
	}
	why := givenUp(w.Kind)
	if errors.Is(err, ErrTracerDied) && w.Kind != api.JobExport {
		why = setAside(w.Attempt)
	}
	return q.finish(ctx, w, api.Outcome{Status: api.JobFailed, Refusal: why})
}

// finish ends the job. One whose end cannot be kept goes back into the queue.
func (q *Queue) finish(ctx context.Context, w *api.Work, out api.Outcome) error {
	err := q.store.FinishJob(ctx, w.ID, out)
	if err == nil {
		q.count(out.Status)
		return nil
	}
	// A number that JSON does not have comes from the photo; all else is the disk.
	_, odd := errors.AsType[*json.UnsupportedValueError](err)
	return errors.Join(err, q.release(ctx, w, !odd))
}

// release puts a job back into the queue. A store that takes not even that (its
// disk is full) is asked again until it does: left running, the job would not be
// taken up before the next start.
func (q *Queue) release(ctx context.Context, w *api.Work, blameless bool) error {
	err := q.store.ReleaseJob(ctx, w.ID, blameless)
	if err == nil {
		return nil
	}
	q.stuck.Go(func() {
		for n := 1; ; n++ {
			select {
			case <-time.After(q.pause(n)):
			case <-q.stopping:
				return // the next start queues it again
			}
			if q.store.ReleaseJob(ctx, w.ID, blameless) == nil && q.Enqueue(ctx, w.Job) == nil {
				return
			}
		}
	})
	return err
}

// timed runs the job so that it can be cancelled and ends in time; the error is
// then the reason.
func (q *Queue) timed(ctx context.Context, w *api.Work) (api.Outcome, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	q.mu.Lock()
	q.running[w.ID] = runningJob{w.PhotoID, cancel}
	q.mu.Unlock()
	defer func() {
		q.mu.Lock()
		delete(q.running, w.ID)
		q.mu.Unlock()
	}()
	ctx, stop := context.WithTimeoutCause(ctx, q.opt.Timeout, errSlow)
	defer stop()
	// The job may have been cancelled, or its photo deleted, between the claim and
	// the entry above.
	j, err := q.store.Job(ctx, w.ID)
	if api.CodeOf(err) == api.CodeNotFound || err == nil && j.Status == api.JobCancelled {
		return api.Outcome{}, errCancelled
	}
	out, err := q.run(ctx, w)
	if err != nil && ctx.Err() != nil {
		err = errors.Join(context.Cause(ctx), err)
	}
	return out, err
}

// run traces the photo or draws the garment. The outcome of one that is refused holds its plane, where
// that is known, for the person to help with strokes. A panic is an error, and the
// session it came from is not used again.
func (q *Queue) run(ctx context.Context, w *api.Work) (out api.Outcome, err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v\n%s", v, debug.Stack())
		}
	}()
	progress := func(s api.Step) {
		if err := q.store.StepJob(ctx, w.ID, s); err != nil && ctx.Err() == nil {
			q.opt.Logger.Warn("progress not noted", "job", w.ID, "error", err)
		}
	}
	if w.Kind == api.JobExport {
		return q.draw(ctx, w, progress)
	}
	session := q.warm.take(w.PhotoID, known(w))
	if session == nil {
		if session, err = q.open(ctx, w, progress); err != nil {
			return out, err
		}
	}
	sound := false
	defer func() {
		// A session that failed, or whose photo was deleted meanwhile, is of no use.
		if sound && ctx.Err() == nil {
			q.warm.put(w.PhotoID, known(w), session)
		} else {
			_ = session.Close()
		}
	}()
	t, err := session.Trace(ctx, w.Strokes, progress)
	if err != nil {
		if _, refused := errors.AsType[*vision.Refusal](err); !refused {
			return out, err
		}
		t = nil
	} else if n := len(t.Pieces); n > api.MaxPieces {
		t, err = nil, tooMany(n)
	} else {
		out = api.Outcome{Status: api.JobDone, Trace: t}
	}
	if w.Kind == api.JobTrace {
		plane, jpeg, failed := session.Backdrop(ctx, t)
		if failed != nil {
			return out, failed
		}
		out.Plane, out.PlaneJPEG = &plane, jpeg
	}
	sound = true
	return out, err
}

func (q *Queue) draw(ctx context.Context, w *api.Work, progress func(api.Step)) (api.Outcome, error) {
	progress(api.Step{Name: "draw", Index: 1, Count: 2, Text: "Drawing the pieces"})
	file, err := q.opt.Drawer.Draw(ctx, w.Source, *w.Export)
	if err != nil {
		return api.Outcome{}, err
	}
	progress(api.Step{Name: "keep", Index: 2, Count: 2, Text: "Keeping the file"})
	return api.Outcome{Status: api.JobDone, File: file}, nil
}

func (q *Queue) open(ctx context.Context, w *api.Work, progress func(api.Step)) (Session, error) {
	data, err := q.store.Picture(ctx, w.PhotoID, api.PictureOriginal)
	if code := api.CodeOf(err); code == api.CodeNotFound {
		return nil, errCancelled
	} else if code == api.CodeDamaged {
		return nil, err
	}
	if err != nil {
		return nil, errors.Join(errStore, err)
	}
	return q.tracer.Open(ctx, data, progress, known(w))
}

// known is what the photo of a job is opened with.
func known(w *api.Work) TraceOptions {
	return TraceOptions{Print: w.Print, References: w.References}
}

func givenUp(kind api.JobKind) *vision.Refusal {
	if kind == api.JobExport {
		return &vision.Refusal{Code: "internal", Message: "The file could not be drawn, and it is not your fault.", Remedy: "Try single pieces or another paper, and report the garment file if you can."}
	}
	return &vision.Refusal{Code: "internal", Message: "This photo could not be worked on, and it is not your fault.", Remedy: "Take another photo, and report this one if you can."}
}

func setAside(times int) *vision.Refusal {
	return &vision.Refusal{
		Code:    "set-aside",
		Message: fmt.Sprintf("This photo was set aside: the tracer broke down over it %d times.", times),
		Remedy:  "Take another photo, or save this one as a JPEG of at most 12 megapixels; nothing else was lost.",
	}
}

func noStore(kind api.JobKind) *vision.Refusal {
	if kind == api.JobExport {
		return &vision.Refusal{Code: "storage", Message: "The file could not be kept.", Remedy: "See that the data folder is there and its disk has room, then ask for the file again."}
	}
	return &vision.Refusal{
		Code:    "storage",
		Message: "The photo's file could not be read, or the result not kept.",
		Remedy:  "See that the data folder is there and its disk has room, then trace the photo again.",
	}
}

func tooMany(n int) error {
	return vision.Refuse("too-many-pieces", fmt.Sprintf("%d pieces were found in the photo; at most %d are kept.", n, api.MaxPieces),
		"Lay fewer pieces into one photo, on a surface without a pattern of that size.")
}

func tooSlow(kind api.JobKind) *vision.Refusal {
	if kind == api.JobExport {
		return &vision.Refusal{Code: "too-slow", Message: "Drawing this file took too long.", Remedy: "Print single pieces, or choose a larger paper."}
	}
	return &vision.Refusal{Code: "too-slow", Message: "Tracing this photo took too long.", Remedy: "Try again, or take the photo with fewer pixels."}
}
