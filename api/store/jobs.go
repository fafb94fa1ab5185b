package store

import (
	"context"
	"time"

	"secondcut/api"
	"secondcut/vision"
)

// jobColumns are read by jobFields. Jobs of other kinds, and of those who wait for them
// or do not, have workers of their own: only their like are ahead of one.
const jobColumns = `id, kind, coalesce(photo_id, ''), garment_id, status, step, refusal, trace, sequence, asked, export, created_at,
	CASE status WHEN 'queued' THEN (SELECT count(*) FROM jobs a
		WHERE a.status = 'queued' AND a.created_at < jobs.created_at AND a.kind = jobs.kind AND a.asked = jobs.asked) ELSE 0 END`

func jobFields(j *api.Job) []any {
	return []any{
		&j.ID, &j.Kind, &j.PhotoID, &j.GarmentID, &j.Status, column(&j.Step), column(&j.Refusal), column(&j.Trace), &j.Sequence, &j.Asked,
		column(&j.Export),
		goneAt{j},
		&j.Ahead,
	}
}

// goneAt is a scan target for the time at which a job was made.
type goneAt struct{ j *api.Job }

// Scan reads the column; only exports go after a time.
func (g goneAt) Scan(src any) error {
	var made time.Time
	if err := (stamp{&made}).Scan(src); err != nil || g.j.Kind != api.JobExport {
		return err
	}
	gone := made.Add(api.ExportLife)
	g.j.GoneAt = &gone
	return nil
}

func readJob(scan scanner) (j api.Job, err error) { return j, scan(jobFields(&j)...) }

func job(ctx context.Context, tx *txn, id string) (*api.Job, error) {
	j, err := one(tx.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE id = ?`, id), "job", readJob)
	return &j, err
}

func insertJob(ctx context.Context, tx *txn, j api.Job, strokes []api.Stroke) error {
	col, err := texts(strokes)
	if err != nil {
		return err
	}
	export, err := text(j.Export)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO jobs (id, kind, photo_id, garment_id, status, strokes, export, sequence, asked, created_at)
		VALUES (?, ?, nullif(?, ''), ?, ?, ?, ?, 1, ?, ?)`, j.ID, j.Kind, j.PhotoID, j.GarmentID, api.JobQueued, col[0], export, j.Asked, millis(time.Now()))
	return err
}

// AddTrace queues another tracing of the photo, or answers with the one that the key
// has made before.
func (s *Store) AddTrace(ctx context.Context, photoID string, strokes []api.Stroke, anew bool, key api.Key) (*api.Job, error) {
	var j *api.Job
	err := s.tx(ctx, func(tx *txn) error {
		id, err := madeBefore(ctx, tx, key)
		if err != nil {
			return err
		}
		if id == "" {
			if id, err = insertTrace(ctx, tx, photoID, strokes, anew); err != nil {
				return err
			}
			if err := remember(ctx, tx, key, id); err != nil {
				return err
			}
		}
		j, err = job(ctx, tx, id)
		return err
	})
	if err == nil {
		s.watch.tell(j.GarmentID)
	}
	return j, err
}

func insertTrace(ctx context.Context, tx *txn, photoID string, strokes []api.Stroke, anew bool) (string, error) {
	p, err := photo(ctx, tx, photoID)
	if err != nil {
		return "", err
	}
	n := api.Job{ID: newID(), Kind: api.JobRetrace, PhotoID: photoID, GarmentID: p.GarmentID, Asked: true}
	made, err := hasPieces(ctx, tx, photoID)
	if err != nil {
		return "", err
	}
	// Pieces may carry work by hand: only who asks for it makes them again.
	if anew || !made && p.Status != api.PhotoTraced {
		n.Kind = api.JobTrace
		if err := setPhoto(ctx, tx, n, api.PhotoQueued, nil); err != nil {
			return "", err
		}
		if err := supersede(ctx, tx, photoID); err != nil {
			return "", err
		}
	}
	return n.ID, insertJob(ctx, tx, n, strokes)
}

