package store_test

import (
	"archive/tar"
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/vision"
)

// full is a store with a garment, photos, a piece with versions, and trash.
func full(t *testing.T, dir string) (*store.Store, *api.Piece) {
	t.Helper()
	s := open(t, dir)
	t.Cleanup(func() { s.Close() })
	sum := pieceOf(t, s, []vision.TracedPiece{{Knots: triangle(), UncertaintyMM: 0.1 + 0.2}, {Knots: triangle()}})
	p := saved(t, s, sum[0].ID, "Pocket – Tasche", 1)
	must[string](t)(s.DeletePiece(t.Context(), sum[1].ID))
	return s, p
}

func exported(t *testing.T, s *store.Store) []byte {
	t.Helper()
	var b bytes.Buffer
	if lost, err := s.Export(t.Context(), &b); err != nil || len(lost) != 0 {
		t.Fatalf("export: lost %v, %v", lost, err)
	}
	return b.Bytes()
}

// An archive that is taken in elsewhere gives the same archive there, to the byte.
func TestArchiveIsByteTrue(t *testing.T) {
	s, p := full(t, t.TempDir())
	first := exported(t, s)
	other := open(t, t.TempDir())
	defer other.Close()
	got, err := other.Import(t.Context(), bytes.NewReader(first))
	if err != nil || got.Garments != 1 || got.Skipped != 0 {
		t.Fatalf("import: %+v, %v", got, err)
	}
	if again := exported(t, other); !bytes.Equal(again, first) {
		t.Errorf("the archive has %d bytes, and %d after a turn", len(first), len(again))
	}
	there := must[*api.Piece](t)(other.Piece(t.Context(), p.ID))
	if there.Name != p.Name || there.UncertaintyMM != p.UncertaintyMM || there.Version != p.Version {
		t.Errorf("piece elsewhere: %+v", there)
	}
	// What was deleted can be brought back there as well.
	trash := must[[]api.Trashed](t)(other.Trash(t.Context(), api.Page{}))
	if len(trash) != 1 {
		t.Fatalf("trash elsewhere: %+v", trash)
	}
	if _, _, err := other.Restore(t.Context(), trash[0].ID); err != nil {
		t.Error(err)
	}
	// Taken in again, it changes nothing.
	before := exported(t, s)
	if got, err := s.Import(t.Context(), bytes.NewReader(first)); err != nil || got.Garments != 0 || got.Skipped != 1 {
		t.Errorf("import into itself: %+v, %v", got, err)
	}
	if !bytes.Equal(exported(t, s), before) {
		t.Error("importing what was there changed something")
	}
}

// An archive that is cut off anywhere, or changed, is not taken in at all.
func TestBrokenArchives(t *testing.T) {
	s, _ := full(t, t.TempDir())
	whole := exported(t, s)
	other := open(t, t.TempDir())
	defer other.Close()
	empty := exported(t, other)
	check := func(what string, archive []byte) {
		t.Helper()
		_, err := other.Import(t.Context(), bytes.NewReader(archive))
		if api.CodeOf(err) != api.CodeBadRequest {
			t.Errorf("%s: %v", what, err)
		}
	}
	for cut := 0; cut < len(whole)-1024; cut += 512 * 3 {
		check("cut off", whole[:cut])
	}
	changed := bytes.Replace(whole, []byte("a photo"), []byte("b photo"), 1)
	if bytes.Equal(changed, whole) {
		t.Fatal("the archive does not hold the photo's bytes")
	}
	check("another picture", changed)
	// SQLite would keep a text in place of a number, and the list could not be read any more.
	for _, odd := range []string{`"version":"abc"`, `"version":1.5`, `"version":1,"name":7`} {
		text := must[[]byte](t)(archiveOf(`{"id":"a","name":"b","created_at":1,"updated_at":1,` + odd + "}\n"))
		check(odd, text)
	}
	check("a newer schema", bytes.Replace(whole, []byte(`"schema":`), []byte(`"schema":9`), 1))
	for name, typeflag := range map[string]byte{"../../evil": tar.TypeReg, "pictures/../../evil": tar.TypeReg, "tables/sessions.jsonl": tar.TypeReg, "pictures/x": tar.TypeSymlink} {
		var b bytes.Buffer
		w := tar.NewWriter(&b)
		add := func(name string, flag byte, data string) {
			h := &tar.Header{Name: name, Typeflag: flag, Size: int64(len(data)), Mode: 0o600}
			if flag == tar.TypeSymlink {
				h.Linkname, h.Size = "/etc/passwd", 0
			}
			if err := errors.Join(w.WriteHeader(h)); err != nil {
				t.Fatal(err)
			}
			if flag == tar.TypeReg {
				if _, err := w.Write([]byte(data)); err != nil {
					t.Fatal(err)
				}
			}
		}
		add("manifest.json", tar.TypeReg, `{"format":"secondcut-archive/1","schema":1}`)
		add(name, typeflag, "evil")
		add("end.json", tar.TypeReg, `{"pictures":0,"lost":[]}`)
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		check(name, b.Bytes())
	}
	if err := other.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(exported(t, other), empty) {
		t.Error("something of a broken archive was taken in")
	}
}

