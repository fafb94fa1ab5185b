package jobs

import (
	"slices"
	"sync"
)

// warm keeps the sessions of the photos used last, so that a stroke need not
// read its photo again. A session is taken out while it is used.
type warm struct {
	mu   sync.Mutex
	size int
	kept []warmSession // last used first
}

type warmSession struct {
	photoID string
	known   TraceOptions
	session Session
}

// take returns the session of a photo that was opened with these options and
// forgets it; nil when there is none.
func (w *warm) take(photoID string, known TraceOptions) Session {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i, k := range w.kept {
		if k.photoID == photoID && k.known.same(known) {
			w.kept = append(w.kept[:i], w.kept[i+1:]...)
			return k.session
		}
	}
	return nil
}

// put keeps a session that is no longer used, and closes the oldest.
func (w *warm) put(photoID string, known TraceOptions, s Session) {
	w.mu.Lock()
	defer w.mu.Unlock()
	kept := []warmSession{{photoID, known, s}}
	for _, k := range w.kept {
		if k.photoID != photoID && len(kept) < w.size {
			kept = append(kept, k)
		} else {
			_ = k.session.Close()
		}
	}
	w.kept = kept
}

// forget closes the sessions of a photo; those of all photos when it is "".
func (w *warm) forget(photoID string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.kept = slices.DeleteFunc(w.kept, func(k warmSession) bool {
		gone := photoID == "" || k.photoID == photoID
		if gone {
			_ = k.session.Close()
		}
		return gone
	})
}
