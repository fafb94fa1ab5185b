package store

import (
	"archive/tar"
	"bufio"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"secondcut/api"
)

// An archive is a tar file that holds, in this order: manifest.json; one file
// tables/NAME.jsonl a table, a row a line as JSON by column; each picture as
// pictures/KEY, the key being the SHA-256 of its bytes; end.json. The same records
// give the same bytes. Sessions of devices, tokens, links and half-sent uploads are not in
// it, and accounts only in one of the whole service.

// ArchiveFormat names the version of the archive.
const ArchiveFormat = "secondcut-archive/1"

// archivedTable is a table of an archive: which of its rows, in what order, and, if it is
// not in all archives, the migration that made it.
type archivedTable struct {
	table, where, order string
	since               int64
	// part is the condition for the rows of one workspace.
	part string
}

const (
	ofWorkspace = `workspace = ?`
	ofGarment   = `garment_id IN (SELECT id FROM garments WHERE workspace = ?)`
	ofPiece     = `piece_id IN (SELECT id FROM pieces WHERE ` + ofGarment + `)`
	ofNobody    = `? IS NULL` // a workspace takes nobody along
)

// archived are the tables of an archive, those that others refer to first. Exports can
// be made again.
var archived = []archivedTable{
	{"workspaces", "true", "name", 12, ofNobody},
	{"accounts", "true", "id", 12, ofNobody},
	{"garments", "true", "id", 0, ofWorkspace},
	{"garment_versions", "true", "garment_id, version", 0, ofGarment},
	{"swatches", "true", "garment_id, picture", 11, ofGarment},
	{"photos", "true", "id", 0, ofGarment},
	{"pieces", "true", "id", 0, ofGarment},
	{"piece_versions", "true", "piece_id, version", 0, ofPiece},
	{"jobs", "photo_id IS NOT NULL", "id", 0, ofGarment},
	{"trash", "true", "id", 0, ofWorkspace},
}

// manifest is manifest.json.
type manifest struct {
	Format string `json:"format"`
	// Schema is the last migration of the database that it was made from.
	Schema int64 `json:"schema"`
}

// ending is end.json: its being there says that the archive is whole.
type ending struct {
	Pictures int `json:"pictures"`
	// Lost are pictures that records name and that were missing or damaged.
	Lost []string `json:"lost"`
}

// rows are the rows of the table that belong into the archive of ctx: those of its
// workspace, or all.
func (t archivedTable) rows(ctx context.Context) (where string, args []any) {
	s, ok := api.ScopeOf(ctx)
	if !ok {
		return t.where, nil
	}
	return t.where + ` AND ` + t.part, []any{s.Workspace}
}

// Export writes all that is kept in a data folder, or in the workspace of ctx, as it was at one moment, also
// while a service works on it. It returns the keys of pictures that were missing or
// damaged, which the archive does without.
func Export(ctx context.Context, dir string, w io.Writer) (lost []string, err error) {
	stage, err := os.MkdirTemp(dir, "export-*")
	if err != nil {
		return nil, explain(fmt.Errorf("store: exporting: %w", err))
	}
	defer os.RemoveAll(stage)
	var keys []string
	var schema int64
	// A picture may be swept between the look at the database and at the folder: a
	// second look does not name it any more.
	for range 3 {
		if schema, keys, err = takeStock(ctx, dir, stage); err != nil {
			return nil, err
		}
		if lost, err = linkAll(ctx, dir, stage, keys); err != nil {
			return nil, err
		}
		if len(lost) == 0 {
			break
		}
	}
	lost, err = writeArchive(ctx, w, stage, schema, keys, lost)
	if err != nil {
		return nil, fmt.Errorf("store: exporting: %w", err)
	}
	return lost, nil
}

