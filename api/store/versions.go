package store

import (
	"context"
	"time"

	"secondcut/api"
)

// versioned says how the former versions of a kind of record are kept, and which
// of its columns come back with them.
type versioned struct {
	what, table, versions, owner string
	columns                      []string
}

var (
	pieceHistory = versioned{
		"piece", "pieces", "piece_versions", "piece_id",
		[]string{"name", "knots", "holes", "unsure", "grain", "strokes", "pattern", "uncertainty_mm", "fray_mm"},
	}
	garmentHistory = versioned{"garment", "garments", "garment_versions", "garment_id", []string{"name", "pattern"}}
)

// keep keeps a record as it is now among its former versions, of which the oldest
// over [api.MaxVersions] go.
func (v versioned) keep(ctx context.Context, tx *txn, id string) error {
	rows, err := dump(ctx, tx, `SELECT * FROM `+v.table+` WHERE id = ?`, id)
	if err != nil {
		return err
	}
	for _, r := range rows {
		col, err := texts(r)
		if err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO `+v.versions+` VALUES (?, ?, ?) ON CONFLICT (`+v.owner+`, version) DO UPDATE SET row = excluded.row`, id, r["version"], col[0]); err != nil {
			return err
		}
	}
	_, err = tx.ExecContext(ctx, `DELETE FROM `+v.versions+` WHERE `+v.owner+` = ? AND version <= (
		SELECT version FROM `+v.versions+` WHERE `+v.owner+` = ? ORDER BY version DESC LIMIT 1 OFFSET ?)`, id, id, api.MaxVersions)
	return err
}

// list returns the versions of a record, the present one first.
func (v versioned) list(ctx context.Context, tx *txn, id string) ([]api.Version, error) {
	row := tx.QueryRowContext(ctx, `SELECT version, name, updated_at FROM `+v.table+` WHERE id = ?`, id)
	now, err := one(row, v.what, readVersion)
	if err != nil {
		return nil, err
	}
	rows, err := tx.QueryContext(ctx, `SELECT version, row`+tx.in.asJSON+` ->> 'name', CAST(row`+tx.in.asJSON+` ->> 'updated_at' AS BIGINT) FROM `+v.versions+` WHERE `+v.owner+` = ? ORDER BY version DESC`, id)
	if err != nil {
		return nil, err
	}
	former, err := collect(rows, readVersion)
	return append([]api.Version{now}, former...), err
}

func readVersion(scan scanner) (v api.Version, err error) {
	return v, scan(&v.Version, &v.Name, stamp{&v.SavedAt})
}

// back writes the columns of a former version into the record, as a new version.
func (v versioned) back(ctx context.Context, tx *txn, id string, version int64) error {
	var doc string
	row := tx.QueryRowContext(ctx, `SELECT row FROM `+v.versions+` WHERE `+v.owner+` = ? AND version = ?`, id, version)
	if _, err := one(row, "version", func(scan scanner) (struct{}, error) { return struct{}{}, scan(&doc) }); err != nil {
		return err
	}
	r, err := readRow([]byte(doc))
	if err != nil {
		return api.Damaged("version", err)
	}
	if err := v.keep(ctx, tx, id); err != nil {
		return err
	}
	for _, c := range v.columns {
		if value, ok := r[c]; ok {
			if err := changed(ctx, tx, v.what, `UPDATE `+v.table+` SET `+c+` = ? WHERE id = ?`, value, id); err != nil {
				return err
			}
		}
	}
	return nil
}

// PieceVersions lists the versions of a piece, the present one first.
func (s *Store) PieceVersions(ctx context.Context, id string) (out []api.Version, err error) {
	err = s.tx(ctx, func(tx *txn) (err error) {
		out, err = pieceHistory.list(ctx, tx, id)
		return err
	})
	return out, err
}

// GarmentVersions lists the versions of what a person may change of a garment,
// the present one first.
func (s *Store) GarmentVersions(ctx context.Context, id string) (out []api.Version, err error) {
	err = s.tx(ctx, func(tx *txn) (err error) {
		out, err = garmentHistory.list(ctx, tx, id)
		return err
	})
	return out, err
}

// RestorePiece makes a former version of a piece the present one.
func (s *Store) RestorePiece(ctx context.Context, id string, to, version int64) (*api.Piece, error) {
	var p *api.Piece
	err := s.tx(ctx, func(tx *txn) (err error) {
		if p, err = piece(ctx, tx, id); err != nil {
			return err
		}
		if !api.Starts(version, p.Version) {
			return api.Stale(p)
		}
		if err := pieceHistory.back(ctx, tx, id, to); err != nil {
			return err
		}
		if err := changed(ctx, tx, "piece", `UPDATE pieces SET version = version + 1, updated_at = ? WHERE id = ?`, millis(time.Now()), id); err != nil {
			return err
		}
		if err := touch(ctx, tx, p.GarmentID); err != nil {
			return err
		}
		p, err = piece(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.watch.tell(p.GarmentID)
	return looked(p), nil
}

// RestoreGarment makes name and pattern of a former version the present ones.
func (s *Store) RestoreGarment(ctx context.Context, id string, to, version int64) (*api.Garment, error) {
	var g *api.Garment
	err := s.tx(ctx, func(tx *txn) (err error) {
		if g, err = garment(ctx, tx, id); err != nil {
			return err
		}
		if !api.Starts(version, g.Version) {
			return api.Stale(g)
		}
		if err := garmentHistory.back(ctx, tx, id, to); err != nil {
			return err
		}
		if err := touch(ctx, tx, id); err != nil {
			return err
		}
		g, err = garment(ctx, tx, id)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.watch.tell(id)
	return g, nil
}
