package store

import "sync"

// holds keep a picture from being deleted as unused between its writing and the commit
// of its row, without one waiting for the other: an import may take an hour. What is
// written while anybody writes is held until nobody does.
type holds struct {
	mu       sync.Mutex
	writers  int
	sweeping bool
	keys     map[string]bool
}

// begin is called before pictures are written, and the function that it returns when
// their rows are committed or given up.
func (h *holds) begin() (end func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.writers++
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.writers--
		h.letGo()
	}
}

// hold is called before a picture is written or found to be there.
func (h *holds) hold(key string) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.keys == nil {
		h.keys = map[string]bool{}
	}
	h.keys[key] = true
}

// sweep is called before it is asked which pictures are in use, and the function that it
// returns when all others are deleted.
func (h *holds) sweep() (end func()) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweeping = true
	return func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.sweeping = false
		h.letGo()
	}
}

// letGo forgets what was written when all rows stand. A sweep may have asked for the
// rows before the last of them was committed.
func (h *holds) letGo() {
	if h.writers == 0 && !h.sweeping {
		h.keys = nil
	}
}

// unlessHeld deletes a file, except one that is held, or that somebody may be writing
// under a name for the time being.
func (h *holds) unlessHeld(key string, remove func() error) (removed bool, err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.keys[key] || !isKey(key) && h.writers > 0 {
		return false, nil
	}
	return true, remove()
}
