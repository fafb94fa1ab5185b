package store

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"secondcut/api"
)

// owned says which rows belong to a record of a kind, tables that others refer to
// first.
var owned = map[api.TrashKind][]struct{ table, where string }{
	api.TrashGarment: {
		{"garments", `id = ?`},
		{"garment_versions", `garment_id = ?`},
		{"swatches", `garment_id = ?`},
		{"photos", `garment_id = ?`},
		{"pieces", `garment_id = ?`},
		{"piece_versions", `piece_id IN (SELECT id FROM pieces WHERE garment_id = ?)`},
		{"jobs", `garment_id = ? AND photo_id IS NOT NULL`},
	},
	api.TrashPhoto: {
		{"photos", `id = ?`},
		{"pieces", `photo_id = ?`},
		{"piece_versions", `piece_id IN (SELECT id FROM pieces WHERE photo_id = ?)`},
		{"jobs", `photo_id = ?`},
	},
	api.TrashPiece: {
		{"pieces", `id = ?`},
		{"piece_versions", `piece_id = ?`},
	},
}

// nameColumn is where the name of a record stands that its table begins with.
var nameColumn = map[api.TrashKind]string{api.TrashGarment: "name", api.TrashPhoto: "file_name", api.TrashPiece: "name"}

// pictureColumns name pictures in a row of photos or swatches.
var pictureColumns = []string{"original", "upright", "plane_picture", "picture"}

// rowKeys are the pictures that a row names.
func rowKeys(r row) (keys []string) {
	for _, c := range pictureColumns {
		if key, _ := r[c].(string); key != "" {
			keys = append(keys, key)
		}
	}
	return keys
}

// thrown is one table's share of what was deleted.
type thrown struct {
	Table string `json:"table"`
	Rows  []row  `json:"rows"`
}

// discard deletes a record with what belongs to it and keeps all of it in the
// trash.
func discard(ctx context.Context, tx *txn, kind api.TrashKind, id string) (trashID, garmentID string, err error) {
	var all []thrown
	var keys []string
	for _, o := range owned[kind] {
		rows, err := dump(ctx, tx, `SELECT * FROM `+o.table+` WHERE `+o.where+` ORDER BY `+orderOf(o.table), id)
		if err != nil {
			return "", "", err
		}
		all = append(all, thrown{o.table, rows})
		for _, r := range rows {
			keys = append(keys, rowKeys(r)...)
		}
	}
	if len(all[0].Rows) == 0 {
		return "", "", api.NotFound(string(kind))
	}
	first := all[0].Rows[0]
	garmentID, _ = first["garment_id"].(string)
	if kind == api.TrashGarment {
		garmentID = id
	}
	col, err := texts(all, append([]string{}, keys...))
	if err != nil {
		return "", "", err
	}
	trashID = newID()
	_, err = tx.ExecContext(ctx, `INSERT INTO trash (id, workspace, kind, record_id, garment_id, name, rows, pictures, bytes, deleted_at)
		VALUES (?, (SELECT workspace FROM garments WHERE id = ?), ?, ?, ?, ?, ?, ?, ?, ?)`,
		trashID, garmentID, kind, id, garmentID, first[nameColumn[kind]], col[0], col[1], photoBytes(all), millis(time.Now()))
	if err != nil {
		return "", "", err
	}
	return trashID, garmentID, changed(ctx, tx, string(kind), `DELETE FROM `+all[0].Table+` WHERE id = ?`, id)
}

// photoBytes is what the photos among rows take.
func photoBytes(all []thrown) (n int64) {
	for _, t := range all {
		for _, r := range t.Rows {
			b, _ := r["bytes"].(int64)
			n += b
		}
	}
	return n
}

// throw deletes a record; its garment, if that is still there, changes.
func (s *Store) throw(ctx context.Context, kind api.TrashKind, id string) (string, error) {
	var trashID, garmentID string
	err := s.tx(ctx, func(tx *txn) (err error) {
		if trashID, garmentID, err = discard(ctx, tx, kind, id); err != nil || kind == api.TrashGarment {
			return err
		}
		return touch(ctx, tx, garmentID)
	})
	if err != nil {
		return "", err
	}
	s.watch.tell(garmentID)
	return trashID, nil
}

