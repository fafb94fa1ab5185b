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
	// Put keeps data and returns its key; afterwards it is on the disk.
	Put(ctx context.Context, data []byte) (key string, err error)
	// Get returns the bytes; fs.ErrNotExist when there are none.
	Get(ctx context.Context, key string) ([]byte, error)
	// Delete removes the bytes; missing ones are no error.
	Delete(ctx context.Context, key string) error
	// Keep removes everything but the given keys.
	Keep(ctx context.Context, keys map[string]bool) error
}

// Files keeps blobs as files in the folder that it names, which is made when the
// first blob comes.
type Files string

// Put writes a temporary file, syncs it and renames it, so that a file under its
// final name is always whole.
func (f Files) Put(_ context.Context, data []byte) (string, error) {
	sum := sha256.Sum256(data)
	key := hex.EncodeToString(sum[:])
	file := f.file(key)
	if st, err := os.Stat(file); err == nil && st.Size() == int64(len(data)) {
		return key, nil
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
		return "", fmt.Errorf("keeping a picture: %w", err)
	}
	if err := writeWhole(file, data); err != nil {
		return "", fmt.Errorf("keeping a picture: %w", err)
	}
	return key, nil
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

// Get reads the file.
func (f Files) Get(_ context.Context, key string) ([]byte, error) { return os.ReadFile(f.file(key)) }

// Delete removes the file.
func (f Files) Delete(_ context.Context, key string) error {
	if err := os.Remove(f.file(key)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Keep also removes temporary files that a crash has left.
func (f Files) Keep(ctx context.Context, keys map[string]bool) error {
	err := filepath.WalkDir(string(f), func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || keys[d.Name()] {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		return os.Remove(file)
	})
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// file spreads the files over 256 folders.
func (f Files) file(key string) string {
	if len(key) < 2 {
		key = "00" + key
	}
	return filepath.Join(string(f), key[:2], key)
}
