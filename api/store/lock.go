package store

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// ErrInUse says that another process has the data folder open.
var ErrInUse = errors.New("another Secondcut is running with this data folder; stop it, or choose another folder with --data")

// lockWait is how long is waited for a former process to let go of the folder.
const lockWait = 2 * time.Second

// lockDir takes the folder for this process until the file is closed, which the
// operating system does for a process that dies.
func lockDir(dir string) (*os.File, error) {
	f, err := os.OpenFile(filepath.Join(dir, "lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("store: locking the data folder: %w", err)
	}
	// A process that died while it was starting another leaves the lock with that
	// one until it has begun; a supervisor starts us again at once.
	for end := time.Now().Add(lockWait); ; time.Sleep(20 * time.Millisecond) {
		err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		if !errors.Is(err, syscall.EWOULDBLOCK) || time.Now().After(end) {
			break
		}
	}
	if errors.Is(err, syscall.EWOULDBLOCK) {
		err = ErrInUse
	}
	if err != nil {
		return nil, fmt.Errorf("store: %w", errors.Join(err, f.Close()))
	}
	return f, nil
}