// DeleteGarment moves the garment with its photos and pieces into the trash.
func (s *Store) DeleteGarment(ctx context.Context, id string) (string, error) {
	return s.throw(ctx, api.TrashGarment, id)
}

// DeletePhoto moves the photo with its pieces and jobs into the trash.
func (s *Store) DeletePhoto(ctx context.Context, id string) (string, error) {
	return s.throw(ctx, api.TrashPhoto, id)
}

// DeletePiece moves one piece into the trash; its photo stays.
func (s *Store) DeletePiece(ctx context.Context, id string) (string, error) {
	return s.throw(ctx, api.TrashPiece, id)
}

const trashColumns = `id, kind, record_id, garment_id, name, deleted_at`

func readTrashed(scan scanner) (t api.Trashed, err error) {
	err = scan(&t.ID, &t.Kind, &t.RecordID, &t.GarmentID, &t.Name, stamp{&t.DeletedAt})
	t.GoneAt = t.DeletedAt.Add(api.TrashLife)
	return t, err
}

// Trash lists what was deleted and can be brought back, last deleted first.
func (s *Store) Trash(ctx context.Context, page api.Page) ([]api.Trashed, error) {
	var out []api.Trashed
	err := s.tx(ctx, func(tx *txn) error {
		here, args := within(ctx, "workspace")
		rows, err := tx.QueryContext(ctx, `SELECT `+trashColumns+` FROM trash WHERE true`+here+` AND (deleted_at, id) < (?, ?) ORDER BY deleted_at DESC, id DESC LIMIT ?`, append(args, pageArgs(page)...)...)
		if err != nil {
			return err
		}
		out, err = collect(rows, readTrashed)
		return err
	})
	return out, err
}

// Restore brings back what was deleted, and returns the jobs that were not done.
func (s *Store) Restore(ctx context.Context, trashID string) (*api.Trashed, []api.Job, error) {
	var t api.Trashed
	var left []api.Job
	err := s.tx(ctx, func(tx *txn) error {
		var doc string
		var workspace string
		row := tx.QueryRowContext(ctx, `SELECT `+trashColumns+`, workspace, rows FROM trash WHERE id = ?`, trashID)
		var err error
		t, err = one(row, "entry in the trash", func(scan scanner) (api.Trashed, error) {
			return readTrashed(func(dest ...any) error { return scan(append(dest, &workspace, &doc)...) })
		})
		if err != nil {
			return err
		}
		if err := parentsThere(ctx, tx, t, workspace, doc); err != nil {
			return err
		}
		if err := bringBack(ctx, tx, t, workspace, doc); err != nil {
			return err
		}
		if err := changed(ctx, tx, "entry in the trash", `DELETE FROM trash WHERE id = ?`, trashID); err != nil {
			return err
		}
		if left, err = requeue(ctx, tx, t.GarmentID); err != nil {
			return err
		}
		return touch(ctx, tx, t.GarmentID)
	})
	if err != nil {
		return nil, nil, err
	}
	s.watch.tell(t.GarmentID)
	return &t, left, nil
}

