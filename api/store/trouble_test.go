package store_test

import (
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/api/store/storetest"
	"secondcut/vision"
)

// rig is a store with one traced piece.
func rig(t *testing.T) (s *store.Store, dir string, p *api.Piece) {
	t.Helper()
	dir = t.TempDir()
	s = open(t, dir)
	t.Cleanup(func() { s.Close() })
	return s, dir, must[*api.Piece](t)(s.Piece(t.Context(), pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}})[0].ID))
}

// wants fails unless the error has the code.
func wants(t *testing.T, what string, err error, code api.Code) {
	t.Helper()
	if api.CodeOf(err) != code {
		t.Errorf("%s: %v, want %s", what, err, code)
	}
}

// A disk that is full, or that fails, when a picture or its folder is synced: the photo
// is not acknowledged, and nothing of it stays.
func TestPictureThatIsNotSynced(t *testing.T) {
	for what, when := range map[string]func(*os.File) bool{
		"the file":   func(f *os.File) bool { return !isDir(t, f) },
		"the folder": func(f *os.File) bool { return isDir(t, f) },
	} {
		for _, trouble := range []struct {
			errno syscall.Errno
			code  api.Code
		}{{syscall.ENOSPC, api.CodeStorageFull}, {syscall.EIO, api.CodeUnavailable}} {
			s, dir, p := rig(t)
			fails := true
			s.Syncing(func(f *os.File) error {
				if fails && when(f) {
					return &fs.PathError{Op: "sync", Path: f.Name(), Err: trouble.errno}
				}
				return f.Sync()
			})
			n := api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: []byte("second")}
			key := api.Key{Value: "k", Scope: "s", Digest: "d"}
			_, _, err := s.AddPhoto(t.Context(), n, key)
			wants(t, what, err, trouble.code)
			if g := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID)); len(g.Photos) != 1 {
				t.Errorf("%s: %d photos, want the one that was acknowledged", what, len(g.Photos))
			}
			if left := pictures(t, dir); len(left) != 1 {
				t.Errorf("%s: %q are left, want the first picture alone", what, left)
			}
			fails = false
			if _, _, err := s.AddPhoto(t.Context(), n, key); err != nil {
				t.Errorf("%s: the same again: %v", what, err)
			}
		}
	}
}

func isDir(t *testing.T, f *os.File) bool {
	t.Helper()
	st, err := f.Stat()
	if err != nil {
		t.Fatal(err)
	}
	return st.IsDir()
}

func TestDiskFullForTheDatabase(t *testing.T) {
	storetest.FolderOnly(t, "the size of the file of the database")
	s, _, p := rig(t)
	var pages int
	if err := s.QueryRow(`PRAGMA page_count`).Scan(&pages); err != nil {
		t.Fatal(err)
	}
	limit := func(n int) {
		t.Helper()
		if err := s.QueryRow(`PRAGMA max_page_count = ` + strconv.Itoa(n)).Scan(&n); err != nil {
			t.Fatal(err)
		}
	}
	limit(pages + 4)
	name := strings.Repeat("n", 4000)
	last, err := p, error(nil)
	for i := 0; err == nil && i < 200; i++ {
		var next *api.Piece
		if next, err = s.SavePiece(t.Context(), p.ID, api.PieceEdit{Name: name + strconv.Itoa(i), Knots: triangle()}, last.Version); err == nil {
			last = next
		}
	}
	wants(t, "saving", err, api.CodeStorageFull)
	limit(1 << 20)
	now := must[*api.Piece](t)(s.Piece(t.Context(), p.ID))
	if now.Version != last.Version || now.Name != last.Name {
		t.Errorf("version %d is there, %d was acknowledged", now.Version, last.Version)
	}
	if list := must[[]api.Version](t)(s.PieceVersions(t.Context(), p.ID)); int64(len(list)) != last.Version {
		t.Errorf("%d versions, want %d", len(list), last.Version)
	}
	saved(t, s, p.ID, "room again", now.Version)
}

