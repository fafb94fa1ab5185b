package store_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/api/store/storetest"
	"secondcut/geometry"
	"secondcut/vision"
)

func open(t *testing.T, dir string) *store.Store {
	t.Helper()
	s, err := store.OpenAt(t.Context(), storetest.Place(t, dir))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func pictures(t *testing.T, dir string) (names []string) {
	t.Helper()
	err := filepath.WalkDir(filepath.Join(dir, "pictures"), func(name string, d os.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			names = append(names, filepath.Base(name))
		}
		return err
	})
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		t.Fatal(err)
	}
	return names
}

func TestOneProcessOwnsTheFolder(t *testing.T) {
	storetest.FolderOnly(t, "the file of the database")
	dir := filepath.Join(t.TempDir(), "a ?folder#%20")
	s := open(t, dir)
	if _, err := store.Open(t.Context(), dir); !errors.Is(err, store.ErrInUse) {
		t.Errorf("opening twice: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	defer s.Close()
	if _, err := os.Stat(filepath.Join(dir, "secondcut.db")); err != nil {
		t.Errorf("the database is not in its folder: %v", err)
	}
	if st, err := os.Stat(dir); err != nil || st.Mode().Perm() != 0o700 {
		t.Errorf("folder: %v %v", st.Mode(), err)
	}
}

func TestPragmas(t *testing.T) {
	storetest.FolderOnly(t, "how SQLite is set")
	s := open(t, t.TempDir())
	defer s.Close()
	for name, want := range map[string]string{"journal_mode": "wal", "foreign_keys": "1", "synchronous": "2"} {
		var got string
		if err := s.QueryRow("PRAGMA " + name).Scan(&got); err != nil || got != want {
			t.Errorf("%s is %q (%v), want %q", name, got, err, want)
		}
	}
}

// A crash between picture and row leaves a file that nothing names; the next
// start removes it, and temporary files too, but not what is in use.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	p, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, Data: []byte("kept")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.KeepBlob([]byte("orphan")); err != nil {
		t.Fatal(err)
	}
	if got := pictures(t, dir); len(got) != 2 {
		t.Fatalf("files: %v, want the picture and the orphan", got)
	}
	sub := filepath.Dir(filepath.Join(dir, "pictures", pictures(t, dir)[0][:2], "x"))
	if err := os.WriteFile(filepath.Join(sub, "x.18a0.tmp"), []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	defer s.Close()
	if got := pictures(t, dir); len(got) != 1 {
		t.Errorf("files after the sweep: %v", got)
	}
	if data, err := s.Picture(t.Context(), p.ID, api.PictureOriginal); string(data) != "kept" {
		t.Errorf("picture: %q, %v", data, err)
	}
}

// Two photos of the same content share one file, which goes with the last.
func TestSharedPicture(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	var ids []string
	for range 2 {
		p, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, Data: []byte("same")}, api.Key{})
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, p.ID)
	}
	for i, id := range ids {
		if n := len(pictures(t, dir)); n != 1 {
			t.Errorf("%d files before deletion %d", n, i)
		}
		entry := must[string](t)(s.DeletePhoto(t.Context(), id))
		if n := len(pictures(t, dir)); n != 1 {
			t.Errorf("%d files while photo %d is in the trash", n, i)
		}
		if err := s.EmptyTrash(t.Context(), entry); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(pictures(t, dir)); n != 0 {
		t.Errorf("%d files after both deletions", n)
	}
	if _, err := s.DeletePhoto(t.Context(), ids[0]); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("deleting again: %v", err)
	}
}

// Of many savers of one version exactly one wins; the others see what it saved.
func TestConcurrentSaves(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	id := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}})[0].ID
	var wg sync.WaitGroup
	errs := make([]error, 12)
	for i := range errs {
		wg.Go(func() {
			_, errs[i] = s.SavePiece(context.Background(), id, api.PieceEdit{Name: "mine", Knots: triangle()}, 1)
		})
	}
	wg.Wait()
	won := 0
	for _, err := range errs {
		if err == nil {
			won++
			continue
		}
		e, ok := errors.AsType[*api.Error](err)
		if !ok || e.Code != api.CodeStale || e.Current.(*api.Piece).Version != 2 {
			t.Errorf("loser got %v", err)
		}
	}
	if won != 1 {
		t.Errorf("%d savers won", won)
	}
}

func triangle() geometry.Path {
	return geometry.Path{{At: geometry.Point{}}, {At: geometry.Point{X: 9}}, {At: geometry.Point{X: 9, Y: 9}}}
}

// pieceOf makes a garment whose one photo was traced to the pieces.
func pieceOf(t *testing.T, s *store.Store, pieces []vision.TracedPiece) []api.PieceSummary {
	t.Helper()
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	_, j, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, FileName: "IMG_2034.jpg", Data: []byte("a photo")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	if w, err := s.ClaimJob(t.Context(), j.ID); w != nil || err != nil {
		t.Fatalf("claimed twice: %+v, %v", w, err)
	}
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobDone, Trace: &vision.Trace{Pieces: pieces}}); err != nil {
		t.Fatal(err)
	}
	// A job ends once.
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobFailed, Refusal: &vision.Refusal{}}); err != nil {
		t.Fatal(err)
	}
	if j := must[*api.Job](t)(s.Job(t.Context(), j.ID)); j.Status != api.JobDone {
		t.Errorf("job is %s", j.Status)
	}
	return must[*api.Garment](t)(s.Garment(t.Context(), g.ID)).Pieces
}

func TestPieceNames(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	var names []string
	for _, p := range pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}, {Knots: triangle()}}) {
		names = append(names, p.Name)
	}
	if want := []string{"Piece 1", "Piece 2"}; !slices.Equal(names, want) {
		t.Errorf("names %q, want %q", names, want)
	}
}

func TestSessions(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	if err := s.AddSession(t.Context(), "h1"); err != nil {
		t.Fatal(err)
	}
	for hash, want := range map[string]bool{"h1": true, "h2": false, "": false} {
		if got := must[bool](t)(s.HasSession(t.Context(), hash)); got != want {
			t.Errorf("session %q: %v", hash, got)
		}
	}
	if _, err := s.Exec(`UPDATE sessions SET created_at = 0`); err != nil {
		t.Fatal(err)
	}
	if must[bool](t)(s.HasSession(t.Context(), "h1")) {
		t.Error("a session that is over still counts")
	}
}

// A photo whose garment does not exist leaves neither row nor file.
func TestPhotoOfNoGarment(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	if _, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: "none", Data: []byte("x")}, api.Key{}); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("got %v", err)
	}
	if n := len(pictures(t, dir)); n != 0 {
		t.Errorf("%d files are left", n)
	}
}