// parentsThere answers CodeNotReady when what a record belonged to is deleted as
// well.
func parentsThere(ctx context.Context, tx *txn, t api.Trashed, workspace, doc string) error {
	if t.Kind == api.TrashGarment {
		return nil
	}
	var garment bool
	err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM garments WHERE id = ? AND workspace = ?)`, t.GarmentID, workspace).Scan(&garment)
	if err != nil {
		return err
	}
	photo, err := photosThere(ctx, tx, t.GarmentID, doc)
	if err != nil {
		return err
	}
	what := "garment"
	if garment {
		what = "photo"
	}
	if !garment || t.Kind == api.TrashPiece && !photo {
		return &api.Error{Code: api.CodeNotReady, Message: fmt.Sprintf("The %s that this belongs to is deleted too.", what), Remedy: fmt.Sprintf("Bring the %s back first.", what)}
	}
	return nil
}

// photosThere says whether the photos are there that pieces in the trash came from.
func photosThere(ctx context.Context, tx *txn, garmentID, doc string) (bool, error) {
	var all []thrown
	if err := json.Unmarshal([]byte(doc), &all); err != nil {
		return false, api.Damaged("entry in the trash", err)
	}
	for _, t := range all {
		for _, r := range t.Rows {
			id, _ := r["photo_id"].(string)
			if t.Table != "pieces" || id == "" {
				continue
			}
			var there bool
			err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM photos WHERE id = ? AND garment_id = ?)`, id, garmentID).Scan(&there)
			if err != nil || !there {
				return false, err
			}
		}
	}
	return true, nil
}

// bringBack writes the rows of an entry. What it holds may come from an archive that
// somebody made by hand: it must not reach into another garment.
func bringBack(ctx context.Context, tx *txn, entry api.Trashed, workspace, doc string) error {
	family := newFamily(entry.GarmentID)
	var all []struct {
		Table string            `json:"table"`
		Rows  []json.RawMessage `json:"rows"`
	}
	if err := json.Unmarshal([]byte(doc), &all); err != nil {
		return api.Damaged("entry in the trash", err)
	}
	for _, t := range all {
		if !slices.ContainsFunc(archived, func(a archivedTable) bool { return a.table == t.Table && t.Table != "trash" }) {
			return api.Damaged("entry in the trash", fmt.Errorf("table %q", t.Table))
		}
		for _, raw := range t.Rows {
			r, err := readRow(raw)
			if err != nil {
				return api.Damaged("entry in the trash", err)
			}
			if t.Table == "garments" {
				r["workspace"] = workspace
			}
			related, err := family.has(ctx, tx, t.Table, r)
			if err != nil {
				return err
			}
			if !related {
				return api.Damaged("entry in the trash", errors.New("a row of another garment"))
			}
			if err := insert(ctx, tx, t.Table, r); err != nil {
				return err
			}
		}
	}
	return nil
}

// requeue puts the jobs of a garment that were running when it was deleted back
// into the queue, and returns all that are queued.
func requeue(ctx context.Context, tx *txn, garmentID string) ([]api.Job, error) {
	_, err := tx.ExecContext(ctx, `UPDATE jobs SET status = ? WHERE garment_id = ? AND status = ? AND photo_id IN (SELECT id FROM photos WHERE garment_id = ?)`,
		api.JobQueued, garmentID, api.JobRunning, garmentID)
	if err != nil {
		return nil, err
	}
	rows, err := tx.QueryContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE garment_id = ? AND status = ? ORDER BY created_at, id`, garmentID, api.JobQueued)
	if err != nil {
		return nil, err
	}
	return collect(rows, readJob)
}

// EmptyTrash deletes an entry of the trash for good, or all of it when the id is
// "", with the pictures that nothing else uses, and with the files in which it may have
// been drawn or is being drawn, and with what has come of photos for garments that are gone.
func (s *Store) EmptyTrash(ctx context.Context, id string) error {
	err := s.tx(ctx, func(tx *txn) error {
		here, args := within(ctx, "workspace")
		_, err := tx.ExecContext(ctx, `DELETE FROM jobs WHERE kind = ? AND garment_id IN (SELECT garment_id FROM trash WHERE (id = ? OR ? = '')`+here+`)`,
			append([]any{api.JobExport, id, id}, args...)...)
		if err != nil {
			return err
		}
		if id == "" {
			_, err := tx.ExecContext(ctx, `DELETE FROM trash WHERE true`+here, args...)
			return err
		}
		return changed(ctx, tx, "entry in the trash", `DELETE FROM trash WHERE id = ?`, id)
	})
	if err != nil {
		return err
	}
	if err := s.sweepUploads(ctx); err != nil {
		return err
	}
	return s.sweepPictures(ctx)
}