func TestPicturesGoneForAWhile(t *testing.T) {
	s, dir, p := rig(t)
	folder := filepath.Join(dir, "pictures")
	if err := os.Rename(folder, folder+"-away"); err != nil {
		t.Fatal(err)
	}
	n := api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: []byte("second")}
	_, _, err := s.AddPhoto(t.Context(), n, api.Key{})
	wants(t, "a photo", err, api.CodeUnavailable)
	_, err = s.Picture(t.Context(), p.PhotoID, api.PictureOriginal)
	wants(t, "a picture", err, api.CodeUnavailable)
	wants(t, "ready", s.Ready(t.Context()), api.CodeUnavailable)
	wants(t, "a sweep", s.Sweep(t.Context()), api.CodeUnavailable)
	saved(t, s, p.ID, "edits go on", p.Version)
	if _, err := os.Stat(folder); err == nil {
		t.Error("the folder was made anew in the place of the one that is away")
	}
	if err := os.Rename(folder+"-away", folder); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.AddPhoto(t.Context(), n, api.Key{}); err != nil {
		t.Error(err)
	}
	must[[]byte](t)(s.Picture(t.Context(), p.PhotoID, api.PictureOriginal))
}

// A clock that was set back a year: all that is there comes from the future.
func TestClockSetBack(t *testing.T) {
	s, dir, p := rig(t)
	entry := must[string](t)(s.DeletePiece(t.Context(), p.ID))
	year := (365 * 24 * time.Hour).Milliseconds()
	for _, q := range []string{
		`UPDATE garments SET created_at = created_at + ?`, `UPDATE garments SET updated_at = updated_at + ?`, `UPDATE photos SET created_at = created_at + ?`,
		`UPDATE jobs SET created_at = created_at + ?`, `UPDATE trash SET deleted_at = deleted_at + ?`,
	} {
		if _, err := s.Exec(q, year); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.Restore(t.Context(), entry); err != nil {
		t.Errorf("from the trash: %v", err)
	}
	before := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID))
	saved(t, s, p.ID, "now", p.Version)
	if after := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID)); after.Version <= before.Version {
		t.Errorf("garment went from version %d to %d", before.Version, after.Version)
	}
	_, j, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, Data: []byte("later")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	if w := must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID)); w == nil {
		t.Error("the new job cannot be claimed")
	}
	if n := len(pictures(t, dir)); n != 2 {
		t.Errorf("%d pictures, want 2", n)
	}
}

// A damaged record or picture says so, the others do not suffer, the doctor names
// it, and it can be deleted.
func TestDamage(t *testing.T) {
	storetest.FolderOnly(t, "doctor")
	s, dir, p := rig(t)
	other := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}})[0]
	second, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: []byte("second")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	if found, err := store.Examine(t.Context(), dir); err != nil || len(found) != 0 {
		t.Fatalf("a sound store: %+v, %v", found, err)
	}
	if _, err := s.Exec(`UPDATE pieces SET knots = '[{"at":' WHERE id = ?`, p.ID); err != nil {
		t.Fatal(err)
	}
	var key string
	if err := s.QueryRow(`SELECT original FROM photos WHERE id = ?`, second.ID).Scan(&key); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "pictures", key[:2], key), []byte("secund"), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = s.Piece(t.Context(), p.ID)
	wants(t, "the piece", err, api.CodeDamaged)
	_, err = s.Picture(t.Context(), second.ID, api.PictureOriginal)
	wants(t, "the picture", err, api.CodeDamaged)
	must[*api.Piece](t)(s.Piece(t.Context(), other.ID))
	must[[]byte](t)(s.Picture(t.Context(), p.PhotoID, api.PictureOriginal))
	found, err := store.Examine(t.Context(), dir)
	if err != nil || len(found) != 2 || !strings.Contains(found[0].What, p.ID) || !strings.Contains(found[1].What, key) {
		t.Errorf("the doctor found %+v, %v", found, err)
	}
	must[string](t)(s.DeletePiece(t.Context(), p.ID))
	must[string](t)(s.DeletePhoto(t.Context(), second.ID))
	if err := s.EmptyTrash(t.Context(), ""); err != nil {
		t.Fatal(err)
	}
	if found, err := store.Examine(t.Context(), dir); err != nil || len(found) != 0 {
		t.Errorf("after deleting: %+v, %v", found, err)
	}
}

