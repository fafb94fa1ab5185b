package store

import (
	"cmp"
	"context"
	"database/sql"
	"time"

	"secondcut/api"
)

// Garments lists garments, last changed first.
func (s *Store) Garments(ctx context.Context, page api.Page) ([]api.GarmentSummary, error) {
	var out []api.GarmentSummary
	err := s.tx(ctx, func(tx *txn) error {
		here, args := within(ctx, "workspace")
		rows, err := tx.QueryContext(ctx, `SELECT id, name, version, updated_at, pattern,
			(SELECT count(*) FROM pieces WHERE garment_id = g.id), (SELECT count(*) FROM photos WHERE garment_id = g.id)
			FROM garments g WHERE true`+here+` AND (updated_at, id) < (?, ?) ORDER BY updated_at DESC, id DESC LIMIT ?`, append(args, pageArgs(page)...)...)
		if err != nil {
			return err
		}
		out, err = collect(rows, readSummary)
		return err
	})
	return out, err
}

func readSummary(scan scanner) (g api.GarmentSummary, err error) {
	var parts *api.GarmentParts
	var damaged error // such a garment is listed all the same, so that it can be deleted
	err = scan(&g.ID, &g.Name, &g.Version, stamp{&g.UpdatedAt}, mild{column(&parts), &damaged}, &g.PieceCount, &g.PhotoCount)
	g.Tags = []string{}
	if parts != nil {
		g.Tags, g.Size, g.Origin = append(g.Tags, parts.Tags...), cmp.Or(parts.SizeMeasured, parts.SizeWorn), parts.Origin
	}
	return g, err
}

// Garment returns one garment with its photos and pieces.
func (s *Store) Garment(ctx context.Context, id string) (*api.Garment, error) {
	var g *api.Garment
	err := s.tx(ctx, func(tx *txn) (err error) {
		g, err = garment(ctx, tx, id)
		return err
	})
	return g, err
}

func garment(ctx context.Context, tx *txn, id string) (*api.Garment, error) {
	row := tx.QueryRowContext(ctx, `SELECT id, name, version, created_at, updated_at, pattern FROM garments WHERE id = ?`, id)
	var parts *api.GarmentParts
	g, err := one(row, "garment", func(scan scanner) (g api.Garment, err error) {
		return g, scan(&g.ID, &g.Name, &g.Version, stamp{&g.CreatedAt}, stamp{&g.UpdatedAt}, column(&parts))
	})
	if err != nil {
		return nil, err
	}
	g.GarmentParts = api.NoParts()
	if parts != nil {
		g.GarmentParts = parts.Renamed(nil) // lists that the row does not have are empty
	}
	rows, err := tx.QueryContext(ctx, `SELECT `+photoColumns+`, '' FROM photos WHERE garment_id = ? ORDER BY created_at, id`, id)
	if err != nil {
		return nil, err
	}
	if g.Photos, err = collect(rows, readListed); err != nil {
		return nil, err
	}
	rows, err = tx.QueryContext(ctx, `SELECT id, coalesce(photo_id, ''), name, uncertainty_mm, version, updated_at
		FROM pieces WHERE garment_id = ? ORDER BY created_at, id`, id)
	if err != nil {
		return nil, err
	}
	g.Pieces, err = collect(rows, func(scan scanner) (p api.PieceSummary, err error) {
		return p, scan(&p.ID, &p.PhotoID, &p.Name, &p.UncertaintyMM, &p.Version, stamp{&p.UpdatedAt})
	})
	return &g, err
}

// CreateGarment makes an empty garment, or answers with the one that the key has
// made before.
func (s *Store) CreateGarment(ctx context.Context, name string, key api.Key) (*api.Garment, error) {
	return s.createGarment(ctx, key, func(tx *txn) (string, error) { return insertGarment(ctx, tx, name) })
}

