package rest

import "sync"

// keyedLock is a lock for each key that is in use.
type keyedLock struct {
	mu   sync.Mutex
	held map[string]*heldLock
}

type heldLock struct {
	sync.Mutex
	users int
}

func newKeyedLock() *keyedLock { return &keyedLock{held: map[string]*heldLock{}} }

// lock waits for the key and returns what lets it go.
func (k *keyedLock) lock(key string) (unlock func()) {
	k.mu.Lock()
	l := k.held[key]
	if l == nil {
		l = &heldLock{}
		k.held[key] = l
	}
	l.users++
	k.mu.Unlock()
	l.Lock()
	return func() {
		l.Unlock()
		k.mu.Lock()
		defer k.mu.Unlock()
		if l.users--; l.users == 0 {
			delete(k.held, key)
		}
	}
}
