package jobs

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver"
	"github.com/riverqueue/river/riverdriver/riverdatabasesql"
	"github.com/riverqueue/river/riverdriver/riversqlite"
	"github.com/riverqueue/river/rivermigrate"

	"secondcut/api"
	"secondcut/api/drawing"
)

// Options tune a [Queue]. The zero value is usable.
type Options struct {
	// Workers is how many photos are traced at a time, at least 1; default 1. One
	// more worker is kept for what a person waits for: strokes, and a photo that is
	// to be traced again.
	Workers int
	// Drawer draws what is exported, one garment at a time; default in this process.
	Drawer Drawer
	// Warm is how many photos are kept open for strokes; default 2.
	Warm int
	// Timeout is the longest that one job may take; default 5 minutes.
	Timeout time.Duration
	// Attempts is how often a job is tried whose tracer fails or dies; default 3.
	Attempts int
	// Crashes is how often the service itself may die while a job runs before that
	// job is given up; default 50.
	Crashes int
	// Patience is how often a job is tried when the store cannot read or keep its
	// pictures, which may pass; default 12, about seven minutes.
	Patience int
	// RetryAfter is the pause before a job is tried again; it doubles with each
	// try, up to 30 times itself. Default 2 seconds.
	RetryAfter time.Duration
	// Logger takes failures; default slog.Default().
	Logger *slog.Logger
}

// Queue runs the jobs of a store.
type Queue struct {
	store  api.Store
	tracer Tracer
	opt    Options
	client *river.Client[*sql.Tx]
	warm   warm

	mu      sync.Mutex
	running map[string]runningJob
	ended   map[api.JobStatus]int
	// stopping ends, when closed, the wait for a store that takes nothing.
	stopping chan struct{}
	stuck    sync.WaitGroup
}

type runningJob struct {
	photoID string
	cancel  context.CancelCauseFunc
}

var _ api.Queue = (*Queue)(nil)

// args is River's job: the id of ours.
type args struct {
	JobID string `json:"job_id"`
}

// Kind names the job for River: all of ours are one kind to it.
func (args) Kind() string { return "photo" }

// The queues: neither a stroke nor a drawing waits behind a heap of photos.
const (
	queuePhotos  = "photos"
	queueStrokes = "strokes"
	queueExports = "exports"
)

// Database is where River keeps its own tables: the store's.
type Database interface {
	DB() *sql.DB
	// Pool is where River hears of new jobs; nil with SQLite.
	Pool() *pgxpool.Pool
	// Alone runs what changes the tables while no other replica does.
	Alone(ctx context.Context, f func(context.Context) error) error
}

