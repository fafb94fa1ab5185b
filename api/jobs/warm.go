package jobs

import (
	"sync"

	"secondcut/api"
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
	print   api.Print
	session Session
}

// take returns the session of a photo that was measured with the print and
// forgets it; nil when there is none.
func (w *warm) take(photoID string, print api.Print) Session {
	w.mu.Lock()
	defer w.mu.Unlock()
	for i, k := range w.kept {
		if k.photoID == photoID && k.print == print {
			w.kept = append(w.kept[:i], w.kept[i+1:]...)
			return k.session
		}
	}
	return nil
}

// put keeps a session that is no longer used, and lets the oldest go.
func (w *warm) put(photoID string, print api.Print, s Session) {
	w.mu.Lock()
	defer w.mu.Unlock()
	kept := []warmSession{{photoID, print, s}}
	for _, k := range w.kept {
		if k.photoID != photoID && len(kept) < w.size {
			kept = append(kept, k)
		}
	}
	w.kept = kept
}
