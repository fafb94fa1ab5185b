package store

import (
	"context"
	"database/sql"
)

// family tells whether rows that come from outside belong to garments that they may
// belong to: rows of an archive or of the trash name others by id, and must not reach
// into a garment of somebody else. Rows come with those that they refer to first.
type family struct{ garments, photos, pieces map[string]bool }

func newFamily(garments ...string) *family {
	f := &family{map[string]bool{}, map[string]bool{}, map[string]bool{}}
	for _, id := range garments {
		f.garments[id] = true
	}
	return f
}

// has reports whether a row belongs to the family, to which it belongs from then on.
func (f *family) has(ctx context.Context, tx *txn, table string, r row) (bool, error) {
	id, _ := r["id"].(string)
	garmentID, _ := r["garment_id"].(string)
	photoID, _ := r["photo_id"].(string)
	pieceID, _ := r["piece_id"].(string)
	switch table {
	case "garments":
		return f.garments[id], nil
	case "piece_versions":
		return f.member(ctx, tx, f.pieces, "pieces", pieceID)
	}
	if !f.garments[garmentID] {
		return false, nil
	}
	if photoID != "" {
		if ok, err := f.member(ctx, tx, f.photos, "photos", photoID); !ok {
			return false, err
		}
	}
	switch table {
	case "photos":
		f.photos[id] = true
	case "pieces":
		f.pieces[id] = true
	}
	return true, nil
}

// member looks for a record among the rows so far, then in its table.
func (f *family) member(ctx context.Context, tx *txn, known map[string]bool, table, id string) (bool, error) {
	if known[id] {
		return true, nil
	}
	var garmentID string
	err := tx.QueryRowContext(ctx, `SELECT garment_id FROM `+table+` WHERE id = ?`, id).Scan(&garmentID)
	if err == sql.ErrNoRows {
		return false, nil
	}
	return f.garments[garmentID], err
}
