package store_test

import (
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"secondcut/api"
	"secondcut/api/store"
	"secondcut/api/store/storetest"
	"secondcut/vision"
)

// smallDisk returns a folder on a disk of its own, of so many bytes.
func smallDisk(t *testing.T, bytes int) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "disk")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "mode=0700,size="+strconv.Itoa(bytes))
	if errors.Is(err, syscall.EPERM) || errors.Is(err, syscall.EACCES) || errors.Is(err, syscall.ENODEV) {
		t.Skip("only root may make a small disk:", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// fill writes a file until the disk is full to the last byte.
func fill(t *testing.T, file string) {
	t.Helper()
	f, err := os.Create(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, size := range []int{1 << 16, 1 << 12, 1} {
		for err = nil; err == nil; {
			_, err = f.Write(make([]byte, size))
		}
		if !errors.Is(err, syscall.ENOSPC) {
			t.Fatal(err)
		}
	}
}

// On a disk that is really full nothing new is acknowledged and all that was is there:
// at once, with room again, and after the next start.
func TestDiskReallyFull(t *testing.T) {
	storetest.FolderOnly(t, "a small disk is put under it")
	disk := smallDisk(t, 8<<20)
	dir, ballast := filepath.Join(disk, "data"), filepath.Join(disk, "ballast")
	s := open(t, dir)
	t.Cleanup(func() { s.Close() })
	p := must[*api.Piece](t)(s.Piece(t.Context(), pieceOf(t, s, []vision.TracedPiece{{Knots: triangle()}})[0].ID))
	u := must[*api.Upload](t)(s.AddUpload(t.Context(), api.NewUpload{GarmentID: p.GarmentID, Size: 1 << 16}, api.Key{}))
	fill(t, ballast)

	photo := api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: make([]byte, 1<<16)}
	_, _, err := s.AddPhoto(t.Context(), photo, api.Key{})
	wants(t, "a photo", err, api.CodeStorageFull)
	_, err = s.AppendUpload(t.Context(), u.ID, 0, photo.Data)
	wants(t, "a part of a photo", err, api.CodeStorageFull)
	wants(t, "ready", s.Ready(t.Context()), api.CodeStorageFull)
	last, name := p, strings.Repeat("n", 4000)
	for i := 0; err == nil || i == 0; i++ { // the log of the database may have room for some
		var next *api.Piece
		if next, err = s.SavePiece(t.Context(), p.ID, api.PieceEdit{Name: name + strconv.Itoa(i), Knots: triangle()}, last.Version); err == nil {
			last = next
		}
		if i == 5000 {
			t.Fatal("a full disk takes one edit after the other")
		}
	}
	wants(t, "saving", err, api.CodeStorageFull)
	there := func(when string) {
		t.Helper()
		now := must[*api.Piece](t)(s.Piece(t.Context(), p.ID))
		if now.Version != last.Version || now.Name != last.Name {
			t.Errorf("%s: version %d is there, %d was acknowledged", when, now.Version, last.Version)
		}
		if data := must[[]byte](t)(s.Picture(t.Context(), p.PhotoID, api.PictureOriginal)); string(data) != "a photo" {
			t.Errorf("%s: the picture is %q", when, data)
		}
		if g := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID)); len(g.Photos) != 1 {
			t.Errorf("%s: %d photos, want the one that was acknowledged", when, len(g.Photos))
		}
	}
	there("while it is full")
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	there("with room again")
	if u = must[*api.Upload](t)(s.Upload(t.Context(), u.ID)); u.Received != 0 {
		t.Errorf("%d bytes of a part that was refused", u.Received)
	}
	must[*api.Upload](t)(s.AppendUpload(t.Context(), u.ID, 0, photo.Data))
	last = saved(t, s, p.ID, "room again", last.Version)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	there("after a start")
	if found, err := store.Examine(t.Context(), dir); err != nil || len(found) != 0 {
		t.Errorf("the doctor found %+v, %v", found, err)
	}
	if _, _, err := s.AddPhoto(t.Context(), photo, api.Key{}); err != nil {
		t.Error(err)
	}
}
