package store

import (
	"context"
	"fmt"
	"time"

	"secondcut/api"
)

const linkQuery = `SELECT l.id, l.garment_id, g.workspace, l.created_at, l.until FROM links l JOIN garments g ON g.id = l.garment_id WHERE l.until > ? AND `

func readLink(scan scanner) (l api.Link, err error) {
	return l, scan(&l.ID, &l.GarmentID, &l.Workspace, stamp{&l.CreatedAt}, stamp{&l.ExpiresAt})
}

func links(ctx context.Context, tx *txn, garmentID string) ([]api.Link, error) {
	rows, err := tx.QueryContext(ctx, linkQuery+`l.garment_id = ? ORDER BY l.created_at DESC, l.id DESC`, millis(time.Now()), garmentID)
	if err != nil {
		return nil, err
	}
	return collect(rows, readLink)
}

// AddLink keeps a link to a garment.
func (s *Store) AddLink(ctx context.Context, garmentID, hash string, end time.Time) (*api.Link, error) {
	var l api.Link
	err := s.tx(ctx, func(tx *txn) error {
		if err := exists(ctx, tx, garmentID); err != nil {
			return err
		}
		good, err := links(ctx, tx, garmentID)
		if err != nil {
			return err
		}
		if len(good) >= api.MaxLinks {
			return &api.Error{
				Code: api.CodeTooMany, Message: fmt.Sprintf("This garment has %d links already.", len(good)),
				Remedy: "End some that are not needed any more.",
			}
		}
		id := newID()
		_, err = tx.ExecContext(ctx, `INSERT INTO links (id, hash, garment_id, until, created_at) VALUES (?, ?, ?, ?, ?)`, id, hash, garmentID, millis(end), millis(time.Now()))
		if err != nil {
			return err
		}
		l, err = one(tx.QueryRowContext(ctx, linkQuery+`l.id = ?`, 0, id), "link", readLink)
		return err
	})
	return &l, err
}

// Links lists the links of a garment that are good still.
func (s *Store) Links(ctx context.Context, garmentID string) (all []api.Link, err error) {
	err = s.tx(ctx, func(tx *txn) (err error) {
		if err := exists(ctx, tx, garmentID); err != nil {
			return err
		}
		all, err = links(ctx, tx, garmentID)
		return err
	})
	return all, err
}

// Linked returns the link of a secret.
func (s *Store) Linked(ctx context.Context, hash string) (*api.Link, error) {
	var l api.Link
	err := s.tx(ctx, func(tx *txn) (err error) {
		l, err = one(tx.QueryRowContext(ctx, linkQuery+`l.hash = ?`, millis(time.Now()), hash), "link", readLink)
		return err
	})
	return &l, err
}

// RevokeLink ends a link of a garment.
func (s *Store) RevokeLink(ctx context.Context, garmentID, id string) error {
	return s.tx(ctx, func(tx *txn) error {
		return changed(ctx, tx, "link", `DELETE FROM links WHERE id = ? AND garment_id = ?`, id, garmentID)
	})
}
