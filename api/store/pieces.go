package store

import (
	"context"
	"database/sql"
	"time"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/vision"
)

// Piece returns one piece.
func (s *Store) Piece(ctx context.Context, id string) (*api.Piece, error) {
	var p *api.Piece
	err := s.tx(ctx, func(tx *sql.Tx) (err error) {
		p, err = piece(ctx, tx, id)
		return err
	})
	return looked(p), err
}

// looked adds the findings, outside of any transaction: they take a moment for
// outlines with very many knots.
func looked(p *api.Piece) *api.Piece {
	if p != nil {
		p.Findings = api.OutlineFindings(p.Knots, p.Holes)
	}
	return p
}

func piece(ctx context.Context, tx *sql.Tx, id string) (*api.Piece, error) {
	row := tx.QueryRowContext(ctx, `SELECT id, garment_id, photo_id, name, knots, holes, unsure, strokes, uncertainty_mm, fray_mm, version, updated_at
		FROM pieces WHERE id = ?`, id)
	p, err := one(row, "piece", func(scan scanner) (p api.Piece, err error) {
		var knots []geometry.Knot
		err = scan(&p.ID, &p.GarmentID, &p.PhotoID, &p.Name, list[geometry.Knot]{&knots}, list[geometry.Path]{&p.Holes},
			list[vision.Stretch]{&p.Unsure}, list[api.Stroke]{&p.Strokes}, &p.UncertaintyMM, &p.FrayMM, &p.Version, stamp{&p.UpdatedAt})
		p.Knots = knots
		return p, err
	})
	if err != nil {
		return nil, err
	}
	return &p, nil
}

// SavePiece keeps an edit that starts from the given version.
func (s *Store) SavePiece(ctx context.Context, id string, edit api.PieceEdit, version int64) (*api.Piece, error) {
	if edit.Holes == nil {
		edit.Holes = []geometry.Path{}
	}
	if edit.Strokes == nil {
		edit.Strokes = []api.Stroke{}
	}
	col, err := texts(edit.Knots, edit.Holes, edit.Strokes)
	if err != nil {
		return nil, err
	}
	var p *api.Piece
	stale := false
	err = s.tx(ctx, func(tx *sql.Tx) error {
		n, err := affected(ctx, tx, `UPDATE pieces SET name = ?, knots = ?, holes = ?, strokes = ?, version = version + 1, updated_at = ?
			WHERE id = ? AND version = ?`, edit.Name, col[0], col[1], col[2], millis(time.Now()), id, version)
		if err != nil {
			return err
		}
		if p, err = piece(ctx, tx, id); err != nil {
			return err
		}
		if stale = n == 0; stale {
			return nil
		}
		return touch(ctx, tx, p.GarmentID)
	})
	if err != nil {
		return nil, err
	}
	if looked(p); stale {
		return nil, api.Stale(p)
	}
	s.watch.tell(p.GarmentID)
	return p, nil
}

// DeletePiece deletes one piece; its photo stays.
func (s *Store) DeletePiece(ctx context.Context, id string) error {
	var garmentID string
	err := s.tx(ctx, func(tx *sql.Tx) error {
		p, err := piece(ctx, tx, id)
		if err != nil {
			return err
		}
		garmentID = p.GarmentID
		if err := changed(ctx, tx, "piece", `DELETE FROM pieces WHERE id = ?`, id); err != nil {
			return err
		}
		return touch(ctx, tx, garmentID)
	})
	if err == nil {
		s.watch.tell(garmentID)
	}
	return err
}
