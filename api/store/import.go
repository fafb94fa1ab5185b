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
	"strings"

	"secondcut/api"
)

// maxRow is the longest row of an archive in bytes.
const maxRow = 64 << 20

// Import adds what an archive holds, all or nothing. Garments that are here
// already, by their id, stay as they are, and what belongs to them is left out.
func (s *Store) Import(ctx context.Context, r io.Reader) (api.Imported, error) {
	stage, err := os.MkdirTemp(s.dir, "import-*")
	if err != nil {
		return api.Imported{}, explain(fmt.Errorf("store: importing: %w", err))
	}
	defer os.RemoveAll(stage)
	// No sweep may take a picture whose row is still to come.
	defer s.holds.begin()()
	schema, err := s.unpack(ctx, tar.NewReader(r), stage)
	if err != nil {
		return api.Imported{}, err
	}
	in := intake{stage: stage, schema: schema, left: map[string]bool{}}
	err = s.tx(ctx, func(tx *sql.Tx) error { return in.all(ctx, tx) })
	if err != nil {
		return api.Imported{}, err
	}
	for _, id := range in.added {
		s.watch.tell(id)
	}
	return in.result, nil
}

// brokenArchive says that an archive cannot be read.
func brokenArchive(cause error) error {
	return &api.Error{
		Code: api.CodeBadRequest, Cause: cause, Message: "This is no whole archive of Secondcut: it is damaged, cut off, or something else.",
		Remedy: "Choose another archive; nothing of this one was taken in.",
	}
}

// maxRecords is how many extended records an entry may have: our own need one, for
// its size.
const maxRecords = 1

// unpack puts the tables into the folder and the pictures in their place, and returns the
// schema of the archive.
func (s *Store) unpack(ctx context.Context, a *tar.Reader, stage string) (schema int64, err error) {
	var damaged []string
	began, whole, pictures := false, false, 0
	for !whole {
		h, err := a.Next()
		if err != nil {
			return 0, brokenArchive(err)
		}
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		// A sparse file would be far larger than the archive.
		if h.Typeflag != tar.TypeReg || len(h.PAXRecords) > maxRecords || h.PAXRecords["GNU.sparse.major"] != "" || h.PAXRecords["GNU.sparse.size"] != "" || !began && h.Name != "manifest.json" {
			return 0, brokenArchive(fmt.Errorf("unexpected entry %q", h.Name))
		}
		folder, name, _ := strings.Cut(h.Name, "/")
		switch {
		case h.Name == "manifest.json":
			began = true
			schema, err = s.readManifest(a)
		case h.Name == "end.json":
			whole, err = true, readEnding(a, pictures, damaged)
		case folder == "tables" && slices.ContainsFunc(archived, func(t archivedTable) bool { return t.table+".jsonl" == name }):
			err = unpackTable(a, filepath.Join(stage, strings.TrimSuffix(name, ".jsonl")))
		case folder == "pictures" && isKey(name) && h.Size <= maxPicture:
			pictures++
			var same bool
			if same, err = s.unpackPicture(ctx, a, name); !same {
				damaged = append(damaged, name)
			}
		default:
			err = brokenArchive(fmt.Errorf("unexpected entry %q of %d bytes", h.Name, h.Size))
		}
		if err != nil {
			return 0, err
		}
	}
	return schema, nil
}

// maxPicture is the largest picture of an archive in bytes.
const maxPicture = 256 << 20

func (s *Store) readManifest(r io.Reader) (int64, error) {
	var m manifest
	if err := json.NewDecoder(io.LimitReader(r, 1<<20)).Decode(&m); err != nil || m.Format != ArchiveFormat {
		return 0, brokenArchive(fmt.Errorf("format %q: %w", m.Format, err))
	}
	var schema int64
	if err := s.db.QueryRow(`SELECT max(version_id) FROM goose_db_version`).Scan(&schema); err != nil {
		return 0, explain(err)
	}
	if m.Schema > schema {
		return 0, &api.Error{Code: api.CodeBadRequest, Message: "This archive was written by a newer Secondcut.", Remedy: "Bring this program up to date and try again; nothing was taken in."}
	}
	return m.Schema, nil
}

func readEnding(r io.Reader, pictures int, damaged []string) error {
	var e ending
	if err := json.NewDecoder(io.LimitReader(r, maxRow)).Decode(&e); err != nil {
		return brokenArchive(err)
	}
	if e.Pictures != pictures {
		return brokenArchive(fmt.Errorf("%d pictures of %d", pictures, e.Pictures))
	}
	for _, key := range damaged {
		if !slices.Contains(e.Lost, key) {
			return brokenArchive(fmt.Errorf("picture %s is another", key))
		}
	}
	return nil
}

func unpackTable(r io.Reader, file string) error {
	f, err := os.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return brokenArchive(err)
	}
	_, err = io.Copy(f, r)
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = brokenArchive(err)
	}
	return explain(errors.Join(err, f.Close()))
}

// unpackPicture keeps a picture, if it is the one that its name says.
func (s *Store) unpackPicture(ctx context.Context, r io.Reader, key string) (same bool, err error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return false, brokenArchive(err)
	}
	if sum := sha256.Sum256(data); hex.EncodeToString(sum[:]) != key {
		return false, nil
	}
	_, err = s.put(ctx, data)
	return true, err
}

// intake adds the rows of unpacked tables.
type intake struct {
	stage  string
	schema int64
	result api.Imported
	added  []string
	// left are the ids of garments and pieces that are left out.
	left map[string]bool
}

func (in *intake) all(ctx context.Context, tx *sql.Tx) error {
	for _, t := range archived {
		if t.since > in.schema {
			continue
		}
		if err := in.table(ctx, tx, t.table); err != nil {
			return err
		}
	}
	for _, id := range in.added {
		left, err := requeue(ctx, tx, id)
		if err != nil {
			return err
		}
		in.result.Jobs = append(in.result.Jobs, left...)
	}
	return nil
}

func (in *intake) table(ctx context.Context, tx *sql.Tx, table string) error {
	f, err := os.Open(filepath.Join(in.stage, table))
	if err != nil {
		return brokenArchive(err)
	}
	defer f.Close()
	lines := bufio.NewScanner(f)
	lines.Buffer(nil, maxRow)
	for lines.Scan() {
		r, err := readRow(lines.Bytes())
		if err != nil {
			return brokenArchive(err)
		}
		take, err := in.wants(ctx, tx, table, r)
		if err != nil {
			return err
		}
		if !take {
			continue
		}
		if err := insert(ctx, tx, table, r); err != nil {
			return brokenArchive(fmt.Errorf("%s: %w", table, err))
		}
	}
	if err := lines.Err(); err != nil {
		return brokenArchive(err)
	}
	return nil
}

// wants says whether a row is to be added.
func (in *intake) wants(ctx context.Context, tx *sql.Tx, table string, r row) (bool, error) {
	id, _ := r["id"].(string)
	garmentID, _ := r["garment_id"].(string)
	pieceID, _ := r["piece_id"].(string)
	switch table {
	case "garments", "trash":
		var there bool
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM `+table+` WHERE id = ?)`, id).Scan(&there); err != nil {
			return false, err
		}
		if table == "trash" {
			return !there && !in.left[garmentID], nil
		}
		if there {
			in.left[id] = true
			in.result.Skipped++
			return false, nil
		}
		in.added = append(in.added, id)
		in.result.Garments++
		return true, nil
	case "piece_versions":
		return !in.left[pieceID], nil
	case "pieces":
		if in.left[garmentID] {
			in.left[id] = true
		}
	}
	return !in.left[garmentID], nil
}
