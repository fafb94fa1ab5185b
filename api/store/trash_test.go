package store_test

import (
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/vision"
)

// saved makes a second version of a piece, with another name.
func saved(t *testing.T, s *store.Store, id, name string, version int64) *api.Piece {
	t.Helper()
	return must[*api.Piece](t)(s.SavePiece(t.Context(), id, api.PieceEdit{Name: name, Knots: triangle()}, version))
}

func TestVersionsOfAPiece(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	id := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle(), UncertaintyMM: 0.25}})[0].ID
	first := must[*api.Piece](t)(s.Piece(t.Context(), id))
	moved := triangle()
	moved[0].At.X += 5
	must[*api.Piece](t)(s.SavePiece(t.Context(), id, api.PieceEdit{Name: "Moved", Knots: moved}, 1))
	saved(t, s, id, "Third", 2)
	list := must[[]api.Version](t)(s.PieceVersions(t.Context(), id))
	if len(list) != 3 || list[0].Version != 3 || list[0].Name != "Third" || list[1].Name != "Moved" || list[2].Version != 1 || list[2].Name != first.Name {
		t.Fatalf("versions: %+v", list)
	}
	if _, err := s.RestorePiece(t.Context(), id, 2, 2); api.CodeOf(err) != api.CodeStale {
		t.Errorf("restoring from an old version: %v", err)
	}
	if _, err := s.RestorePiece(t.Context(), id, 9, 3); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("restoring what never was: %v", err)
	}
	p := must[*api.Piece](t)(s.RestorePiece(t.Context(), id, 2, 3))
	if p.Version != 4 || p.Name != "Moved" || p.Knots[0].At != moved[0].At || p.UncertaintyMM != 0.25 {
		t.Errorf("restored: %+v", p)
	}
	// The restored state is a version too, and so is what it replaced.
	if list = must[[]api.Version](t)(s.PieceVersions(t.Context(), id)); len(list) != 4 || list[1].Name != "Third" {
		t.Errorf("versions after: %+v", list)
	}
}

