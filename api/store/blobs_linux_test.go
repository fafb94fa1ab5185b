package store_test

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"unsafe"

	"secondcut/api"
)

// dirtyPages asks the kernel how many pages of a file are not on the disk yet
// (cachestat(2), Linux 6.5; its number is the same on all of Go's architectures).
func dirtyPages(t *testing.T, file string) uint64 {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var all struct{ offset, length uint64 }
	var got struct{ cached, dirty, writing, evicted, lately uint64 }
	const cachestat = 451
	_, _, errno := syscall.Syscall6(cachestat, f.Fd(), uintptr(unsafe.Pointer(&all)), uintptr(unsafe.Pointer(&got)), 0, 0, 0)
	if errors.Is(errno, syscall.ENOSYS) || errors.Is(errno, syscall.EOPNOTSUPP) || errors.Is(errno, syscall.EPERM) {
		t.Skip("this kernel does not say what is on the disk:", errno)
	}
	if errno != 0 {
		t.Fatal(errno)
	}
	return got.dirty + got.writing
}

// What was acknowledged waits in no buffer of the kernel.
func TestPictureIsOnTheDisk(t *testing.T) {
	s, dir, p := rig(t)
	data := bytes.Repeat([]byte("pressed cloth "), 1<<16)
	loose := filepath.Join(dir, "loose")
	if err := os.WriteFile(loose, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if dirtyPages(t, loose) == 0 {
		t.Skip("this file system writes at once, or not at all")
	}
	photo, _, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, FileName: "b.jpg", Data: data}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	var key string
	if err := s.QueryRow(`SELECT original FROM photos WHERE id = ?`, photo.ID).Scan(&key); err != nil {
		t.Fatal(err)
	}
	if n := dirtyPages(t, filepath.Join(dir, "pictures", key[:2], key)); n != 0 {
		t.Errorf("%d pages of the picture are not on the disk", n)
	}
}
