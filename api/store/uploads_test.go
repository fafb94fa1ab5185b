package store_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"secondcut/api"
)

func TestUploadInParts(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	key := api.Key{Value: "k", Scope: "uploads", Digest: "d"}
	n := api.NewUpload{GarmentID: g.ID, FileName: "a.jpg", Face: api.FaceRight, Size: 10, Print: api.Print{AcrossMM: 149}}
	u := must[*api.Upload](t)(s.AddUpload(t.Context(), n, key))
	if again := must[*api.Upload](t)(s.AddUpload(t.Context(), n, key)); again.ID != u.ID {
		t.Errorf("the same key made %s and %s", u.ID, again.ID)
	}
	must[*api.Upload](t)(s.AppendUpload(t.Context(), u.ID, 0, []byte("0123")))
	for _, bad := range []struct {
		offset int64
		part   string
	}{{0, "0123"}, {5, "5"}, {4, "4567890"}, {-1, "x"}} {
		_, err := s.AppendUpload(t.Context(), u.ID, bad.offset, []byte(bad.part))
		if api.CodeOf(err) != api.CodeOffset {
			t.Errorf("part %q at %d: %v", bad.part, bad.offset, err)
		}
	}
	if _, err := s.UploadData(t.Context(), u.ID); api.CodeOf(err) != api.CodeNotReady {
		t.Errorf("half an upload: %v", err)
	}
	// A restart keeps what has come, and removes what belongs to no upload.
	stray := filepath.Join(dir, "uploads", "stray")
	if err := os.WriteFile(stray, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	defer s.Close()
	if _, err := os.Stat(stray); err == nil {
		t.Error("a stray file stayed")
	}
	if u = must[*api.Upload](t)(s.Upload(t.Context(), u.ID)); u.Received != 4 || u.Print.AcrossMM != 149 {
		t.Fatalf("after a restart: %+v", u)
	}
	must[*api.Upload](t)(s.AppendUpload(t.Context(), u.ID, 4, []byte("456789")))
	if data := must[[]byte](t)(s.UploadData(t.Context(), u.ID)); string(data) != "0123456789" {
		t.Errorf("data %q", data)
	}
	if err := s.EndUpload(t.Context(), u.ID, "photo"); err != nil {
		t.Fatal(err)
	}
	if u = must[*api.Upload](t)(s.Upload(t.Context(), u.ID)); u.PhotoID != "photo" || u.Received != 10 {
		t.Errorf("ended: %+v", u)
	}
	if left, _ := os.ReadDir(filepath.Join(dir, "uploads")); len(left) != 0 {
		t.Errorf("files of an upload that has ended: %v", left)
	}
}

func TestOldUploadsGo(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	g := must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	n, key := api.NewUpload{GarmentID: g.ID, Size: 4}, api.Key{Value: "k", Scope: "uploads", Digest: "d"}
	u := must[*api.Upload](t)(s.AddUpload(t.Context(), n, key))
	must[*api.Upload](t)(s.AppendUpload(t.Context(), u.ID, 0, []byte("part")))
	if _, err := s.Exec(`UPDATE uploads SET created_at = ?`, time.Now().Add(-api.UploadLife-time.Minute).UnixMilli()); err != nil {
		t.Fatal(err)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	left, _ := os.ReadDir(filepath.Join(dir, "uploads"))
	if _, err := s.Upload(t.Context(), u.ID); api.CodeOf(err) != api.CodeNotFound || len(left) != 0 {
		t.Errorf("an old upload: %v, files %v", err, left)
	}
	// Who comes back later begins anew.
	if again := must[*api.Upload](t)(s.AddUpload(t.Context(), n, key)); again.ID == u.ID || again.Received != 0 {
		t.Errorf("begun anew: %+v", again)
	}
}