// New makes a queue over the store's jobs. River's tables are made or brought up to date.
func New(ctx context.Context, db Database, store api.Store, tracer Tracer, opt Options) (*Queue, error) {
	opt.Workers = cmp.Or(opt.Workers, 1)
	opt.Warm = cmp.Or(opt.Warm, 2)
	opt.Timeout = cmp.Or(opt.Timeout, 5*time.Minute)
	opt.Attempts = cmp.Or(opt.Attempts, 3)
	opt.Crashes = cmp.Or(opt.Crashes, 50)
	opt.Patience = cmp.Or(opt.Patience, 12)
	opt.RetryAfter = cmp.Or(opt.RetryAfter, 2*time.Second)
	opt.Logger = cmp.Or(opt.Logger, slog.Default())
	opt.Drawer = cmp.Or[Drawer](opt.Drawer, drawing.Drawer{})
	q := &Queue{store: store, tracer: tracer, opt: opt, warm: warm{size: opt.Warm}, running: map[string]runningJob{}, ended: map[api.JobStatus]int{}, stopping: make(chan struct{})}

	quiet := slog.New(warnings{opt.Logger.Handler()})
	driver := driverFor(db)
	migrator, err := rivermigrate.New(driver, &rivermigrate.Config{Logger: quiet})
	if err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	err = db.Alone(ctx, func(ctx context.Context) error {
		_, err := migrator.Migrate(ctx, rivermigrate.DirectionUp, nil)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("jobs: bringing the queue's tables up to date: %w", err)
	}
	workers := river.NewWorkers()
	river.AddWorker(workers, &worker{queue: q})
	q.client, err = river.NewClient(driver, &river.Config{
		Queues:  map[string]river.QueueConfig{queuePhotos: {MaxWorkers: opt.Workers}, queueStrokes: {MaxWorkers: 1}, queueExports: {MaxWorkers: 1}},
		Workers: workers,
		Logger:  quiet,
		// Photos take about half a second each: the pause before the next one counts.
		FetchCooldown: 10 * time.Millisecond,
		JobTimeout:    -1, // the worker keeps its own time, to tell slowness from a stop
		// The store holds the history; River's rows are of no use once done.
		CompletedJobRetentionPeriod: time.Hour,
		CancelledJobRetentionPeriod: time.Hour,
		DiscardedJobRetentionPeriod: time.Hour,
	})
	if err != nil {
		return nil, fmt.Errorf("jobs: %w", err)
	}
	return q, nil
}

func driverFor(db Database) riverdriver.Driver[*sql.Tx] {
	if pool := db.Pool(); pool != nil {
		return riverdatabasesql.NewWithPgxListener(db.DB(), pool)
	}
	return riversqlite.New(db.DB())
}

// Start queues again what a former process left undone and begins to work.
func (q *Queue) Start(ctx context.Context) error {
	left, err := q.store.RequeueJobs(ctx)
	if err != nil {
		return err
	}
	for _, j := range left {
		if err := q.Enqueue(ctx, j); err != nil {
			return err
		}
	}
	// The jobs' context must outlive ctx: Stop ends them.
	if err := q.client.Start(context.WithoutCancel(ctx)); err != nil {
		return fmt.Errorf("jobs: %w", err)
	}
	return nil
}

// Stop ends the work. Running jobs are put back into the queue and run again at
// the next start. It waits for them until ctx is done.
func (q *Queue) Stop(ctx context.Context) error {
	close(q.stopping)
	err := q.client.StopAndCancel(ctx)
	q.stuck.Wait()
	q.warm.forget("")
	if err != nil {
		return fmt.Errorf("jobs: stopping: %w", err)
	}
	return nil
}

// Enqueue asks for a job to be run soon.
func (q *Queue) Enqueue(ctx context.Context, job api.Job) error {
	queue := queuePhotos
	switch {
	case job.Kind == api.JobExport:
		queue = queueExports
	case job.Asked:
		queue = queueStrokes
	}
	// River may try more often than the store allows: the store has the say.
	_, err := q.client.Insert(ctx, args{job.ID}, &river.InsertOpts{Queue: queue, MaxAttempts: q.opt.Attempts + q.opt.Patience + 2})
	if err != nil {
		return fmt.Errorf("jobs: %w", err)
	}
	return nil
}

// errCancelled is the cause with which a running job ends that was cancelled.
var errCancelled = errors.New("cancelled")

// Cancel ends a job whether it waits or runs. One that runs stops soon after,
// also when the store has it no more because its photo was deleted.
func (q *Queue) Cancel(ctx context.Context, jobID string) (*api.Job, error) {
	j, err := q.store.CancelJob(ctx, jobID)
	if err == nil && j.Status == api.JobCancelled || api.CodeOf(err) == api.CodeNotFound {
		q.mu.Lock()
		defer q.mu.Unlock()
		if r, ok := q.running[jobID]; ok {
			r.cancel(errCancelled)
		}
	}
	return j, err
}

// Forget stops what runs on a photo and lets its picture go from memory.
func (q *Queue) Forget(photoID string) {
	q.mu.Lock()
	for _, r := range q.running {
		if r.photoID == photoID {
			r.cancel(errCancelled)
		}
	}
	q.mu.Unlock()
	q.warm.forget(photoID)
}

// warnings passes on what is a warning or worse: River is talkative.
type warnings struct{ slog.Handler }

// Enabled reports whether the level is a warning or worse.
func (w warnings) Enabled(ctx context.Context, l slog.Level) bool {
	return l >= slog.LevelWarn && w.Handler.Enabled(ctx, l)
}

// WithAttrs keeps the filter.
func (w warnings) WithAttrs(a []slog.Attr) slog.Handler { return warnings{w.Handler.WithAttrs(a)} }

// WithGroup keeps the filter.
func (w warnings) WithGroup(name string) slog.Handler { return warnings{w.Handler.WithGroup(name)} }
