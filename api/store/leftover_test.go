package store_test

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/store"
)

// A sweep at work on the same folder does not disturb an archive that is being taken in.
func TestImportOutlivesASweep(t *testing.T) {
	from, p := full(t, t.TempDir())
	archive := exported(t, from)
	dir := t.TempDir()
	s := open(t, dir)
	t.Cleanup(func() { s.Close() })
	stray := filepath.Join(dir, "uploads", "stray")
	if err := os.WriteFile(stray, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	swept := make(chan error, 1)
	sweep := readFunc(func([]byte) (int, error) {
		go func() { swept <- s.Sweep(t.Context()) }()
		for { // the pictures it leaves alone until all is taken in
			if _, err := os.Stat(stray); err != nil {
				return 0, io.EOF
			}
		}
	})
	half := len(archive) / 2
	if _, err := s.Import(t.Context(), io.MultiReader(bytes.NewReader(archive[:half]), sweep, bytes.NewReader(archive[half:]))); err != nil {
		t.Fatal(err)
	}
	if err := <-swept; err != nil {
		t.Error(err)
	}
	must[*api.Piece](t)(s.Piece(t.Context(), p.ID))
	if left, _ := filepath.Glob(filepath.Join(dir, "import-*")); len(left) != 0 {
		t.Errorf("left over: %v", left)
	}
}

type readFunc func([]byte) (int, error)

func (f readFunc) Read(b []byte) (int, error) { return f(b) }

// What an import left that was broken off goes at the next start.
func TestBrokenOffImportGoes(t *testing.T) {
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "import-1", "tables"), 0o700); err != nil {
		t.Fatal(err)
	}
	s := open(t, dir)
	defer s.Close()
	if left, _ := filepath.Glob(filepath.Join(dir, "import-*")); len(left) != 0 {
		t.Errorf("left over: %v", left)
	}
}

// Who starts with a damaged database is told what to do.
func TestDamagedDatabaseIsNotOpened(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "secondcut.db"), bytes.Repeat([]byte("no database "), 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := store.Open(t.Context(), dir)
	if err == nil {
		s.Close()
	}
	if err == nil || !strings.Contains(err.Error(), "secondcut restore") {
		t.Errorf("opening it: %v", err)
	}
}

// With the trash goes what has come of a photo for the garment, and what is being drawn
// of it.
func TestEmptyTrashLeavesNothingUnfinished(t *testing.T) {
	s, dir, p := rig(t)
	u := must[*api.Upload](t)(s.AddUpload(t.Context(), api.NewUpload{GarmentID: p.GarmentID, Size: 8}, api.Key{}))
	must[*api.Upload](t)(s.AppendUpload(t.Context(), u.ID, 0, []byte("part")))
	must[string](t)(s.DeletePiece(t.Context(), p.ID))
	j := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d")))
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	if err := s.EmptyTrash(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	_, err := s.Job(t.Context(), j.ID)
	wants(t, "what was being drawn", err, api.CodeNotFound)
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobDone, File: []byte("a file")}); err != nil {
		t.Error(err)
	}
	if again := must[*api.Upload](t)(s.Upload(t.Context(), u.ID)); again.Received != 4 {
		t.Errorf("an upload to a garment that is there: %+v", again)
	}
	must[string](t)(s.DeleteGarment(t.Context(), p.GarmentID))
	if err := s.EmptyTrash(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	if left, _ := os.ReadDir(filepath.Join(dir, "uploads")); len(left) != 0 {
		t.Errorf("parts that are left: %v", left)
	}
	if left := pictures(t, dir); len(left) != 0 {
		t.Errorf("files that are left: %v", left)
	}
}
