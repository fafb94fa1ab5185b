package apart

import (
	"context"
	"slices"
	"sync"
	"time"
)

// spares are children that wait for a photo: a child that has worked once has its
// memory and the network's weights in place, and does the next photo in about half the
// time. Once one has broken down, none is used again that was there then: a photo that is
// tried again meets a child which has not been with it.
type spares struct {
	mu     sync.Mutex
	kept   []*process // given back last at the end
	broken int        // how many have broken down
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

// take returns a child without a photo. One that has died while it waited, since the
// system needed its memory, is no fault of the photo that comes.
func (t *Tracer) take() (*process, error) {
	for p := t.spares.pop(); p != nil; p = t.spares.pop() {
		if p.forget() {
			p.photos++
			return p, nil
		}
		_ = p.Close()
	}
	p, err := t.start()
	if err != nil {
		return nil, err
	}
	p.photos, p.born = 1, t.spares.breakdowns()
	return p, nil
}

func (s *spares) breakdowns() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.broken
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
		t.spares.breakDown()
	}
	if p.spoilt || p.photos >= maxPhotos || t.Spare == 0 || !p.forget() {
		_ = p.Close()
		return
	}
	s := &t.spares
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(s.kept) >= t.Spare || p.born != s.broken {
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

// breakDown notes that a child has broken down, and ends all that wait.
func (s *spares) breakDown() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.broken++
	for _, p := range s.kept {
		_ = p.Close()
	}
	s.kept = nil
}
