package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"

	"github.com/google/uuid"
	"gocloud.dev/blob"
	"gocloud.dev/blob/fileblob"
	"gocloud.dev/gcerrors"

	"secondcut/api"
)

// blobs keeps bytes under a key made from their content, as files in a folder or elsewhere.
// A key once given always means the same bytes. The folder must be there: one that has
// gone (a disk that is not mounted) is not made anew in its place.
type blobs struct {
	bucket *blob.Bucket
	dir    string // empty where the bucket is no folder
	// sync makes what was written to a file or folder last through a power cut.
	sync func(*os.File) error
}

// errLost says that the bytes of a key are missing or others than they were.
var errLost = errors.New("missing or changed on the disk")

// openBlobs opens the folder. Temporary files lie beside the final ones, since a rename
// does not reach another disk, and there is no second file for what is said about one,
// which would not be written as one with it.
func openBlobs(dir string) (*blobs, error) {
	b, err := fileblob.OpenBucket(dir, &fileblob.Options{NoTempDir: true, Metadata: fileblob.MetadataDontWrite, DirFileMode: 0o700})
	if err != nil {
		return nil, err
	}
	return &blobs{bucket: b, dir: dir, sync: (*os.File).Sync}, nil
}

// put keeps data under its key; afterwards it is on the disk. added says that it was not
// there before.
func (b *blobs) put(ctx context.Context, key string, data []byte) (added bool, err error) {
	if a, err := b.bucket.Attributes(ctx, blobName(key)); err == nil && a.Size == int64(len(data)) {
		return false, nil
	}
	if b.dir == "" {
		err := b.bucket.WriteAll(ctx, blobName(key), data, &blob.WriterOptions{DisableContentTypeDetection: true})
		return err == nil, b.trouble(err)
	}
	before, err := os.Stat(b.dir)
	if err != nil {
		return false, fmt.Errorf("keeping a picture: %w", err)
	}
	if err := b.write(ctx, blobName(key), data); err != nil {
		return false, fmt.Errorf("keeping a picture: %w", err)
	}
	// The library makes folders that are missing: also the one that has just gone.
	if after, err := os.Stat(b.dir); err != nil || !os.SameFile(before, after) {
		return false, fmt.Errorf("keeping a picture: %w", errors.Join(err, &os.PathError{Op: "write", Path: b.dir, Err: os.ErrNotExist}))
	}
	return true, nil
}

// write writes a temporary file, syncs it and renames it, and syncs the rename, so that
// a file under its final name is always whole. The library does not sync: it lends its
// file for that.
func (b *blobs) write(ctx context.Context, name string, data []byte) error {
	ctx, abort := context.WithCancel(ctx)
	defer abort()
	var f *os.File
	w, err := b.bucket.NewWriter(ctx, name, &blob.WriterOptions{
		DisableContentTypeDetection: true,
		BeforeWrite: func(as func(any) bool) error {
			if !as(&f) {
				return errors.New("the library lends no file to be synced")
			}
			return f.Chmod(0o600)
		},
	})
	if err != nil {
		return err
	}
	if _, err = w.Write(data); err == nil {
		err = b.sync(f)
	}
	if err != nil {
		abort() // so that closing removes the file
		_ = w.Close()
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if err := errors.Join(syncDir(filepath.Dir(f.Name()), b.sync), syncDir(b.dir, b.sync)); err != nil {
		// Left there, it would pass for one that was kept.
		return errors.Join(err, b.bucket.Delete(context.WithoutCancel(ctx), name))
	}
	return nil
}

// syncDir makes a rename last through a power cut.
func syncDir(dir string, sync func(*os.File) error) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(sync(d), d.Close())
}

// get returns the bytes; errLost when they are not, or not all, there any more.
func (b *blobs) get(ctx context.Context, key string) ([]byte, error) {
	if !isKey(key) {
		return nil, fmt.Errorf("%q: %w", key, errLost)
	}
	data, err := b.read(ctx, blobName(key))
	if gcerrors.Code(err) == gcerrors.NotFound {
		if gone := b.there(ctx); gone != nil {
			return nil, gone
		}
		return nil, fmt.Errorf("%s: %w", key, errLost)
	}
	if err != nil {
		return nil, b.trouble(err)
	}
	if keyOf(data) != key {
		return nil, fmt.Errorf("%s: %w", key, errLost)
	}
	return data, nil
}

