package jobs

import (
	"context"
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
	return w.queue.work(ctx, job.Args.JobID)
}

// NextRetry says when River offers a job again.
func (w *worker) NextRetry(*river.Job[args]) time.Time { return time.Now().Add(w.queue.opt.RetryAfter) }

var errSlow = errors.New("took too long")

// work claims the job, runs it and tells the store how it ended.
func (q *Queue) work(ctx context.Context, id string) error {
	w, err := q.store.ClaimJob(ctx, id)
	if err != nil || w == nil {
		return err
	}
	log := q.opt.Logger.With("job", id, "kind", w.Kind, "attempt", w.Attempt)
	// What is told to the store must arrive though the job's time is over.
	save := context.WithoutCancel(ctx)
	if w.Attempt > q.opt.Attempts {
		log.Error("job given up")
		return q.finish(save, id, api.Outcome{Status: api.JobFailed, Refusal: givenUp()})
	}
	out, err := q.timed(ctx, w)
	switch {
	case err == nil:
		return q.finish(save, id, out)
	case errors.Is(err, errCancelled):
		return nil // the store has it already
	case errors.Is(err, errSlow):
		log.Warn("job stopped: it took too long")
		return q.finish(save, id, api.Outcome{Status: api.JobFailed, Refusal: tooSlow()})
	case ctx.Err() != nil: // the service stops
		return errors.Join(err, q.store.ReleaseJob(save, id, true))
	}
	if r, ok := errors.AsType[*vision.Refusal](err); ok {
		out.Status, out.Refusal = api.JobRefused, r
		return q.finish(save, id, out)
	}
	log.Error("job failed", "error", err)
	if w.Attempt >= q.opt.Attempts {
		return q.finish(save, id, api.Outcome{Status: api.JobFailed, Refusal: givenUp()})
	}
	return errors.Join(err, q.store.ReleaseJob(save, id, false))
}

// finish ends the job. One whose end cannot be kept (a full disk) goes back into
// the queue: left running, nothing would take it up before the next start.
func (q *Queue) finish(ctx context.Context, id string, out api.Outcome) error {
	err := q.store.FinishJob(ctx, id, out)
	if err == nil {
		return nil
	}
	return errors.Join(err, q.store.ReleaseJob(ctx, id, false))
}

// timed runs the job so that it can be cancelled and ends in time; the error is
// then the reason.
func (q *Queue) timed(ctx context.Context, w *api.Work) (api.Outcome, error) {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	q.mu.Lock()
	q.running[w.ID] = cancel
	q.mu.Unlock()
	defer func() {
		q.mu.Lock()
		delete(q.running, w.ID)
		q.mu.Unlock()
	}()
	ctx, stop := context.WithTimeoutCause(ctx, q.opt.Timeout, errSlow)
	defer stop()
	// The job may have been cancelled between the claim and the entry above.
	if j, err := q.store.Job(ctx, w.ID); err == nil && j.Status == api.JobCancelled {
		return api.Outcome{}, errCancelled
	}
	out, err := q.run(ctx, w)
	if err != nil && ctx.Err() != nil {
		err = errors.Join(context.Cause(ctx), err)
	}
	return out, err
}

// run traces the photo. The outcome of one that is refused holds its plane, where
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
	session := q.warm.take(w.PhotoID, w.Print)
	if session == nil {
		if session, err = q.open(ctx, w, progress); err != nil {
			return out, err
		}
	}
	t, err := session.Trace(ctx, w.Strokes, progress)
	if err != nil {
		if _, refused := errors.AsType[*vision.Refusal](err); !refused {
			return out, err
		}
		t = nil
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
	q.warm.put(w.PhotoID, w.Print, session)
	return out, err
}

func (q *Queue) open(ctx context.Context, w *api.Work, progress func(api.Step)) (Session, error) {
	data, err := q.store.Picture(ctx, w.PhotoID, api.PictureOriginal)
	if err != nil {
		return nil, err
	}
	return q.tracer.Open(ctx, data, progress, TraceOptions{Print: w.Print})
}

func givenUp() *vision.Refusal {
	return &vision.Refusal{Code: "internal", Message: "This photo could not be worked on, and it is not your fault.", Remedy: "Take another photo, and report this one if you can."}
}

func tooSlow() *vision.Refusal {
	return &vision.Refusal{Code: "too-slow", Message: "Tracing this photo took too long.", Remedy: "Try again, or take the photo with fewer pixels."}
}