// hasPieces says whether a trace of the photo has made pieces that are still
// there.
func hasPieces(ctx context.Context, tx *txn, photoID string) (made bool, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM pieces WHERE photo_id = ?)`, photoID).Scan(&made)
	return made, err
}

// supersede cancels the traces of a photo that have not finished, so that no two
// of them make its pieces.
func supersede(ctx context.Context, tx *txn, photoID string) error {
	_, err := tx.ExecContext(ctx, `UPDATE jobs SET status = ?, sequence = sequence + 1 WHERE photo_id = ? AND kind = ? AND status IN (?, ?)`,
		api.JobCancelled, photoID, api.JobTrace, api.JobQueued, api.JobRunning)
	return err
}

// setPhoto makes a trace job the one that a photo's status speaks of.
func setPhoto(ctx context.Context, tx *txn, j api.Job, status api.PhotoStatus, refusal *vision.Refusal) error {
	why, err := text(refusal)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `UPDATE photos SET status = ?, job_id = ?, refusal = ? WHERE id = ?`, status, j.ID, why, j.PhotoID); err != nil {
		return err
	}
	return touch(ctx, tx, j.GarmentID)
}

// Job returns one job.
func (s *Store) Job(ctx context.Context, id string) (*api.Job, error) {
	var j *api.Job
	err := s.tx(ctx, func(tx *txn) (err error) {
		j, err = job(ctx, tx, id)
		return err
	})
	return j, err
}

// ClaimJob takes a queued job for running.
func (s *Store) ClaimJob(ctx context.Context, id string) (*api.Work, error) {
	var w *api.Work
	err := s.tx(ctx, func(tx *txn) error {
		n, err := affected(ctx, tx, `UPDATE jobs SET status = ?, attempts = attempts + 1, sequence = sequence + 1 WHERE id = ? AND status = ?`,
			api.JobRunning, id, api.JobQueued)
		if err != nil || n == 0 {
			return err
		}
		// A trace takes over what is known of the photo's scale, a retrace keeps what
		// its plane was made with.
		if _, err := tx.ExecContext(ctx, `UPDATE jobs SET (print, known_things) = (SELECT CASE jobs.kind WHEN ? THEN print ELSE traced_print END,
			CASE jobs.kind WHEN ? THEN known_things ELSE traced_things END FROM photos WHERE photos.id = photo_id) WHERE id = ? AND photo_id IS NOT NULL`, api.JobTrace, api.JobTrace, id); err != nil {
			return err
		}
		row := tx.QueryRowContext(ctx, `SELECT `+jobColumns+`, strokes, attempts, crashes, print, known_things, source FROM jobs WHERE id = ?`, id)
		got, err := one(row, "job", func(scan scanner) (w api.Work, err error) {
			var print *api.Print
			var things *[]api.Reference
			err = scan(append(jobFields(&w.Job), list[api.Stroke]{&w.Strokes}, &w.Attempt, &w.Crashes, column(&print), column(&things), &w.Source)...)
			if things != nil {
				w.References = *things
			}
			if print != nil {
				w.Print = *print
			}
			return w, err
		})
		if err != nil {
			return err
		}
		w = &got
		if w.Kind != api.JobTrace {
			return nil
		}
		return setPhoto(ctx, tx, w.Job, api.PhotoTracing, nil)
	})
	if err != nil || w == nil {
		return nil, err
	}
	s.watch.tell(id, w.GarmentID)
	return w, nil
}

// StepJob notes where a running job stands.
func (s *Store) StepJob(ctx context.Context, id string, step api.Step) error {
	col, err := texts(step)
	if err != nil {
		return err
	}
	err = s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `UPDATE jobs SET step = ?, sequence = sequence + 1 WHERE id = ? AND status = ?`, col[0], id, api.JobRunning)
		return err
	})
	s.watch.tell(id)
	return err
}

// ReleaseJob puts a running job back into the queue.
func (s *Store) ReleaseJob(ctx context.Context, id string, blameless bool) error {
	back := 0
	if blameless {
		back = 1
	}
	err := s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `UPDATE jobs SET status = ?, attempts = attempts - ?, sequence = sequence + 1 WHERE id = ? AND status = ?`,
			api.JobQueued, back, id, api.JobRunning)
		return err
	})
	s.watch.tell(id)
	return err
}

// RequeueJobs puts all running jobs back into the queue and notes that the
// process died over them.
func (s *Store) RequeueJobs(ctx context.Context) ([]api.Job, error) {
	var jobs []api.Job
	err := s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `UPDATE jobs SET status = ?, attempts = CASE WHEN attempts > 0 THEN attempts - 1 ELSE 0 END, crashes = crashes + 1, sequence = sequence + 1 WHERE status = ?`, api.JobQueued, api.JobRunning)
		if err != nil {
			return err
		}
		rows, err := tx.QueryContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE status = ? ORDER BY created_at, id`, api.JobQueued)
		if err != nil {
			return err
		}
		jobs, err = collect(rows, readJob)
		return err
	})
	return jobs, err
}

// CancelJob ends a queued or running job.
func (s *Store) CancelJob(ctx context.Context, id string) (*api.Job, error) {
	var j *api.Job
	err := s.tx(ctx, func(tx *txn) (err error) {
		if j, err = job(ctx, tx, id); err != nil || j.Status.Final() {
			return err
		}
		if err := endJob(ctx, tx, *j, api.Outcome{Status: api.JobCancelled, Refusal: stopped(j.Kind)}); err != nil {
			return err
		}
		j, err = job(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.watch.tell(id, j.GarmentID)
	return j, nil
}

// stopped is what a photo or export says that was cancelled.
func stopped(kind api.JobKind) *vision.Refusal {
	if kind == api.JobExport {
		return &vision.Refusal{Code: "cancelled", Message: "Drawing the file was stopped.", Remedy: "Ask for it again when you are ready."}
	}
	return &vision.Refusal{Code: "cancelled", Message: "Tracing was stopped.", Remedy: "Trace the photo again when you are ready."}
}