// read reads a file into memory of just its size.
func (b *blobs) read(ctx context.Context, name string) ([]byte, error) {
	r, err := b.bucket.NewReader(ctx, name, nil)
	if err != nil {
		return nil, err
	}
	data := make([]byte, r.Size())
	n, err := io.ReadFull(r, data)
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) { // cut off meanwhile: its sum tells
		err = nil
	}
	return data[:n], errors.Join(err, r.Close())
}

// keep removes everything but the given keys and what is held, also temporary files that
// a crash has left, and returns how many bytes stay.
func (b *blobs) keep(ctx context.Context, keys map[string]bool, h *holds) (kept int64, err error) {
	err = b.each(ctx, func(name string, size int64) error {
		key := path.Base(name)
		if !keys[key] {
			removed, err := h.unlessHeld(key, func() error { return b.bucket.Delete(ctx, name) })
			if removed || err != nil {
				return err
			}
		}
		kept += size
		return nil
	})
	return kept, err
}

// keyOf is the key of bytes.
func keyOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:])
}

// pageSize is how many files are listed at a time: the library walks through all of
// the folder for each page, and takes the memory for a page before it is filled.
const pageSize = 50_000

// each goes through all files.
func (b *blobs) each(ctx context.Context, f func(name string, size int64) error) error {
	// Of a folder that has gone, the library lists nothing and says nothing.
	if err := b.there(ctx); err != nil {
		return err
	}
	for token := blob.FirstPageToken; len(token) > 0; {
		page, next, err := b.bucket.ListPage(ctx, token, pageSize, nil)
		if err != nil {
			return b.trouble(err)
		}
		for _, o := range page {
			if err := errors.Join(ctx.Err(), f(o.Key, o.Size)); err != nil {
				return err
			}
		}
		token = next
	}
	return nil
}

// ready writes a file and removes it.
func (b *blobs) ready(ctx context.Context) error {
	if err := b.there(ctx); err != nil {
		return err
	}
	name := "ready-" + uuid.NewString()
	if err := b.bucket.WriteAll(ctx, name, []byte("ready"), &blob.WriterOptions{DisableContentTypeDetection: true}); err != nil {
		return b.trouble(err)
	}
	err := b.bucket.Delete(context.WithoutCancel(ctx), name)
	if gcerrors.Code(err) == gcerrors.NotFound { // a sweep came first
		return nil
	}
	return err
}

// there answers without error where the folder or bucket is.
func (b *blobs) there(ctx context.Context) error {
	if b.dir != "" {
		_, err := os.Stat(b.dir)
		return err
	}
	is, err := b.bucket.IsAccessible(ctx)
	if err == nil && !is {
		err = errors.New("the bucket of the pictures is not there, or not ours")
	}
	return b.trouble(err)
}

// trouble says of what goes wrong elsewhere that it may pass; of a folder's, the operating
// system says what it is.
func (b *blobs) trouble(err error) error {
	if err == nil || b.dir != "" {
		return err
	}
	return api.Unavailable(err)
}

// lend puts the pictures into a folder under their keys, and returns the keys of those that
// are not there.
func (b *blobs) lend(ctx context.Context, to string, keys []string) (lost []string, err error) {
	for _, key := range keys {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		switch err := b.lendOne(ctx, key, filepath.Join(to, key)); {
		case errors.Is(err, fs.ErrExist):
		case errors.Is(err, fs.ErrNotExist), errors.Is(err, errLost):
			lost = append(lost, key)
		case err != nil:
			return nil, err
		}
	}
	return lost, nil
}

// lendOne gives a picture a second name, so that a sweep does not take it away, or copies it.
func (b *blobs) lendOne(ctx context.Context, key, to string) error {
	if b.dir == "" {
		data, err := b.get(ctx, key)
		if err != nil {
			return err
		}
		return os.WriteFile(to, data, 0o600)
	}
	from := filepath.Join(b.dir, filepath.FromSlash(blobName(key)))
	err := os.Link(from, to)
	if err == nil || errors.Is(err, fs.ErrExist) || errors.Is(err, fs.ErrNotExist) {
		return err
	}
	data, err := os.ReadFile(from) // a disk without second names
	if err != nil {
		return err
	}
	return os.WriteFile(to, data, 0o600)
}

// isKey reports whether a text can be a key: a SHA-256 in hexadecimal.
func isKey(key string) bool {
	sum, err := hex.DecodeString(key)
	return err == nil && len(sum) == sha256.Size
}

// blobName spreads the files over 256 folders.
func blobName(key string) string { return key[:2] + "/" + key }
