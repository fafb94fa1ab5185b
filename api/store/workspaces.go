package store

import (
	"context"
	"fmt"

	"secondcut/api"
)

// within is a condition by which a query keeps to the workspace of its context; column
// is where that stands. The service's own work keeps to none.
func within(ctx context.Context, column string) (condition string, args []any) {
	s, ok := api.ScopeOf(ctx)
	if !ok {
		return "", nil
	}
	return ` AND ` + column + ` = ?`, []any{s.Workspace}
}

// ofGarments is within for rows that name their garment.
func ofGarments(ctx context.Context) (condition string, args []any) {
	condition, args = within(ctx, "workspace")
	if condition == "" {
		return "", nil
	}
	return ` AND garment_id IN (SELECT id FROM garments WHERE true` + condition + `)`, args
}

// workspaceFor is the workspace that a new garment belongs to.
func workspaceFor(ctx context.Context) string {
	if s, ok := api.ScopeOf(ctx); ok {
		return s.Workspace
	}
	return api.DefaultWorkspace
}

// ownerQueries give the garment of a record, and its workspace.
var ownerQueries = map[api.RecordKind]string{
	api.RecordGarment: `SELECT workspace, id FROM garments WHERE id = ?`,
	api.RecordPhoto:   `SELECT g.workspace, g.id FROM photos r JOIN garments g ON g.id = r.garment_id WHERE r.id = ?`,
	api.RecordPiece:   `SELECT g.workspace, g.id FROM pieces r JOIN garments g ON g.id = r.garment_id WHERE r.id = ?`,
	api.RecordJob:     `SELECT g.workspace, g.id FROM jobs r JOIN garments g ON g.id = r.garment_id WHERE r.id = ?`,
	api.RecordUpload:  `SELECT g.workspace, g.id FROM uploads r JOIN garments g ON g.id = r.garment_id WHERE r.id = ?`,
	api.RecordTrash:   `SELECT workspace, garment_id FROM trash WHERE id = ?`,
}

// Owner returns the workspace and the garment that a record belongs to.
func (s *Store) Owner(ctx context.Context, kind api.RecordKind, id string) (api.Scope, error) {
	var owner api.Scope
	err := s.tx(ctx, func(tx *txn) (err error) {
		owner, err = one(tx.QueryRowContext(ctx, ownerQueries[kind], id), kind.String(), func(scan scanner) (o api.Scope, err error) {
			return o, scan(&o.Workspace, &o.Garment)
		})
		return err
	})
	return owner, err
}

// workspaceQuery counts what each workspace holds.
const workspaceQuery = `SELECT w.name, w.max_bytes, w.max_waiting, w.created_at,
	(SELECT count(*) FROM garments g WHERE g.workspace = w.name),
	(SELECT coalesce(sum(p.bytes), 0) FROM photos p JOIN garments g ON g.id = p.garment_id WHERE g.workspace = w.name)
		+ (SELECT coalesce(sum(t.bytes), 0) FROM trash t WHERE t.workspace = w.name)
		+ (SELECT coalesce(sum(u.size), 0) FROM uploads u JOIN garments g ON g.id = u.garment_id WHERE g.workspace = w.name AND u.photo_id = ''),
	(SELECT count(*) FROM jobs j JOIN garments g ON g.id = j.garment_id WHERE g.workspace = w.name AND j.status = 'queued'),
	(SELECT count(*) FROM jobs j JOIN garments g ON g.id = j.garment_id WHERE g.workspace = w.name AND j.status = 'queued' AND j.kind = 'export')
	FROM workspaces w `

func readWorkspace(scan scanner) (w api.WorkspaceUsage, err error) {
	return w, scan(&w.Name, &w.Bytes, &w.Waiting, stamp{&w.CreatedAt}, &w.Garments, &w.PictureBytes, &w.QueuedJobs, &w.QueuedExports)
}

// Workspaces says what each holds, by name.
func (s *Store) Workspaces(ctx context.Context) (all []api.WorkspaceUsage, err error) {
	err = s.tx(ctx, func(tx *txn) error {
		rows, err := tx.QueryContext(ctx, workspaceQuery+`ORDER BY w.name`)
		if err != nil {
			return err
		}
		all, err = collect(rows, readWorkspace)
		return err
	})
	return all, err
}

// Workspace says what one holds.
func (s *Store) Workspace(ctx context.Context, name string) (*api.WorkspaceUsage, error) {
	var w api.WorkspaceUsage
	err := s.tx(ctx, func(tx *txn) (err error) {
		w, err = one(tx.QueryRowContext(ctx, workspaceQuery+`WHERE w.name = ?`, name), "workspace", readWorkspace)
		return err
	})
	return &w, err
}

// SetLimits bounds a workspace.
func (s *Store) SetLimits(ctx context.Context, name string, l api.WorkspaceLimits) error {
	if l.Bytes < 0 || l.Waiting < 0 {
		return api.Invalid("limits", "A limit cannot be negative.", "Give 0 for the service's own limit.")
	}
	err := s.tx(ctx, func(tx *txn) error {
		return changed(ctx, tx, "workspace", `UPDATE workspaces SET max_bytes = ?, max_waiting = ? WHERE name = ?`, l.Bytes, l.Waiting, name)
	})
	if api.CodeOf(err) == api.CodeNotFound {
		return fmt.Errorf("%w; a workspace is made with its first account", err)
	}
	return err
}
