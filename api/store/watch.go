package store

import "sync"

// watchers tells those who wait for a record that it has changed.
type watchers struct {
	mu sync.Mutex
	of map[string]map[chan struct{}]bool
}

// Watch returns a channel that gets a value soon after the garment or job with
// this id has changed, and a function that ends it. It sees the changes made
// through this Store, not those of another process.
func (s *Store) Watch(id string) (<-chan struct{}, func()) {
	w := &s.watch
	ch := make(chan struct{}, 1)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.of == nil {
		w.of = map[string]map[chan struct{}]bool{}
	}
	if w.of[id] == nil {
		w.of[id] = map[chan struct{}]bool{}
	}
	w.of[id][ch] = true
	return ch, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		if delete(w.of[id], ch); len(w.of[id]) == 0 {
			delete(w.of, id)
		}
	}
}

// tell wakes the watchers of the ids. One that has not taken the last value yet
// will see this change with it.
func (w *watchers) tell(ids ...string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for _, id := range ids {
		for ch := range w.of[id] {
			select {
			case ch <- struct{}{}:
			default:
			}
		}
	}
}
