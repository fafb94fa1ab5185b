package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"secondcut/api"
)

// uploadFile is where the parts of an upload are put together. The id is one that
// a row holds, never what a client says.
func (s *Store) uploadFile(id string) string { return filepath.Join(s.dir, "uploads", id) }

func (s *Store) upload(ctx context.Context, tx *txn, id string) (*api.Upload, error) {
	row := tx.QueryRowContext(ctx, `SELECT id, garment_id, file_name, face, print, size, photo_id, created_at FROM uploads WHERE id = ?`, id)
	u, err := one(row, "upload", func(scan scanner) (u api.Upload, err error) {
		var print *api.Print
		var begun time.Time
		err = scan(&u.ID, &u.GarmentID, &u.FileName, &u.Face, column(&print), &u.Size, &u.PhotoID, stamp{&begun})
		if print != nil {
			u.Print = *print
		}
		u.GoneAt = begun.Add(api.UploadLife)
		return u, err
	})
	if err != nil {
		return nil, err
	}
	if u.PhotoID != "" {
		u.Received = u.Size
		return &u, nil
	}
	st, err := os.Stat(s.uploadFile(u.ID))
	if errors.Is(err, fs.ErrNotExist) {
		return &u, nil
	}
	if err != nil {
		return nil, explain(err)
	}
	u.Received = min(st.Size(), u.Size)
	return &u, nil
}

// AddUpload begins an upload.
func (s *Store) AddUpload(ctx context.Context, n api.NewUpload, key api.Key) (*api.Upload, error) {
	print, err := printText(n.Print)
	if err != nil {
		return nil, err
	}
	var u *api.Upload
	err = s.tx(ctx, func(tx *txn) error {
		id, err := madeBefore(ctx, tx, key)
		if err != nil {
			return err
		}
		if id != "" {
			// One that has had its time, or was given up, is begun anew.
			if u, err = s.upload(ctx, tx, id); api.CodeOf(err) != api.CodeNotFound {
				return err
			}
			if err := forget(ctx, tx, key); err != nil {
				return err
			}
		}
		if id, err = insertUpload(ctx, tx, n, print); err != nil {
			return err
		}
		if err := remember(ctx, tx, key, id); err != nil {
			return err
		}
		u, err = s.upload(ctx, tx, id)
		return err
	})
	return u, err
}

func insertUpload(ctx context.Context, tx *txn, n api.NewUpload, print string) (string, error) {
	if _, err := garment(ctx, tx, n.GarmentID); err != nil {
		return "", err
	}
	var under int
	here, args := ofGarments(ctx)
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM uploads WHERE photo_id = ''`+here, args...).Scan(&under); err != nil {
		return "", err
	}
	if under >= api.MaxUploads {
		return "", &api.Error{
			Code: api.CodeQueueFull, RetryAfter: time.Minute,
			Message: "Too many uploads are under way.", Remedy: "Let some of them end, and try again.",
		}
	}
	id := newID()
	_, err := tx.ExecContext(ctx, `INSERT INTO uploads (id, garment_id, file_name, face, print, size, created_at) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		id, n.GarmentID, n.FileName, n.Face, print, n.Size, millis(time.Now()))
	return id, err
}

// Upload returns an upload.
func (s *Store) Upload(ctx context.Context, id string) (*api.Upload, error) {
	var u *api.Upload
	err := s.tx(ctx, func(tx *txn) (err error) {
		u, err = s.upload(ctx, tx, id)
		return err
	})
	return u, err
}

// AppendUpload adds a part at the offset, which must be where the upload stands.
// When it has answered, the part is on the disk. Of two parts at once, one is told
// that it does not continue the upload.
func (s *Store) AppendUpload(ctx context.Context, id string, offset int64, part []byte) (*api.Upload, error) {
	s.uploading.Lock()
	defer s.uploading.Unlock()
	u, err := s.Upload(ctx, id)
	if err != nil {
		return nil, err
	}
	if offset != u.Received || offset+int64(len(part)) > u.Size {
		return nil, &api.Error{
			Code: api.CodeOffset, Current: u,
			Message: fmt.Sprintf("The next part of this upload begins at byte %d and may have %d bytes.", u.Received, u.Size-u.Received),
			Remedy:  "Go on from there.",
		}
	}
	if err := appendPart(s.uploadFile(u.ID), offset, part); err != nil {
		return nil, explain(err)
	}
	u.Received += int64(len(part))
	return u, nil
}

// appendPart writes a part and syncs it. One that is not written whole is cut off
// again, as is what a crash has left.
func appendPart(file string, offset int64, part []byte) (err error) {
	f, err := os.OpenFile(file, os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			_ = f.Truncate(offset)
		}
		err = errors.Join(err, f.Close())
	}()
	if _, err := f.WriteAt(part, offset); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	return syncDir(filepath.Dir(file), (*os.File).Sync)
}

// UploadData returns all bytes of an upload; CodeNotReady when some are missing.
func (s *Store) UploadData(ctx context.Context, id string) ([]byte, error) {
	u, err := s.Upload(ctx, id)
	if err != nil {
		return nil, err
	}
	if u.Received < u.Size || u.PhotoID != "" {
		return nil, &api.Error{Code: api.CodeNotReady, Message: "The upload is not complete.", Remedy: "Send the rest of it first."}
	}
	f, err := os.Open(s.uploadFile(u.ID))
	if err != nil {
		return nil, explain(err)
	}
	defer f.Close()
	data := make([]byte, u.Size)
	if _, err := io.ReadFull(f, data); err != nil {
		return nil, explain(err)
	}
	return data, nil
}

// EndUpload notes the photo that an upload has become, or with "" that it was
// given up, and deletes its parts.
func (s *Store) EndUpload(ctx context.Context, id, photoID string) error {
	s.uploading.Lock() // a part that is on its way would make the file anew
	defer s.uploading.Unlock()
	err := s.tx(ctx, func(tx *txn) error {
		if photoID == "" {
			return changed(ctx, tx, "upload", `DELETE FROM uploads WHERE id = ?`, id)
		}
		return changed(ctx, tx, "upload", `UPDATE uploads SET photo_id = ? WHERE id = ?`, photoID, id)
	})
	if err != nil {
		return err
	}
	if err := os.Remove(s.uploadFile(id)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return explain(err)
	}
	return nil
}

// sweepUploads deletes uploads that have had their time, and files of none.
func (s *Store) sweepUploads(ctx context.Context) error {
	s.uploading.Lock()
	defer s.uploading.Unlock()
	live := map[string]bool{}
	err := s.tx(ctx, func(tx *txn) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM uploads WHERE created_at < ?`, millis(time.Now().Add(-api.UploadLife))); err != nil {
			return err
		}
		rows, err := tx.QueryContext(ctx, `SELECT id FROM uploads WHERE photo_id = ''`)
		if err != nil {
			return err
		}
		ids, err := collect(rows, func(scan scanner) (id string, err error) { return id, scan(&id) })
		for _, id := range ids {
			live[id] = true
		}
		return err
	})
	if err != nil {
		return err
	}
	files, err := os.ReadDir(filepath.Join(s.dir, "uploads"))
	for _, f := range files {
		if !live[f.Name()] {
			err = errors.Join(err, os.RemoveAll(s.uploadFile(f.Name())))
		}
	}
	return explain(err)
}
