package store

import (
	"context"
	"database/sql"
	"time"

	"secondcut/api"
	"secondcut/geometry"
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
	row := tx.QueryRowContext(ctx, `SELECT id, garment_id, photo_id, name, knots, holes, unsure, grain, strokes, uncertainty_mm, fray_mm, version, updated_at
		FROM pieces WHERE id = ?`, id)
	p, err := one(row, "piece", func(scan scanner) (p api.Piece, err error) {
		var knots []geometry.Knot
		err = scan(&p.ID, &p.GarmentID, &p.PhotoID, &p.Name, list[geometry.Knot]{&knots}, list[geometry.Path]{&p.Holes},
			list[geometry.Stretch]{&p.Unsure}, column(&p.Grain), list[api.Stroke]{&p.Strokes}, &p.UncertaintyMM, &p.FrayMM, &p.Version, stamp{&p.UpdatedAt})
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
	said, err := saidColumns(edit)
	if err != nil {
		return nil, err
	}
	var p *api.Piece
	stale := false
	err = s.tx(ctx, func(tx *sql.Tx) error {
		n, err := affected(ctx, tx, `UPDATE pieces SET name = ?, knots = ?, holes = ?, strokes = ?,
			uncertainty_mm = coalesce(?, uncertainty_mm), fray_mm = coalesce(?, fray_mm), unsure = coalesce(?, unsure), grain = coalesce(?, grain),
			version = version + 1, updated_at = ?
			WHERE id = ? AND version = ?`, edit.Name, col[0], col[1], col[2], edit.UncertaintyMM, edit.FrayMM, said[0], said[1], millis(time.Now()), id, version)
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

// saidColumns are the columns unsure and grain of an edit; NULL for what it
// leaves as it is.
func saidColumns(edit api.PieceEdit) (out [2]sql.NullString, err error) {
	if edit.Unsure != nil {
		out[0], err = nullText(&edit.Unsure)
	}
	if err == nil && edit.Grain != nil {
		out[1], err = nullText(edit.Grain)
	}
	return out, err
}

func nullText[T any](v *T) (sql.NullString, error) {
	s, err := text(v)
	return sql.NullString{String: s, Valid: true}, err
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
