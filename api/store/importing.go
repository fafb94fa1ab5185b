package store

import (
	"context"
	"database/sql"
	"time"

	"secondcut/api"
)

// ImportGarment makes a garment of a file, or answers with the one that the key has
// made before. The pieces get ids of their own, since the same file may be brought in
// twice.
func (s *Store) ImportGarment(ctx context.Context, n api.NewGarment, key api.Key) (*api.Garment, error) {
	defer s.holds.begin()()
	if err := s.putSwatches(ctx, n.Swatches); err != nil {
		return nil, err
	}
	return s.createGarment(ctx, key, func(tx *sql.Tx) (string, error) { return importGarment(ctx, tx, n) })
}

func importGarment(ctx context.Context, tx *sql.Tx, n api.NewGarment) (string, error) {
	id, err := insertGarment(ctx, tx, n.Name)
	if err != nil {
		return "", err
	}
	for name := range n.Swatches {
		if err := insertSwatch(ctx, tx, id, name); err != nil {
			return "", err
		}
	}
	ids := map[string]string{}
	for _, p := range n.Pieces {
		ids[p.ID] = newID()
		p.ID = ids[p.ID]
		if err := insertLoose(ctx, tx, id, p); err != nil {
			return "", err
		}
	}
	return id, keepParts(ctx, tx, id, n.Name, n.Parts.Renamed(ids))
}

// insertLoose keeps a piece that has no photo.
func insertLoose(ctx context.Context, tx *sql.Tx, garmentID string, p api.Piece) error {
	col, err := pieceColumns(p)
	if err != nil {
		return err
	}
	now := millis(time.Now())
	_, err = tx.ExecContext(ctx, `INSERT INTO pieces (`+pieceColumnNames+`, id, garment_id, face, uncertainty_mm, fray_mm, version, created_at, updated_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 1, ?, ?)`,
		append(col, p.ID, garmentID, p.Face, p.UncertaintyMM, p.FrayMM, now, now)...)
	return err
}