// takeStock writes the tables into the folder, all of one moment, and returns the
// schema and the keys of all pictures.
func takeStock(ctx context.Context, dir, stage string) (schema int64, keys []string, err error) {
	db, err := sql.Open("sqlite", "file:"+escape(filepath.Join(dir, "secondcut.db"))+"?mode=ro&_pragma=busy_timeout(5000)")
	if err != nil {
		return 0, nil, fmt.Errorf("store: %w", err)
	}
	defer db.Close()
	tx, err := db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return 0, nil, explain(fmt.Errorf("store: %w", err))
	}
	defer tx.Rollback()
	if err := tx.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version`).Scan(&schema); err != nil {
		return 0, nil, explain(fmt.Errorf("store: %w", err))
	}
	for _, t := range archived {
		if err := dumpTable(ctx, tx, t, filepath.Join(stage, t.table)); err != nil {
			return 0, nil, explain(fmt.Errorf("store: %s: %w", t.table, err))
		}
	}
	used, err := keysIn(ctx, tx, archivedKeys(ctx))
	if err != nil {
		return 0, nil, explain(err)
	}
	for key := range used {
		if isKey(key) {
			keys = append(keys, key)
		}
	}
	slices.Sort(keys)
	return schema, keys, nil
}

// dumpTable writes rows one by one, so that no table has to fit into memory.
func dumpTable(ctx context.Context, tx *sql.Tx, t archivedTable, file string) error {
	f, err := os.OpenFile(file, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriter(f)
	enc := json.NewEncoder(w)
	where, args := t.rows(ctx)
	rows, err := tx.QueryContext(ctx, `SELECT * FROM `+t.table+` WHERE `+where+` ORDER BY `+t.order, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		r, err := scanRow(rows)
		if err != nil {
			return err
		}
		if err := enc.Encode(r); err != nil {
			return err
		}
	}
	return errors.Join(rows.Err(), w.Flush())
}

// linkAll gives each picture a second name in the folder, so that a sweep does not
// take it away, and returns the keys of those that are not there.
func linkAll(ctx context.Context, dir, stage string, keys []string) (lost []string, err error) {
	file := func(key string) string { return filepath.Join(dir, "pictures", filepath.FromSlash(blobName(key))) }
	for _, key := range keys {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		err := os.Link(file(key), filepath.Join(stage, key))
		switch {
		case errors.Is(err, fs.ErrExist):
		case errors.Is(err, fs.ErrNotExist):
			lost = append(lost, key)
		case err != nil: // a disk without second names
			if err := copyFile(file(key), filepath.Join(stage, key)); err != nil {
				return nil, explain(err)
			}
		}
	}
	return lost, nil
}

func copyFile(from, to string) error {
	data, err := os.ReadFile(from)
	if err != nil {
		return err
	}
	return os.WriteFile(to, data, 0o600)
}

func writeArchive(ctx context.Context, w io.Writer, stage string, schema int64, keys, lost []string) ([]string, error) {
	a := tar.NewWriter(w)
	if err := addJSON(a, "manifest.json", manifest{ArchiveFormat, schema}); err != nil {
		return nil, err
	}
	for _, t := range archived {
		if _, err := addFile(a, "tables/"+t.table+".jsonl", filepath.Join(stage, t.table)); err != nil {
			return nil, err
		}
	}
	lost = append([]string{}, lost...)
	n := 0
	for _, key := range keys {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if slices.Contains(lost, key) {
			continue
		}
		sum, err := addFile(a, "pictures/"+key, filepath.Join(stage, key))
		if err != nil {
			return nil, err
		}
		if n++; sum != key {
			lost = append(lost, key)
		}
	}
	slices.Sort(lost)
	if err := addJSON(a, "end.json", ending{n, lost}); err != nil {
		return nil, err
	}
	return lost, a.Close()
}

func header(name string, size int64) *tar.Header {
	return &tar.Header{Name: name, Mode: 0o600, Size: size, ModTime: time.Unix(0, 0), Format: tar.FormatUSTAR}
}

func addJSON(a *tar.Writer, name string, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if err := a.WriteHeader(header(name, int64(len(data)))); err != nil {
		return err
	}
	_, err = a.Write(data)
	return err
}

// addFile copies a file into the archive and returns the SHA-256 of its bytes.
func addFile(a *tar.Writer, name, file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return "", err
	}
	h := header(name, st.Size())
	if st.Size() >= 8<<30 {
		h.Format = tar.FormatPAX // the older one has no room for such sizes
	}
	if err := a.WriteHeader(h); err != nil {
		return "", err
	}
	sum := sha256.New()
	if _, err := io.Copy(a, io.TeeReader(f, sum)); err != nil {
		return "", err
	}
	return hex.EncodeToString(sum.Sum(nil)), nil
}

// Export writes all that the store holds.
func (s *Store) Export(ctx context.Context, w io.Writer) (lost []string, err error) {
	return Export(ctx, s.dir, w)
}