// createGarment makes a garment by insert, which returns its id, once for a key.
func (s *Store) createGarment(ctx context.Context, key api.Key, insert func(*txn) (string, error)) (*api.Garment, error) {
	var g *api.Garment
	err := s.tx(ctx, func(tx *txn) error {
		id, err := madeBefore(ctx, tx, key)
		if err != nil {
			return err
		}
		if id == "" {
			if id, err = insert(tx); err != nil {
				return err
			}
			if err := remember(ctx, tx, key, id); err != nil {
				return err
			}
		}
		g, err = garment(ctx, tx, id)
		return err
	})
	return g, err
}

func insertGarment(ctx context.Context, tx *txn, name string) (string, error) {
	id, now := newID(), millis(time.Now())
	_, err := tx.ExecContext(ctx, `INSERT INTO garments (id, workspace, name, version, created_at, updated_at) VALUES (?, ?, ?, 1, ?, ?)`, id, workspaceFor(ctx), name, now, now)
	return id, err
}

// EditGarment changes what the person may change of a garment.
func (s *Store) EditGarment(ctx context.Context, id string, edit api.GarmentEdit, version int64) (*api.Garment, error) {
	var g *api.Garment
	err := s.tx(ctx, func(tx *txn) error {
		before, err := garment(ctx, tx, id)
		if err != nil {
			return err
		}
		if !api.Starts(version, before.Version) {
			return api.Stale(before)
		}
		rows, err := pieceRows(ctx, tx, id)
		if err != nil {
			return err
		}
		all, err := collectSound(rows)
		if err != nil {
			return err
		}
		now, err := before.Edited(edit, all)
		if err != nil {
			return err
		}
		if err := swatchesThere(ctx, tx, before, edit.Cloths); err != nil {
			return err
		}
		if err := garmentHistory.keep(ctx, tx, id); err != nil {
			return err
		}
		if err := keepParts(ctx, tx, id, now.Name, now.GarmentParts); err != nil {
			return err
		}
		if err := touch(ctx, tx, id); err != nil {
			return err
		}
		g, err = garment(ctx, tx, id)
		return err
	})
	if err == nil {
		s.watch.tell(id)
	}
	return g, err
}

// keepParts writes a garment's name and parts.
func keepParts(ctx context.Context, tx *txn, id, name string, parts api.GarmentParts) error {
	doc, err := text(&parts)
	if err != nil {
		return err
	}
	return changed(ctx, tx, "garment", `UPDATE garments SET name = ?, pattern = ? WHERE id = ?`, name, doc, id)
}

// touch notes that something in the garment has changed.
func touch(ctx context.Context, tx *txn, id string) error {
	return changed(ctx, tx, "garment", `UPDATE garments SET version = version + 1, updated_at = ? WHERE id = ?`, millis(time.Now()), id)
}

// madeBefore returns the id of what the key has made, or "".
func madeBefore(ctx context.Context, tx *txn, key api.Key) (string, error) {
	if key.Value == "" {
		return "", nil
	}
	var made, digest string
	err := tx.QueryRowContext(ctx, `SELECT made, digest FROM keys WHERE scope = ? AND value = ?`, key.Scope, key.Value).Scan(&made, &digest)
	switch {
	case err == sql.ErrNoRows:
		return "", nil
	case err != nil:
		return "", err
	case digest != key.Digest:
		return "", &api.Error{
			Code:    api.CodeKeyReused,
			Message: "This request carries the key of another one.",
			Remedy:  "Load the page again and repeat the step.",
		}
	}
	return made, nil
}

// forget lets a key be used again.
func forget(ctx context.Context, tx *txn, key api.Key) error {
	_, err := tx.ExecContext(ctx, `DELETE FROM keys WHERE scope = ? AND value = ?`, key.Scope, key.Value)
	return err
}

// remember notes what the key has made.
func remember(ctx context.Context, tx *txn, key api.Key, made string) error {
	if key.Value == "" {
		return nil
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO keys VALUES (?, ?, ?, ?, ?)`, key.Scope, key.Value, key.Digest, made, millis(time.Now()))
	return err
}
