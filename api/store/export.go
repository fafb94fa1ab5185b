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
	ofNobody    = `CAST(? AS TEXT) IS NULL` // a workspace takes nobody along
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

// orderOf is the order of a table's rows in archives and trash.
func orderOf(table string) string {
	for _, t := range archived {
		if t.table == table {
			return t.order
		}
	}
	return "id"
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
	db, err := sql.Open("sqlite", "file:"+escape(filepath.Join(dir, "secondcut.db"))+"?mode=ro&_pragma=busy_timeout(5000)")
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	defer db.Close()
	b, err := openBlobs(filepath.Join(dir, "pictures"))
	if err != nil {
		return nil, explain(fmt.Errorf("store: opening the pictures: %w", err))
	}
	return stock{db, &sqliteDialect, b, dir}.export(ctx, w)
}

// Export writes all that the store holds.
func (s *Store) Export(ctx context.Context, w io.Writer) (lost []string, err error) {
	if s.pool == nil {
		return Export(ctx, s.dir, w) // by a connection of its own: the one writer goes on
	}
	return stock{s.db, s.in, s.blobs, s.dir}.export(ctx, w)
}

// stock is what an archive is made of, and the folder to make it in.
type stock struct {
	db    *sql.DB
	in    *dialect
	blobs *blobs
	dir   string
}

func (s stock) export(ctx context.Context, w io.Writer) (lost []string, err error) {
	stage, err := os.MkdirTemp(s.dir, "export-*")
	if err != nil {
		return nil, explain(fmt.Errorf("store: exporting: %w", err))
	}
	defer os.RemoveAll(stage)
	var keys []string
	var schema int64
	// A picture may be swept between the look at the database and at the folder: a
	// second look does not name it any more.
	for range 3 {
		if schema, keys, err = s.take(ctx, stage); err != nil {
			return nil, err
		}
		if lost, err = s.blobs.lend(ctx, stage, keys); err != nil {
			return nil, explain(err)
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

// take writes the tables into the folder, all of one moment, and returns the schema and
// the keys of all pictures.
func (s stock) take(ctx context.Context, stage string) (schema int64, keys []string, err error) {
	snapshot, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true, Isolation: s.in.isolation})
	if err != nil {
		return 0, nil, explain(fmt.Errorf("store: %w", err))
	}
	defer snapshot.Rollback()
	tx := &txn{snapshot, s.in}
	if err := tx.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version`).Scan(&schema); err != nil {
		return 0, nil, explain(fmt.Errorf("store: %w", err))
	}
	for _, t := range archived {
		if err := dumpTable(ctx, tx, t, filepath.Join(stage, t.table)); err != nil {
			return 0, nil, explain(fmt.Errorf("store: %s: %w", t.table, err))
		}
	}
	used, err := keysIn(ctx, tx, archivedKeys(ctx, tx.in))
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
func dumpTable(ctx context.Context, tx *txn, t archivedTable, file string) error {
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
