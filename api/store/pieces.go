package store

import (
	"context"
	"database/sql"
	"slices"
	"time"

	"secondcut/api"
	"secondcut/geometry"
)

// Piece returns one piece.
func (s *Store) Piece(ctx context.Context, id string) (*api.Piece, error) {
	var p *api.Piece
	err := s.tx(ctx, func(tx *txn) (err error) {
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

// pieceQuery reads pieces for readPiece; what it selects goes on from there.
const pieceQuery = `SELECT p.id, p.garment_id, coalesce(p.photo_id, ''), p.name, coalesce(f.face, p.face), p.knots, p.holes, p.unsure, p.grain, p.strokes,
	p.pattern, p.uncertainty_mm, p.fray_mm, p.version, p.updated_at FROM pieces p LEFT JOIN photos f ON f.id = p.photo_id `

func readPiece(scan scanner) (*api.Piece, error) {
	var p api.Piece
	var knots []geometry.Knot
	var parts *api.PieceParts
	err := scan(&p.ID, &p.GarmentID, &p.PhotoID, &p.Name, &p.Face, list[geometry.Knot]{&knots}, list[geometry.Path]{&p.Holes},
		list[geometry.Stretch]{&p.Unsure}, column(&p.Grain), list[api.Stroke]{&p.Strokes}, column(&parts),
		&p.UncertaintyMM, &p.FrayMM, &p.Version, stamp{&p.UpdatedAt})
	if err != nil {
		return nil, err
	}
	p.Knots = knots
	if p.Untouched = parts == nil; p.Untouched {
		p.PieceParts = api.FirstParts(p.Knots, p.Grain)
	} else {
		p.PieceParts = *parts
	}
	return &p, nil
}

func piece(ctx context.Context, tx *txn, id string) (*api.Piece, error) {
	return one(tx.QueryRowContext(ctx, pieceQuery+`WHERE p.id = ?`, id), "piece", readPiece)
}

// pieceRows are the pieces of a garment, in their order.
func pieceRows(ctx context.Context, tx *txn, garmentID string) (*sql.Rows, error) {
	return tx.QueryContext(ctx, pieceQuery+`WHERE p.garment_id = ? ORDER BY p.created_at, p.id`, garmentID)
}

// collectSound reads the pieces that are not damaged.
func collectSound(rows *sql.Rows) ([]*api.Piece, error) {
	all, err := collect(rows, func(scan scanner) (*api.Piece, error) {
		p, err := readPiece(scan)
		if api.CodeOf(err) == api.CodeDamaged {
			return nil, nil
		}
		return p, err
	})
	return slices.DeleteFunc(all, func(p *api.Piece) bool { return p == nil }), err
}

// Pieces returns all pieces of a garment.
func (s *Store) Pieces(ctx context.Context, garmentID string) ([]*api.Piece, error) {
	var all []*api.Piece
	err := s.tx(ctx, func(tx *txn) error {
		rows, err := pieceRows(ctx, tx, garmentID)
		if err != nil {
			return err
		}
		all, err = collect(rows, readPiece)
		return err
	})
	for _, p := range all {
		looked(p)
	}
	return all, err
}

// SavePiece keeps an edit that starts from the given version.
func (s *Store) SavePiece(ctx context.Context, id string, edit api.PieceEdit, version int64) (*api.Piece, error) {
	var p *api.Piece
	var findings []geometry.Finding
	stale := false
	err := s.tx(ctx, func(tx *txn) error {
		before, err := piece(ctx, tx, id)
		if err != nil {
			return err
		}
		if p, stale = before, !api.Starts(version, before.Version); stale {
			return nil
		}
		var now api.Piece
		if now, findings, err = before.Edited(edit); err != nil {
			return err
		}
		if err := updatePiece(ctx, tx, now); err != nil {
			return err
		}
		if p, err = piece(ctx, tx, id); err != nil {
			return err
		}
		return touch(ctx, tx, p.GarmentID)
	})
	if err != nil {
		return nil, err
	}
	if looked(p); stale {
		return nil, api.Stale(p)
	}
	p.Findings = append(p.Findings, findings...)
	s.watch.tell(p.GarmentID)
	return p, nil
}

// updatePiece writes all that an edit may change; the version grows by one.
func updatePiece(ctx context.Context, tx *txn, p api.Piece) error {
	if err := pieceHistory.keep(ctx, tx, p.ID); err != nil {
		return err
	}
	col, err := pieceColumns(p)
	if err != nil {
		return err
	}
	return changed(ctx, tx, "piece", `UPDATE pieces SET name = ?, knots = ?, holes = ?, unsure = ?, strokes = ?, pattern = ?, grain = ?,
		uncertainty_mm = ?, fray_mm = ?, version = version + 1, updated_at = ? WHERE id = ?`,
		append(col, p.UncertaintyMM, p.FrayMM, millis(time.Now()), p.ID)...)
}

const pieceColumnNames = `name, knots, holes, unsure, strokes, pattern, grain`

// pieceColumns are the values of pieceColumnNames. A piece that nobody has given any
// parts keeps none, so that they follow from its outline.
func pieceColumns(p api.Piece) ([]any, error) {
	col, err := texts(p.Knots, p.Holes, p.Unsure, p.Strokes, p.PieceParts)
	if err != nil {
		return nil, err
	}
	grain, err := text(p.Grain)
	if err != nil {
		return nil, err
	}
	if p.Untouched {
		col[4] = ""
	}
	return []any{p.Name, col[0], col[1], col[2], col[3], col[4], grain}, nil
}
