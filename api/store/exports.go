package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"secondcut/api"
)

// reuseUntil is how long before it goes an export is no longer given to somebody else.
const reuseUntil = time.Hour

// AddExport queues an export, or answers with an equal one that waits, runs or is done;
// CodeQueueFull when too many wait.
func (s *Store) AddExport(ctx context.Context, n api.NewExport) (*api.Job, error) {
	var j *api.Job
	err := s.tx(ctx, func(tx *txn) error {
		if err := exists(ctx, tx, n.GarmentID); err != nil {
			return err
		}
		id, err := equalExport(ctx, tx, n)
		if err != nil {
			return err
		}
		if id == "" {
			if err := fewWait(ctx, tx, n.Most); err != nil {
				return err
			}
			if id, err = insertExport(ctx, tx, n); err != nil {
				return err
			}
		}
		j, err = job(ctx, tx, id)
		return err
	})
	return j, err
}

// exists answers NotFound where there is no such garment.
func exists(ctx context.Context, tx *txn, garmentID string) error {
	row := tx.QueryRowContext(ctx, `SELECT 1 FROM garments WHERE id = ?`, garmentID)
	_, err := one(row, "garment", func(scan scanner) (n int, err error) { return n, scan(&n) })
	return err
}

// equalExport returns the id of an export that makes the same file, or "".
func equalExport(ctx context.Context, tx *txn, n api.NewExport) (id string, err error) {
	err = tx.QueryRowContext(ctx, `SELECT id FROM jobs WHERE garment_id = ? AND kind = ? AND digest = ? AND status IN (?, ?, ?) AND created_at > ?
		ORDER BY created_at DESC LIMIT 1`, n.GarmentID, api.JobExport, n.Digest, api.JobQueued, api.JobRunning, api.JobDone,
		millis(time.Now().Add(reuseUntil-api.ExportLife))).Scan(&id)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return id, err
}

// fewWait answers CodeQueueFull where as many exports of a workspace wait as may.
func fewWait(ctx context.Context, tx *txn, most int) error {
	if most == 0 {
		return nil
	}
	var n int
	here, args := ofGarments(ctx)
	err := tx.QueryRowContext(ctx, `SELECT count(*) FROM jobs WHERE kind = ? AND status = ?`+here, append([]any{api.JobExport, api.JobQueued}, args...)...).Scan(&n)
	if err != nil || n < most {
		return err
	}
	return &api.Error{
		Code: api.CodeQueueFull, RetryAfter: 10 * time.Second,
		Message: "Many files wait to be drawn, and no more can be added now.",
		Remedy:  "Wait until some of them are done, and try again.",
	}
}

func insertExport(ctx context.Context, tx *txn, n api.NewExport) (string, error) {
	j := api.Job{ID: newID(), Kind: api.JobExport, GarmentID: n.GarmentID, Export: &n.Export, Asked: true}
	if err := insertJob(ctx, tx, j, nil); err != nil {
		return "", err
	}
	_, err := tx.ExecContext(ctx, `UPDATE jobs SET source = ?, digest = ? WHERE id = ?`, string(n.Source), n.Digest, j.ID)
	return j.ID, err
}

// endExport keeps what an export has made. What it was drawn of is of no use any more.
func endExport(ctx context.Context, tx *txn, id, fileKey string) error {
	_, err := tx.ExecContext(ctx, `UPDATE jobs SET file = ?, source = '' WHERE id = ?`, fileKey, id)
	return err
}

// sweepExports deletes exports that have had their time.
func sweepExports(ctx context.Context, tx *txn) error {
	_, err := tx.ExecContext(ctx, `DELETE FROM jobs WHERE kind = ? AND created_at < ? AND status NOT IN (?, ?)`,
		api.JobExport, millis(time.Now().Add(-api.ExportLife)), api.JobQueued, api.JobRunning)
	return err
}

// ExportFile returns what an export has made. One whose file is lost is forgotten, so
// that an equal one makes it again.
func (s *Store) ExportFile(ctx context.Context, jobID string) ([]byte, error) {
	var key string
	err := s.tx(ctx, func(tx *txn) (err error) {
		row := tx.QueryRowContext(ctx, `SELECT file FROM jobs WHERE id = ?`, jobID)
		key, err = one(row, "job", func(scan scanner) (k string, err error) { return k, scan(&k) })
		return err
	})
	if err != nil {
		return nil, err
	}
	if key == "" {
		return nil, noFile(nil)
	}
	data, err := s.blobs.get(ctx, key)
	if errors.Is(err, errLost) {
		return nil, errors.Join(noFile(err), s.tx(ctx, func(tx *txn) error {
			return changed(ctx, tx, "job", `DELETE FROM jobs WHERE id = ?`, jobID)
		}))
	}
	if err != nil {
		return nil, explain(fmt.Errorf("store: reading a file: %w", err))
	}
	return data, nil
}

func noFile(cause error) error {
	return &api.Error{Code: api.CodeNotReady, Cause: cause, Message: "This file is not there.", Remedy: "Wait until the job is done, or ask for the file again."}
}