// archiveOf is a whole archive with these rows of garments.
func archiveOf(garments string) ([]byte, error) {
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	add := func(name, text string) error {
		err := w.WriteHeader(&tar.Header{Name: name, Size: int64(len(text)), Mode: 0o600})
		_, werr := w.Write([]byte(text))
		return errors.Join(err, werr)
	}
	err := errors.Join(add("manifest.json", `{"format":"secondcut-archive/1","schema":1}`), add("tables/garments.jsonl", garments))
	for _, name := range []string{"garment_versions", "photos", "pieces", "piece_versions", "jobs", "trash"} {
		err = errors.Join(err, add("tables/"+name+".jsonl", ""))
	}
	err = errors.Join(err, add("end.json", `{"pictures":0,"lost":[]}`), w.Close())
	return b.Bytes(), err
}

// What is lost does not keep the rest from being saved.
func TestExportNamesWhatIsLost(t *testing.T) {
	dir := t.TempDir()
	s, p := full(t, dir)
	files := pictures(t, dir)
	if err := os.WriteFile(filepath.Join(dir, "pictures", files[0][:2], files[0]), []byte("rotten"), 0o600); err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	lost, err := s.Export(t.Context(), &b)
	if err != nil || len(lost) != 1 || lost[0] != files[0] {
		t.Fatalf("lost %v, %v", lost, err)
	}
	other := open(t, t.TempDir())
	defer other.Close()
	if _, err := other.Import(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	if _, err := other.Piece(t.Context(), p.ID); err != nil {
		t.Error(err)
	}
}

func FuzzImport(f *testing.F) {
	f.Add([]byte("no archive"))
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	for _, e := range [][2]string{
		{"manifest.json", `{"format":"secondcut-archive/1","schema":1}`},
		{"tables/garments.jsonl", `{"id":"a","name":"b","version":1,"created_at":1,"updated_at":1}` + "\n"},
		{"tables/trash.jsonl", `{"id":"t","kind":"piece","record_id":"r","garment_id":"a","name":"n","rows":"[]","pictures":"[]","deleted_at":1}` + "\n"},
		{"end.json", `{"pictures":0,"lost":[]}`},
	} {
		if err := w.WriteHeader(&tar.Header{Name: e[0], Size: int64(len(e[1])), Mode: 0o600}); err != nil {
			f.Fatal(err)
		}
		if _, err := w.Write([]byte(e[1])); err != nil {
			f.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	dir := f.TempDir()
	s, err := store.Open(f.Context(), dir)
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { s.Close() })
	f.Fuzz(func(t *testing.T, archive []byte) {
		if _, err := s.Import(context.Background(), bytes.NewReader(archive)); err == nil {
			return
		} else if code := api.CodeOf(err); code != api.CodeBadRequest {
			t.Errorf("%v", err)
		}
	})
}
