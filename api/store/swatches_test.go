package store_test

import (
	"archive/tar"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"strings"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/geometry/pattern"
)

// clothed is a garment with one cloth and a photo of that.
func clothed(t *testing.T, s *store.Store, picture []byte) (g *api.Garment, name string) {
	t.Helper()
	g = must[*api.Garment](t)(s.CreateGarment(t.Context(), "smock", api.Key{}))
	name = must[string](t)(s.AddSwatch(t.Context(), g.ID, picture))
	g = must[*api.Garment](t)(s.EditGarment(t.Context(), g.ID, api.GarmentEdit{Cloths: []pattern.Cloth{linen(name)}}, g.Version))
	return g, name
}

func linen(swatch string) pattern.Cloth {
	return pattern.Cloth{ID: "linen", Name: "indigo linen", Use: pattern.ClothMain, Swatch: swatch}
}

// A day later.
func age(t *testing.T, s *store.Store) {
	t.Helper()
	if _, err := s.Exec(`UPDATE swatches SET created_at = created_at - ?`, (25 * time.Hour).Milliseconds()); err != nil {
		t.Fatal(err)
	}
}

// A photo of a cloth stays as long as a version of its garment names it, and goes when
// none does.
func TestSwatchesAreSwept(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	g, name := clothed(t, s, []byte("linen"))
	must[string](t)(s.AddSwatch(t.Context(), g.ID, []byte("never named")))
	if err := s.Sweep(t.Context()); err != nil || len(pictures(t, dir)) != 2 {
		t.Fatalf("at once: %v, %d pictures", err, len(pictures(t, dir)))
	}
	age(t, s)
	if err := s.Sweep(t.Context()); err != nil || len(pictures(t, dir)) != 1 {
		t.Fatalf("a day later: %v, %d pictures", err, len(pictures(t, dir)))
	}
	// Taken off the cloth, it is what a former version has, and can be brought back.
	now := must[*api.Garment](t)(s.EditGarment(t.Context(), g.ID, api.GarmentEdit{Cloths: []pattern.Cloth{linen("")}}, g.Version))
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	back := must[*api.Garment](t)(s.RestoreGarment(t.Context(), g.ID, g.Version, now.Version))
	if got := must[[]byte](t)(s.Swatch(t.Context(), g.ID, back.Cloths[0].Swatch)); string(got) != "linen" {
		t.Errorf("brought back: %q", got)
	}
	// In the trash it is kept, and with the trash it goes.
	entry := must[string](t)(s.DeleteGarment(t.Context(), g.ID))
	if err := s.Sweep(t.Context()); err != nil || len(pictures(t, dir)) != 1 {
		t.Fatalf("in the trash: %v, %d pictures", err, len(pictures(t, dir)))
	}
	if _, err := s.Swatch(t.Context(), g.ID, name); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("of a deleted garment: %v", err)
	}
	if _, _, err := s.Restore(t.Context(), entry); err != nil {
		t.Fatal(err)
	}
	must[[]byte](t)(s.Swatch(t.Context(), g.ID, name))
	must[string](t)(s.DeleteGarment(t.Context(), g.ID))
	if err := s.EmptyTrash(t.Context(), ""); err != nil || len(pictures(t, dir)) != 0 {
		t.Errorf("after the trash: %v, %d pictures", err, len(pictures(t, dir)))
	}
}

// A cloth names only photos of its own garment.
func TestSwatchOfAnotherGarment(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	_, name := clothed(t, s, []byte("linen"))
	other := must[*api.Garment](t)(s.CreateGarment(t.Context(), "coat", api.Key{}))
	_, err := s.EditGarment(t.Context(), other.ID, api.GarmentEdit{Cloths: []pattern.Cloth{linen(name)}}, other.Version)
	bad, ok := errors.AsType[*api.Error](err)
	if !ok || bad.Code != api.CodeInvalid || bad.Field != "cloths[0].swatch" {
		t.Errorf("named elsewhere: %v", err)
	}
	for _, n := range []string{name, "", "../../../etc/passwd", strings.Repeat("0", 64)} {
		if _, err := s.Swatch(t.Context(), other.ID, n); api.CodeOf(err) != api.CodeNotFound {
			t.Errorf("%q of another garment: %v", n, err)
		}
	}
	if _, err := s.AddSwatch(t.Context(), "nobody", []byte("x")); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("for no garment: %v", err)
	}
}

func TestSwatchesAreBounded(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	g, _ := clothed(t, s, []byte("linen"))
	_, err := s.Exec(`WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < ?)
		INSERT INTO swatches SELECT CAST(? AS TEXT), CAST(i AS TEXT), 0 FROM n`, api.MaxSwatches-1, g.ID)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.AddSwatch(t.Context(), g.ID, []byte("one too many")); api.CodeOf(err) != api.CodeTooMany {
		t.Errorf("one too many: %v", err)
	}
	must[string](t)(s.AddSwatch(t.Context(), g.ID, []byte("linen"))) // it is there already
}

// An archive holds them to the byte, and one that knew none is still taken in.
func TestArchiveOfSwatches(t *testing.T) {
	s := open(t, t.TempDir())
	defer s.Close()
	g, name := clothed(t, s, []byte("linen"))
	first := exported(t, s)
	other := open(t, t.TempDir())
	defer other.Close()
	if _, err := other.Import(t.Context(), bytes.NewReader(first)); err != nil {
		t.Fatal(err)
	}
	if got := must[[]byte](t)(other.Swatch(t.Context(), g.ID, name)); string(got) != "linen" {
		t.Errorf("elsewhere: %q", got)
	}
	if !bytes.Equal(exported(t, other), first) {
		t.Error("the archive changed by a turn")
	}
	third := open(t, t.TempDir())
	defer third.Close()
	got, err := third.Import(t.Context(), bytes.NewReader(withoutSwatches(t, first)))
	if err != nil || got.Garments != 1 {
		t.Errorf("an archive of an earlier program: %+v, %v", got, err)
	}
}

// withoutSwatches is an archive as it was before there were photos of cloths.
func withoutSwatches(t *testing.T, archive []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	in, out := tar.NewReader(bytes.NewReader(archive)), tar.NewWriter(&b)
	pictures := 0
	for {
		h, err := in.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		data := must[[]byte](t)(io.ReadAll(in))
		switch {
		case h.Name == "tables/swatches.jsonl", strings.HasPrefix(h.Name, "pictures/"):
			continue
		case h.Name == "manifest.json":
			data = must[[]byte](t)(json.Marshal(map[string]any{"format": store.ArchiveFormat, "schema": 10}))
		case h.Name == "end.json":
			data = must[[]byte](t)(json.Marshal(map[string]any{"pictures": pictures, "lost": []string{}}))
		}
		h.Size = int64(len(data))
		if err := out.WriteHeader(h); err != nil {
			t.Fatal(err)
		}
		must[int](t)(out.Write(data))
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
