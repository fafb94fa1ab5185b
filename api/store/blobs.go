package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Blobs keeps bytes under a key made from their content. A key once given always
// means the same bytes.
type Blobs interface {
	// Put keeps data and returns its key; afterwards it is on the disk. added says
	// that it was not there before.
	Put(ctx context.Context, data []byte) (key string, added bool, err error)
	// Get returns the bytes; ErrLost when they are not, or not all, there any more.
	Get(ctx context.Context, key string) ([]byte, error)
	// Delete removes the bytes; missing ones are no error.
	Delete(ctx context.Context, key string) error
	// Keep removes everything but the given keys and returns how many bytes stay.
	Keep(ctx context.Context, keys map[string]bool) (int64, error)
}

// ErrLost says that the bytes of a key are missing or others than they were.
var ErrLost = errors.New("missing or changed on the disk")

// Files keeps blobs as files in the folder that it names, which must be there: one
// that has gone (a disk that is not mounted) is not made anew in its place.
type Files string

// Put writes a temporary file, syncs it and renames it, so that a file under its
// final name is always whole.
func (f Files) Put(_ context.Context, data []byte) (key string, added bool, err error) {
	sum := sha256.Sum256(data)
	key = hex.EncodeToString(sum[:])
	file := f.file(key)
	if st, err := os.Stat(file); err == nil && st.Size() == int64(len(data)) {
		return key, false, nil
	}
	if err := os.Mkdir(filepath.Dir(file), 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
		return "", false, fmt.Errorf("keeping a picture: %w", err)
	}
	if err := writeWhole(file, data); err != nil {
		return "", false, fmt.Errorf("keeping a picture: %w", err)
	}
	return key, true, nil
}

func writeWhole(file string, data []byte) error {
	tmp, err := os.CreateTemp(filepath.Dir(file), "new-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // gone already after the rename
	_, err = tmp.Write(data)
	if err = errors.Join(err, tmp.Sync(), tmp.Close()); err != nil {
		return err
	}
	if err := os.Rename(tmp.Name(), file); err != nil {
		return err
	}
	return syncDir(filepath.Dir(file))
}

// syncDir makes a rename last through a power cut.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Get reads the file and compares it with its key.
func (f Files) Get(_ context.Context, key string) ([]byte, error) {
	if !isKey(key) {
		return nil, fmt.Errorf("%q: %w", key, ErrLost)
	}
	data, err := os.ReadFile(f.file(key))
	if errors.Is(err, fs.ErrNotExist) {
		if _, gone := os.Stat(string(f)); gone != nil {
			return nil, gone
		}
		return nil, fmt.Errorf("%s: %w", key, ErrLost)
	}
	if err != nil {
		return nil, err
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != key {
		return nil, fmt.Errorf("%s: %w", key, ErrLost)
	}
	return data, nil
}

// Delete removes the file.
func (f Files) Delete(_ context.Context, key string) error {
	if !isKey(key) {
		return nil
	}
	if err := os.Remove(f.file(key)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Keep also removes temporary files that a crash has left.
func (f Files) Keep(ctx context.Context, keys map[string]bool) (kept int64, err error) {
	err = filepath.WalkDir(string(f), func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if !keys[d.Name()] {
			return os.Remove(file)
		}
		if info, err := d.Info(); err == nil {
			kept += info.Size()
		}
		return nil
	})
	return kept, err
}

// isKey reports whether a text can be a key: a SHA-256 in hexadecimal.
func isKey(key string) bool {
	sum, err := hex.DecodeString(key)
	return err == nil && len(sum) == sha256.Size
}

// file spreads the files over 256 folders.
func (f Files) file(key string) string {
	return filepath.Join(string(f), key[:2], key)
}
