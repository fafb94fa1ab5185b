package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"secondcut/api"
	"secondcut/vision"
)

// photoColumns are read by readPhoto, after which comes the trace or an empty text.
const photoColumns = `id, garment_id, file_name, face, width, height, status, job_id, refusal, plane, print, known_things, status = 'traced' AND (print, known_things) <> (traced_print, traced_things), created_at`

func readPhoto(scan scanner) (p api.Photo, err error) {
	var things *[]api.Reference
	err = scan(&p.ID, &p.GarmentID, &p.FileName, &p.Face, &p.Width, &p.Height, &p.Status, &p.JobID,
		column(&p.Refusal), column(&p.Plane), column(&p.Print), column(&things), &p.PrintChanged, stamp{&p.CreatedAt}, column(&p.Trace))
	if things != nil {
		p.References = *things
	}
	return p, err
}

// readListed reads a photo among others, which a damaged one must not take down
// with it: it is listed as failed, with the reason, and without what is damaged.
func readListed(scan scanner) (api.Photo, error) {
	var damaged error
	p, err := readPhoto(func(dest ...any) error {
		for i, d := range dest {
			if s, ok := d.(sql.Scanner); ok {
				dest[i] = mild{s, &damaged}
			}
		}
		return scan(dest...)
	})
	if e, ok := errors.AsType[*api.Error](damaged); ok {
		p.Status = api.PhotoFailed
		p.Refusal = &vision.Refusal{
			Code: vision.Code(e.Code), Message: "What was kept of this photo is damaged. Its pieces, where it has any, can still be used.",
			Remedy: "Bring it back from a backup, or remove it and upload it again; its pieces go with it.",
		}
	}
	return p, err
}

func photo(ctx context.Context, tx *txn, id string) (*api.Photo, error) {
	row := tx.QueryRowContext(ctx, `SELECT `+photoColumns+`, trace FROM photos WHERE id = ?`, id)
	p, err := one(row, "photo", readPhoto)
	return &p, err
}

// AddPhoto writes the picture and then the rows of photo and job.
func (s *Store) AddPhoto(ctx context.Context, n api.NewPhoto, key api.Key) (*api.Photo, *api.Job, error) {
	defer s.holds.begin()()
	var p *api.Photo
	var j *api.Job
	err := s.tx(ctx, func(tx *txn) error {
		id, err := madeBefore(ctx, tx, key)
		if err != nil {
			return err
		}
		if id == "" {
			if id, err = s.insertPhoto(ctx, tx, n); err != nil {
				return err
			}
			if err := remember(ctx, tx, key, id); err != nil {
				return err
			}
		}
		if p, err = photo(ctx, tx, id); err != nil {
			return err
		}
		j, err = job(ctx, tx, p.JobID)
		return err
	})
	if err != nil {
		return nil, nil, err
	}
	s.watch.tell(p.GarmentID)
	return p, j, nil
}

func (s *Store) insertPhoto(ctx context.Context, tx *txn, n api.NewPhoto) (string, error) {
	if err := touch(ctx, tx, n.GarmentID); err != nil {
		return "", err
	}
	var count int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM photos WHERE garment_id = ?`, n.GarmentID).Scan(&count); err != nil {
		return "", err
	}
	if count >= api.MaxPhotos {
		return "", &api.Error{
			Code: api.CodeTooMany, Message: fmt.Sprintf("This garment has %d photos, and more cannot be added.", count),
			Remedy: "Remove photos that you do not need, or start another garment.",
		}
	}
	blob, err := s.put(ctx, n.Data)
	if err != nil {
		return "", err
	}
	print, err := printText(n.Print)
	if err != nil {
		return "", err
	}
	id, jobID := newID(), newID()
	_, err = tx.ExecContext(ctx, `INSERT INTO photos (id, garment_id, file_name, face, print, width, height, status, job_id, original, bytes, created_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		id, n.GarmentID, n.FileName, n.Face, print, n.Width, n.Height, api.PhotoQueued, jobID, blob, len(n.Data), millis(time.Now()))
	if err != nil {
		return "", err
	}
	return id, insertJob(ctx, tx, api.Job{ID: jobID, Kind: api.JobTrace, PhotoID: id, GarmentID: n.GarmentID}, nil)
}

// Photo returns one photo with its trace.
func (s *Store) Photo(ctx context.Context, id string) (*api.Photo, error) {
	var p *api.Photo
	err := s.tx(ctx, func(tx *txn) (err error) {
		p, err = photo(ctx, tx, id)
		return err
	})
	return p, err
}

// EditPhoto changes what the person may change of a photo.
func (s *Store) EditPhoto(ctx context.Context, id string, edit api.PhotoEdit) (*api.Photo, error) {
	var print *string // nil leaves it as it is
	if edit.Print != nil {
		doc, err := printText(*edit.Print)
		if err != nil {
			return nil, err
		}
		print = &doc
	}
	var things *string
	if edit.References != nil {
		doc, err := thingsText(*edit.References)
		if err != nil {
			return nil, err
		}
		things = &doc
	}
	var p *api.Photo
	err := s.tx(ctx, func(tx *txn) error {
		err := changed(ctx, tx, "photo", `UPDATE photos SET face = coalesce(?, face), file_name = coalesce(?, file_name), print = coalesce(?, print), known_things = coalesce(?, known_things) WHERE id = ?`,
			edit.Face, edit.FileName, print, things, id)
		if err != nil {
			return err
		}
		if p, err = photo(ctx, tx, id); err != nil {
			return err
		}
		return touch(ctx, tx, p.GarmentID)
	})
	if err != nil {
		return nil, err
	}
	s.watch.tell(p.GarmentID)
	return p, nil
}

// printText writes a print for its column; nothing measured is the empty text.
func printText(p api.Print) (string, error) {
	if p == (api.Print{}) {
		return "", nil
	}
	return text(&p)
}

// thingsText writes references for their column; none are the empty text.
func thingsText(refs []api.Reference) (string, error) {
	if len(refs) == 0 {
		return "", nil
	}
	return text(&refs)
}

// pictureColumn says where the key of a picture stands.
var pictureColumn = map[api.PictureKind]string{
	api.PictureOriginal: "original",
	api.PictureUpright:  "upright",
	api.PicturePlane:    "plane_picture",
}

// Picture returns the bytes of one picture of a photo.
func (s *Store) Picture(ctx context.Context, photoID string, kind api.PictureKind) ([]byte, error) {
	var key string
	err := s.tx(ctx, func(tx *txn) (err error) {
		row := tx.QueryRowContext(ctx, `SELECT `+pictureColumn[kind]+` FROM photos WHERE id = ?`, photoID)
		key, err = one(row, "photo", func(scan scanner) (k string, err error) { return k, scan(&k) })
		return err
	})
	if err != nil {
		return nil, err
	}
	if key == "" {
		return nil, &api.Error{Code: api.CodeNotReady, Message: "This picture has not been made yet.", Remedy: "Wait until the photo is traced."}
	}
	data, err := s.blobs.get(ctx, key)
	if errors.Is(err, errLost) {
		return nil, api.Damaged("picture", err)
	}
	if err != nil {
		return nil, explain(fmt.Errorf("store: reading a picture: %w", err))
	}
	return data, nil
}

// KeepUpright keeps the upright picture of a photo.
func (s *Store) KeepUpright(ctx context.Context, photoID string, jpeg []byte) error {
	defer s.holds.begin()()
	key, err := s.put(ctx, jpeg)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return s.tx(ctx, func(tx *txn) error {
		return changed(ctx, tx, "photo", `UPDATE photos SET upright = ? WHERE id = ?`, key, photoID)
	})
}
