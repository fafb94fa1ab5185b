package store

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"secondcut/api"
	"secondcut/geometry/pattern"
)

// swatchPatience is how long a photo of a cloth is kept that no version of its garment
// names: the person may be about to say which cloth it is.
const swatchPatience = 24 * time.Hour

// AddSwatch keeps a photo of a cloth for a garment and returns its name.
func (s *Store) AddSwatch(ctx context.Context, garmentID string, jpeg []byte) (string, error) {
	defer s.holds.begin()()
	name, err := s.put(ctx, jpeg)
	if err != nil {
		return "", err
	}
	return name, s.tx(ctx, func(tx *txn) error {
		if err := exists(ctx, tx, garmentID); err != nil {
			return err
		}
		var kept int
		if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM swatches WHERE garment_id = ? AND picture <> ?`, garmentID, name).Scan(&kept); err != nil {
			return err
		}
		if kept >= api.MaxSwatches {
			return &api.Error{
				Code: api.CodeTooMany, Message: fmt.Sprintf("%d photos of cloths are kept for this garment, former ones with them.", kept),
				Remedy: "Wait a day, until those that are not used any more have gone, or start another garment.",
			}
		}
		return insertSwatch(ctx, tx, garmentID, name)
	})
}

func insertSwatch(ctx context.Context, tx *txn, garmentID, name string) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO swatches VALUES (?, ?, ?) ON CONFLICT (garment_id, picture) DO UPDATE SET created_at = excluded.created_at`, garmentID, name, millis(time.Now()))
	return err
}

// Swatch returns a photo of a cloth.
func (s *Store) Swatch(ctx context.Context, garmentID, name string) ([]byte, error) {
	var there bool
	err := s.tx(ctx, func(tx *txn) (err error) {
		there, err = hasSwatch(ctx, tx, garmentID, name)
		return err
	})
	if err != nil {
		return nil, err
	}
	if !there {
		return nil, api.NotFound("photo of a cloth")
	}
	data, err := s.blobs.get(ctx, name)
	if errors.Is(err, errLost) {
		return nil, api.Damaged("photo of a cloth", err)
	}
	if err != nil {
		return nil, explain(fmt.Errorf("store: reading a picture: %w", err))
	}
	return data, nil
}

func hasSwatch(ctx context.Context, tx *txn, garmentID, name string) (there bool, err error) {
	err = tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM swatches WHERE garment_id = ? AND picture = ?)`, garmentID, name).Scan(&there)
	return there, err
}

// swatchesThere answers CodeInvalid when cloths name a photo that the garment does not
// have, and did not name it before.
func swatchesThere(ctx context.Context, tx *txn, before *api.Garment, cloths []pattern.Cloth) error {
	for i, c := range cloths {
		if c.Swatch == "" || slices.ContainsFunc(before.Cloths, func(b pattern.Cloth) bool { return b.Swatch == c.Swatch }) {
			continue
		}
		there, err := hasSwatch(ctx, tx, before.ID, c.Swatch)
		if err != nil {
			return err
		}
		if !there {
			return api.Invalid(fmt.Sprintf("cloths[%d].swatch", i), fmt.Sprintf("The photo of %s is not kept for this garment.", c.Name), "Send it again, or leave it out.")
		}
	}
	return nil
}

// putSwatches writes the photos of cloths of a garment that is to be made.
func (s *Store) putSwatches(ctx context.Context, all pattern.Swatches) error {
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if _, err := s.put(ctx, all[name]); err != nil {
			return err
		}
	}
	return nil
}

// sweepSwatches forgets photos of cloths that no version of their garment names.
func sweepSwatches(ctx context.Context, tx *txn) error {
	_, err := tx.ExecContext(ctx, `DELETE FROM swatches WHERE created_at < ?
		AND NOT EXISTS (SELECT 1 FROM garments g WHERE g.id = garment_id AND g.pattern LIKE '%' || picture || '%')
		AND NOT EXISTS (SELECT 1 FROM garment_versions v WHERE v.garment_id = swatches.garment_id AND v.row LIKE '%' || picture || '%')`,
		millis(time.Now().Add(-swatchPatience)))
	return err
}