// The same picture twice takes its room once.
func TestUsageCountsPicturesOnce(t *testing.T) {
	storetest.FolderOnly(t, "doctor")
	s, _, p := rig(t)
	before := must[api.Usage](t)(s.Usage(t.Context())).PictureBytes
	for range 3 {
		if _, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: []byte("second")}, api.Key{}); err != nil {
			t.Fatal(err)
		}
	}
	if now := must[api.Usage](t)(s.Usage(t.Context())).PictureBytes; now != before+int64(len("second")) {
		t.Errorf("%d bytes, want %d", now, before+int64(len("second")))
	}
}

// A damaged photo is listed as such among the others of its garment, which can be
// edited all the same, and it can be deleted.
func TestDamagedPhotoIsListed(t *testing.T) {
	for column, said := range map[string]string{"plane": `{"px_per_mm":`, "refusal": `[]`, "print": `{"x`, "trace": `{"pieces":`} {
		s, _, p := rig(t)
		if _, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: []byte("second")}, api.Key{}); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Exec(`UPDATE photos SET `+column+` = ? WHERE id = ?`, said, p.PhotoID); err != nil {
			t.Fatal(err)
		}
		_, err := s.Photo(t.Context(), p.PhotoID)
		wants(t, column+": the photo itself", err, api.CodeDamaged)
		g := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID))
		if len(g.Photos) != 2 || g.Photos[1].Status != api.PhotoQueued || g.Photos[1].Refusal != nil {
			t.Fatalf("%s: photos %+v", column, g.Photos)
		}
		bad := g.Photos[0]
		if column != "trace" && (bad.Status != api.PhotoFailed || bad.Refusal == nil || string(bad.Refusal.Code) != string(api.CodeDamaged) || bad.Refusal.Remedy == "" || bad.FileName == "" || bad.CreatedAt.IsZero()) {
			t.Errorf("%s: listed as %+v", column, bad)
		}
		name := "still mine"
		if _, err := s.EditGarment(t.Context(), p.GarmentID, api.GarmentEdit{Name: &name}, g.Version); err != nil {
			t.Errorf("%s: editing the garment: %v", column, err)
		}
		must[string](t)(s.DeletePhoto(t.Context(), p.PhotoID))
	}
}

func TestDatabaseLocked(t *testing.T) {
	storetest.FolderOnly(t, "somebody else writes to the file")
	s, dir, p := rig(t)
	if _, err := s.Exec(`PRAGMA busy_timeout = 50`); err != nil {
		t.Fatal(err)
	}
	another, err := sql.Open("sqlite", "file:"+filepath.Join(dir, "secondcut.db")+"?_txlock=immediate")
	if err != nil {
		t.Fatal(err)
	}
	defer another.Close()
	tx, err := another.Begin()
	if err != nil {
		t.Fatal(err)
	}
	_, err = s.SavePiece(t.Context(), p.ID, api.PieceEdit{Name: "x", Knots: triangle()}, p.Version)
	wants(t, "saving while another holds the lock", err, api.CodeUnavailable)
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	saved(t, s, p.ID, "free again", p.Version)
}

func TestNewerDatabaseIsRefused(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	if _, err := s.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, '1')`); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := store.OpenAt(t.Context(), storetest.Place(t, dir)); !errors.Is(err, store.ErrNewer) {
		t.Errorf("a newer database: %v", err)
	}
}

// A damaged piece keeps nobody from editing its garment, nor its photo from being traced
// anew.
func TestDamagedPieceKeepsNobodyFromTheOthers(t *testing.T) {
	s, _, p := rig(t)
	if _, err := s.Exec(`UPDATE pieces SET knots = '[{"at":' WHERE id = ?`, p.ID); err != nil {
		t.Fatal(err)
	}
	g := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID))
	name := "still mine"
	if g = must[*api.Garment](t)(s.EditGarment(t.Context(), p.GarmentID, api.GarmentEdit{Name: &name}, g.Version)); g.Name != name {
		t.Errorf("the garment is called %q", g.Name)
	}
	j := must[*api.Job](t)(s.AddTrace(t.Context(), p.PhotoID, nil, true, api.Key{}))
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobDone, Trace: &vision.Trace{Pieces: []vision.TracedPiece{{Knots: triangle()}}}}); err != nil {
		t.Fatal(err)
	}
	if all := must[[]*api.Piece](t)(s.Pieces(t.Context(), p.GarmentID)); len(all) != 1 || all[0].ID == p.ID {
		t.Errorf("pieces after tracing anew: %+v", all)
	}
}