func TestOldestVersionsGo(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	id := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}})[0].ID
	// As many former versions as are kept, without saving each.
	_, err := s.Exec(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?)
		INSERT INTO piece_versions SELECT CAST(? AS TEXT), i, '{"name":"old","updated_at":0}' FROM n`, api.MaxVersions, id)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Exec(`UPDATE pieces SET version = ?`, api.MaxVersions+1); err != nil {
		t.Fatal(err)
	}
	saved(t, s, id, "new", api.MaxVersions+1)
	list := must[[]api.Version](t)(s.PieceVersions(t.Context(), id))
	if len(list) != api.MaxVersions+1 || list[len(list)-1].Version != 2 {
		t.Errorf("%d versions, the oldest is %d", len(list), list[len(list)-1].Version)
	}
}

func TestVersionsOfAGarment(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	coat := "coat"
	now := must[*api.Garment](t)(s.EditGarment(t.Context(), g.ID, api.GarmentEdit{Name: &coat}, g.Version))
	list := must[[]api.Version](t)(s.GarmentVersions(t.Context(), g.ID))
	if len(list) != 2 || list[0].Name != "coat" || list[1].Name != "smock" {
		t.Fatalf("versions: %+v", list)
	}
	if got := must[*api.Garment](t)(s.RestoreGarment(t.Context(), g.ID, list[1].Version, now.Version)); got.Name != "smock" || got.Version <= now.Version {
		t.Errorf("restored: %+v", got)
	}
}

// What was deleted comes back as it was, with its versions and pictures.
func TestTrash(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	sum := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}, {Knots: triangle()}})
	before := saved(t, s, sum[0].ID, "Pocket", 1)
	garmentID := before.GarmentID
	same := func(what string) {
		t.Helper()
		now, err := s.Piece(t.Context(), before.ID)
		if err != nil || now.Name != before.Name || now.Version != before.Version || !now.UpdatedAt.Equal(before.UpdatedAt) {
			t.Errorf("%s: the piece came back as %+v, %v", what, now, err)
		}
		if list, err := s.PieceVersions(t.Context(), before.ID); err != nil || len(list) != 2 {
			t.Errorf("%s: versions %+v, %v", what, list, err)
		}
		if data, err := s.Picture(t.Context(), before.PhotoID, api.PictureOriginal); err != nil || len(data) == 0 {
			t.Errorf("%s: picture %v", what, err)
		}
		if left := must[[]api.Trashed](t)(s.Trash(t.Context(), api.Page{})); len(left) != 0 {
			t.Errorf("%s: in the trash: %+v", what, left)
		}
	}
	restore := func(id string) {
		t.Helper()
		if entry, _, err := s.Restore(t.Context(), id); err == nil && entry.GoneAt.Sub(entry.DeletedAt) != api.TrashLife {
			t.Errorf("brought back: %+v", entry)
		} else if err != nil {
			t.Fatal(err)
		}
	}

	piece := must[string](t)(s.DeletePiece(t.Context(), before.ID))
	if _, err := s.Piece(t.Context(), before.ID); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("deleted piece: %v", err)
	}
	restore(piece)
	same("piece")

	photo := must[string](t)(s.DeletePhoto(t.Context(), before.PhotoID))
	if g := must[*api.Garment](t)(s.Garment(t.Context(), garmentID)); len(g.Pieces) != 0 || len(g.Photos) != 0 {
		t.Errorf("garment without its photo: %+v", g)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	restore(photo)
	same("photo")

	garment := must[string](t)(s.DeleteGarment(t.Context(), garmentID))
	if list := must[[]api.Trashed](t)(s.Trash(t.Context(), api.Page{})); len(list) != 1 || list[0].Kind != api.TrashGarment || list[0].GoneAt.Sub(list[0].DeletedAt) != api.TrashLife {
		t.Errorf("trash: %+v", list)
	}
	restore(garment)
	same("garment")
	if _, _, err := s.Restore(t.Context(), garment); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("restoring twice: %v", err)
	}

	// A part comes back only after what it is a part of.
	piece = must[string](t)(s.DeletePiece(t.Context(), before.ID))
	photo = must[string](t)(s.DeletePhoto(t.Context(), before.PhotoID))
	garment = must[string](t)(s.DeleteGarment(t.Context(), garmentID))
	for _, id := range []string{piece, photo} {
		if _, _, err := s.Restore(t.Context(), id); api.CodeOf(err) != api.CodeNotReady {
			t.Errorf("without its garment: %v", err)
		}
	}
	restore(garment)
	if _, _, err := s.Restore(t.Context(), piece); api.CodeOf(err) != api.CodeNotReady {
		t.Errorf("without its photo: %v", err)
	}
	restore(photo)
	restore(piece)
	same("all")

	// After its time it is gone, with its pictures.
	must[string](t)(s.DeleteGarment(t.Context(), garmentID))
	old := time.Now().Add(-api.TrashLife - time.Minute).UnixMilli()
	if _, err := s.Exec(`UPDATE trash SET deleted_at = ?`, old); err != nil {
		t.Fatal(err)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	var rows int
	if err := s.QueryRow(`SELECT (SELECT count(*) FROM trash) + (SELECT count(*) FROM pieces) + (SELECT count(*) FROM piece_versions) + (SELECT count(*) FROM jobs)`).Scan(&rows); err != nil {
		t.Fatal(err)
	}
	if n := len(pictures(t, dir)); n != 0 || rows != 0 {
		t.Errorf("%d files and %d rows are left", n, rows)
	}
}

// A photo that waits or is being traced when it is deleted waits again when it
// comes back.
func TestTrashKeepsJobs(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	p, j, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: g.ID, Data: []byte("x")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	_, left, err := s.Restore(t.Context(), must[string](t)(s.DeletePhoto(t.Context(), p.ID)))
	if err != nil || len(left) != 1 || left[0].ID != j.ID || left[0].Status != api.JobQueued {
		t.Errorf("jobs to queue: %+v, %v", left, err)
	}
}
