package store

import (
	"archive/tar"
	"bufio"
	"cmp"
	"context"
	"crypto/sha256"
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
	in := intake{stage: stage, brought: map[string]bool{}, left: map[string]bool{}, family: newFamily()}
	if in.schema, err = s.unpack(ctx, tar.NewReader(r), stage, in.brought); err != nil {
		return api.Imported{}, err
	}
	err = s.tx(ctx, func(tx *txn) error { return in.all(ctx, tx) })
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
// schema of the archive. It notes which pictures were brought.
func (s *Store) unpack(ctx context.Context, a *tar.Reader, stage string, brought map[string]bool) (schema int64, err error) {
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
			brought[name] = same
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
	// brought are the pictures that came with the archive.
	brought map[string]bool
	// left are the ids of garments and pieces that are left out.
	left map[string]bool
	// family are the garments that are added.
	family *family
}

func (in *intake) all(ctx context.Context, tx *txn) error {
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

func (in *intake) table(ctx context.Context, tx *txn, table string) error {
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

// wants says whether a row is to be added, and gives it its workspace.
func (in *intake) wants(ctx context.Context, tx *txn, table string, r row) (bool, error) {
	id, _ := r["id"].(string)
	garmentID, _ := r["garment_id"].(string)
	pieceID, _ := r["piece_id"].(string)
	switch table {
	case "workspaces":
		return in.wantsNew(ctx, tx, `SELECT 1 FROM workspaces WHERE name = ?`, r["name"])
	case "accounts":
		return in.wantsNew(ctx, tx, `SELECT 1 FROM accounts WHERE id = ? OR name = ?`, id, r["name"])
	case "garments":
		return in.wantsGarment(ctx, tx, id, r)
	case "trash":
		return in.wantsTrash(ctx, tx, id, garmentID, r)
	case "pieces":
		if in.left[garmentID] {
			in.left[id] = true
		}
	}
	if in.left[garmentID] || in.left[pieceID] {
		return false, nil
	}
	related, err := in.family.has(ctx, tx, table, r)
	if err == nil && !related {
		err = brokenArchive(fmt.Errorf("%s: a row of a garment that is not in it", table))
	}
	return in.knows(ctx, table, r), err
}

// wantsNew says whether a person or workspace is to be added: not to a workspace, and
// not over one that is here.
func (in *intake) wantsNew(ctx context.Context, tx *txn, query string, args ...any) (bool, error) {
	if _, held := api.ScopeOf(ctx); held {
		return false, nil
	}
	var there bool
	err := tx.QueryRowContext(ctx, `SELECT EXISTS (`+query+`)`, args...).Scan(&there)
	return !there, err
}

func (in *intake) wantsGarment(ctx context.Context, tx *txn, id string, r row) (bool, error) {
	var there bool
	if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM garments WHERE id = ?)`, id).Scan(&there); err != nil {
		return false, err
	}
	if there {
		in.left[id] = true
		in.result.Skipped++
		return false, nil
	}
	in.settle(ctx, r)
	in.family.garments[id] = true
	in.added = append(in.added, id)
	in.result.Garments++
	return true, nil
}

// settle puts a row into the workspace that takes it in.
func (in *intake) settle(ctx context.Context, r row) {
	if s, held := api.ScopeOf(ctx); held {
		r["workspace"] = s.Workspace
	}
}

func (in *intake) wantsTrash(ctx context.Context, tx *txn, id, garmentID string, r row) (bool, error) {
	in.settle(ctx, r)
	var there, foreign bool
	workspace, _ := r["workspace"].(string)
	err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM trash WHERE id = ?), EXISTS (SELECT 1 FROM garments WHERE id = ? AND workspace <> ?)`,
		id, garmentID, cmp.Or(workspace, api.DefaultWorkspace)).Scan(&there, &foreign)
	if err != nil || there || foreign || in.left[garmentID] {
		return false, err
	}
	doc, _ := r["pictures"].(string)
	var keys []string
	if err := json.Unmarshal([]byte(doc), &keys); err != nil {
		return false, brokenArchive(err)
	}
	if _, held := api.ScopeOf(ctx); held {
		rows, _ := r["rows"].(string)
		for _, key := range append(keys, keysNamed(rows)...) {
			if !in.brought[key] {
				return false, nil
			}
		}
	}
	return true, nil
}

// keysNamed are all keys of pictures that rows in the trash name.
func keysNamed(doc string) (keys []string) {
	var all []thrown
	if json.Unmarshal([]byte(doc), &all) != nil {
		return nil // it cannot be brought back
	}
	for _, t := range all {
		for _, r := range t.Rows {
			keys = append(keys, rowKeys(r)...)
		}
	}
	return keys
}

// lostKey stands for a picture that is lost; nothing has that key.
const lostKey = "lost"

// knows takes out of a row what it names and did not bring: a workspace must not reach
// the pictures of another one by their sums. It is false when nothing of the row is left.
func (in *intake) knows(ctx context.Context, table string, r row) bool {
	if _, held := api.ScopeOf(ctx); !held {
		return true
	}
	for _, c := range pictureColumns {
		if key, _ := r[c].(string); key != "" && !in.brought[key] {
			r[c] = lostKey
		}
	}
	return table != "swatches" || r["picture"] != lostKey
}
