package store

import (
	"context"
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
	return s.createGarment(ctx, key, func(tx *txn) (string, error) { return importGarment(ctx, tx, n) })
}

func importGarment(ctx context.Context, tx *txn, n api.NewGarment) (string, error) {
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
	}
	for _, p := range n.Pieces {
		p.ID, p.Derived = ids[p.ID], p.Derived.Renamed(ids)
		if err := insertLoose(ctx, tx, id, p); err != nil {
			return "", err
		}
	}
	return id, keepParts(ctx, tx, id, n.Name, n.Parts.Renamed(ids))
}

// AddPiece keeps a new piece of a garment that has no photo.
func (s *Store) AddPiece(ctx context.Context, p api.Piece, key api.Key) (*api.Piece, error) {
	var out *api.Piece
	err := s.tx(ctx, func(tx *txn) error {
		g, err := garment(ctx, tx, p.GarmentID)
		if err != nil {
			return err
		}
		id, err := madeBefore(ctx, tx, key)
		if err != nil {
			return err
		}
		if id == "" {
			if len(g.Pieces) >= api.MaxGarmentPieces {
				return api.Invalid("", "The garment has as many pieces as can be kept.", "Remove one that is not needed.")
			}
			id = newID()
			p.ID = id
			if err := insertLoose(ctx, tx, g.ID, p); err != nil {
				return err
			}
			if err := remember(ctx, tx, key, id); err != nil {
				return err
			}
			if err := touch(ctx, tx, g.ID); err != nil {
				return err
			}
		}
		out, err = piece(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.watch.tell(p.GarmentID)
	return looked(out), nil
}

// insertLoose keeps a piece that has no photo.
func insertLoose(ctx context.Context, tx *txn, garmentID string, p api.Piece) error {
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
