package store_test

import (
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"secondcut/api"
)

// A picture is written whole under another name, synced, and renamed; then its folder
// is synced, and the folder of that, which may be new as well; then comes its row
// (POSIX.1-2017, fsync: a name is a matter of its folder).
func TestPictureIsSyncedBeforeItsRow(t *testing.T) {
	s, dir, p := rig(t)
	data := []byte("second")
	sum := sha256.Sum256(data)
	key := hex.EncodeToString(sum[:])
	final := filepath.Join(dir, "pictures", key[:2], key)
	var synced []string
	s.Syncing(func(f *os.File) error {
		name, err := filepath.Rel(dir, f.Name())
		if err != nil {
			return err
		}
		_, there := os.Stat(final)
		if isDir(t, f) {
			synced = append(synced, name)
			if there != nil {
				t.Errorf("%s was synced before the rename: %v", name, there)
			}
			return f.Sync()
		}
		synced = append(synced, "a file")
		if there == nil {
			t.Error("the file was renamed before it was synced")
		}
		st, err := f.Stat()
		if err != nil || st.Size() != int64(len(data)) || st.Mode().Perm() != 0o600 {
			t.Errorf("what was synced is %v bytes, %v, %v", st.Size(), st.Mode(), err)
		}
		return f.Sync()
	})
	if _, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: data}, api.Key{}); err != nil {
		t.Fatal(err)
	}
	if want := []string{"a file", filepath.Join("pictures", key[:2]), "pictures"}; !slices.Equal(synced, want) {
		t.Errorf("synced %q, want %q", synced, want)
	}
}

// A picture that was put there by another hand, where pictures have always lain: it is
// read, and no sweep takes it.
func TestPicturesLieWhereTheyLay(t *testing.T) {
	s, dir, p := rig(t)
	const key = "2a36430635e7505479f0ba76c491f1fe2437373f986ed69009b82caf50907fca" // printf former | sha256sum
	file := filepath.Join(dir, "pictures", "2a", key)
	if err := os.Mkdir(filepath.Dir(file), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, []byte("former"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Exec(`UPDATE photos SET original = ? WHERE id = ?`, key, p.PhotoID); err != nil {
		t.Fatal(err)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := pictures(t, dir); !slices.Equal(got, []string{key}) {
		t.Errorf("pictures after the sweep: %q", got)
	}
	if data := must[[]byte](t)(s.Picture(t.Context(), p.PhotoID, api.PictureOriginal)); string(data) != "former" {
		t.Errorf("the picture is %q", data)
	}
}

// What stays in the folder beside pictures: nothing.
func TestNoSidecars(t *testing.T) {
	_, dir, _ := rig(t)
	err := filepath.WalkDir(filepath.Join(dir, "pictures"), func(file string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && strings.Contains(d.Name(), ".") {
			t.Errorf("%s lies among the pictures", file)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
