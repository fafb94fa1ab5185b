package apart

import (
	"context"
	"slices"
	"sync"
	"time"
)

// spares are children that wait for a photo: a child that has worked once has its
// memory and the network's weights in place, and does the next photo in about half the
// time. Whatever breaks one down empties the lot, so that a photo that is tried again
// meets a child which has seen no other.
type spares struct {
	mu   sync.Mutex
	kept []*process // given back last at the end
}

const (
	// maxPhotos is how many photos a child has before it ends: what a library leaks
	// is given back.
	maxPhotos = 40
	// spareLife is how long a child waits for a photo.
	spareLife = 20 * time.Second
	// forgetting is the time a child has to let go of its photo.
	forgetting = time.Second
)

// take returns a child without a photo.
func (t *Tracer) take() (*process, error) {
	p := t.spares.pop()
	if p == nil {
		var err error
		if p, err = t.start(); err != nil {
			return nil, err
		}
	}
	p.photos++
	return p, nil
}

// pop returns the child that was given back last; nil when there is none.
func (s *spares) pop() *process {
	s.mu.Lock()
	defer s.mu.Unlock()
	n := len(s.kept) - 1
	if n < 0 {
		return nil
	}
	p := s.kept[n]
	s.kept = s.kept[:n]
	return p
}

// give keeps a child that is no longer needed for the next photo, or ends it.
func (t *Tracer) give(p *process) {
	if p.spoilt {
		t.empty()
	}
	if p.spoilt || p.photos >= maxPhotos || t.Spare == 0 || !p.forget() {
		_ = p.Close()
		return
	}
	s := &t.spares
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.kept) >= t.Spare {
		_ = p.Close()
		return
	}
	s.kept = append(s.kept, p)
	photos := p.photos
	time.AfterFunc(spareLife, func() { t.drop(p, photos) })
}

// forget has the child let go of its photo and reports whether it did.
func (p *process) forget() bool {
	ctx, cancel := context.WithTimeout(context.Background(), forgetting)
	defer cancel()
	_, _, err := p.ask(ctx, request{Ask: askForget}, nil, nil)
	return err == nil
}

// drop ends a child that has waited too long: one that still has had as many photos.
func (t *Tracer) drop(p *process, photos int) {
	s := &t.spares
	s.mu.Lock()
	defer s.mu.Unlock()
	if i := slices.Index(s.kept, p); i >= 0 && p.photos == photos {
		s.kept = slices.Delete(s.kept, i, i+1)
		_ = p.Close()
	}
}

// empty ends all children that wait.
func (t *Tracer) empty() {
	s := &t.spares
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.kept {
		_ = p.Close()
	}
	s.kept = nil
}
