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
	"secondcut/api/store/storetest"
)

// While an archive comes in slowly, a sweep does its work and a photo is added; neither
// takes what the archive has brought so far.
func TestImportOutlivesASweep(t *testing.T) {
	from, p := full(t, t.TempDir())
	archive := exported(t, from)
	dir := t.TempDir()
	s := open(t, dir)
	t.Cleanup(func() { s.Close() })
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	var meanwhile *api.Photo
	between := readFunc(func([]byte) (int, error) {
		if meanwhile != nil {
			return 0, io.EOF
		}
		if err := s.KeepBlob([]byte("orphan")); err != nil {
			t.Error(err)
		}
		before := len(pictures(t, dir))
		if err := s.Sweep(t.Context()); err != nil {
			t.Error(err)
		}
		if now := len(pictures(t, dir)); now != before-1 || now == 0 {
			t.Errorf("%d pictures became %d: the sweep should take the one that nobody needs", before, now)
		}
		var err error
		if meanwhile, _, err = s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, Data: []byte("meanwhile")}, api.Key{}); err != nil {
			t.Error(err)
		}
		return 0, io.EOF
	})
	most := bytes.LastIndex(archive, []byte("end.json")) // behind the pictures
	if _, err := s.Import(t.Context(), io.MultiReader(bytes.NewReader(archive[:most]), between, bytes.NewReader(archive[most:]))); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		must[*api.Piece](t)(s.Piece(t.Context(), p.ID))
		for _, id := range []string{p.PhotoID, meanwhile.ID} {
			if _, err := s.Picture(t.Context(), id, api.PictureOriginal); err != nil {
				t.Error(err)
			}
		}
		if err := s.Sweep(t.Context()); err != nil {
			t.Error(err)
		}
	}
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
	storetest.FolderOnly(t, "bytes of the file of the database")
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
