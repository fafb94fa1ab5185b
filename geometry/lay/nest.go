package lay

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"sync"
	"time"

	"secondcut/geometry"
)

// Options of nesting. The zero value is usable.
type Options struct {
	// Time is how long to look for a better layout; default 10 s.
	Time time.Duration
	// Rounds is after how many rounds of moves each search ends, if Time has not ended
	// it; default 0, as many as fit. With the same Seed, Rounds and Searches, and time
	// enough, the same layout comes out on every machine.
	Rounds int
	// Seed of the random choices; default 0.
	Seed uint64
	// Searches run side by side, each on a processor of its own; default 2.
	Searches int
}

// Nest lays the pieces of an instance on as short a strip as it can find in the
// time. progress, if it is not nil, is called with the first layout and each better
// one, from one goroutine at a time. When ctx ends, the best layout so far is
// returned without an error. It fails with ErrInstance, ErrOutline, ErrTooWide or
// ErrTooLong.
func Nest(ctx context.Context, in Instance, opt Options, progress func(Layout)) (Layout, error) {
	t, err := newTable(in)
	if err != nil {
		return Layout{}, err
	}
	if opt.Time <= 0 {
		opt.Time = 10 * time.Second
	}
	if opt.Searches <= 0 {
		opt.Searches = 2
	}
	start := time.Now()
	h := &hunt{table: t, bound: in.LowerBoundMM(), best: t.first(opt.Seed, t.tries()), tell: func(l layout) {
		if progress != nil {
			progress(in.layout(t, l))
		}
	}}
	h.told = h.best.length
	h.tell(h.best)
	wide := (opt.Rounds*7 + 9) / 10
	h.run(ctx, opt, start.Add(opt.Time*7/10), wide, h.explore)
	h.run(ctx, opt, start.Add(opt.Time), opt.Rounds-wide+min(1, opt.Rounds), h.compress)
	if h.best.length > t.maxLength {
		return in.layout(t, h.best), fmt.Errorf("%w: they need %.4g, and there is %.4g", ErrTooLong, h.best.length, t.maxLength)
	}
	return in.layout(t, h.best), nil
}

// layout returns a search's layout as it is written.
func (in Instance) layout(t *table, l layout) Layout {
	out := Layout{LengthMM: l.length, Placements: make([]Placement, len(l.places))}
	for i, p := range l.places {
		s := t.shapes[p.shape]
		out.Placements[i] = Placement{ID: in.Pieces[s.kind].ID, X: p.at.X + 0, Y: p.at.Y + 0, RotationDeg: s.turnDeg, Mirrored: s.mirrored} // + 0: no negative zero
	}
	return out
}

// hunt is what the searches of one instance share: the best layout so far.
type hunt struct {
	*table
	bound float64
	best  layout // not touched while searches run
	lock  sync.Mutex
	told  float64 // the shortest length that was told of
	tell  func(layout)
}

// run runs searches side by side, each from the best layout so far, until a moment
// or for a number of rounds (0: any).
func (h *hunt) run(ctx context.Context, opt Options, until time.Time, rounds int, search func(*searcher)) {
	ctx, cancel := context.WithDeadline(ctx, until)
	defer cancel()
	found := make([]layout, opt.Searches)
	var all sync.WaitGroup
	for i := range opt.Searches {
		s := newSearcher(h.table, h.best, opt.Seed*31+uint64(i))
		s.ended = func() bool {
			return ctx.Err() != nil || rounds > 0 && s.rounds >= rounds || s.shortest.length <= h.bound*(1+slack)
		}
		all.Go(func() {
			search(s)
			found[i] = s.shortest
		})
	}
	all.Wait()
	// The first of equals, whichever was found earlier.
	h.best = slices.MinFunc(append(found, h.best), func(a, b layout) int { return cmp.Compare(a.length, b.length) })
}

// freed keeps a search's layout, now without overlap, and tells of it if there is
// none shorter. It reports false where the layout is no shorter than before, since a
// piece is as long as the strip.
func (h *hunt) freed(s *searcher) bool {
	l := s.trimmed(s.layout.clone())
	if l.length >= s.shortest.length {
		return false
	}
	s.shortest = l
	h.lock.Lock()
	defer h.lock.Unlock()
	if l.length < h.told {
		h.told = l.length
		h.tell(l)
	}
	return true
}

// Steps of shortening, as parts of the length.
const (
	firstStep = 0.02
	leastStep = 0.002
	finest    = 0.00005
)

// How long pieces are moved about before a strip counts as too short: little while steps
// are large, since a smaller one will do; long at the smallest ones, where most of what is
// won is won late: on shirts 0.4 to 0.5 per cent of utilisation after 60 s on two cores.
var (
	hasty    = patience{rounds: 80, strikes: 2}
	patient  = patience{rounds: 200, strikes: 3}
	thorough = patience{rounds: 100, strikes: 4}
)

// explore shortens the strip in large steps; where the pieces cannot be freed, it
// shortens less, and then disturbs layouts that were nearly free.
func (h *hunt) explore(s *searcher) {
	step := firstStep
	var pool []nearly
	for !s.ended() {
		if len(pool) == 0 {
			s.start(s.shortest)
			s.shorten(s.shortest.length * (1 - step))
		}
		effort := patient
		if step > leastStep {
			effort = hasty
		}
		if s.separate(effort) && h.freed(s) {
			pool = nil
			continue
		}
		if step > leastStep {
			step = max(leastStep, step/2)
			continue
		}
		pool = append(pool, nearly{s.layout.clone(), s.overlap()})
		slices.SortStableFunc(pool, func(a, b nearly) int { return cmp.Compare(a.overlap, b.overlap) })
		if len(pool) > 20 {
			pool = pool[:20]
		}
		// The less overlap, the likelier: half of a normal distribution over the ranks.
		rank := int(float64(len(pool)) * min(0.999, max(-0.999, s.dice.NormFloat64()*0.25)))
		s.start(pool[max(rank, -rank)].layout)
		s.disturb()
	}
}

// nearly is a layout that could not be freed.
type nearly struct {
	layout
	overlap float64
}

// compress shortens the strip in ever finer steps from the best layout.
func (h *hunt) compress(s *searcher) {
	for step := leastStep / 2; !s.ended(); {
		s.start(s.shortest)
		s.shorten(s.shortest.length * (1 - step))
		if s.separate(thorough) && h.freed(s) {
			continue
		}
		if step = step * 0.8; step < finest {
			step = leastStep / 2
		}
	}
}

// shorten cuts the strip at a random place and closes the gap: what lies beyond it
// moves to the left.
func (s *searcher) shorten(length float64) {
	cut := s.dice.Float64() * length
	by := s.length - length
	s.length = length
	for i, p := range s.places {
		if sh := &s.shapes[p.shape]; p.at.X+(sh.lo.X+sh.hi.X)/2 > cut {
			p.at.X -= by
		}
		s.places[i] = s.inside(p)
	}
	s.start(s.layout)
}

// inside returns the place moved onto the strip.
func (s *searcher) inside(p place) place {
	lo, hi := s.room(p.shape, s.length)
	p.at = s.shapes[p.shape].snapped(geometry.Point{X: max(lo.X, min(hi.X, p.at.X)), Y: max(lo.Y, min(hi.Y, p.at.Y))})
	return p
}

// disturb swaps two of the larger pieces, of unlike kinds where there are such.
func (s *searcher) disturb() {
	order := make([]int, len(s.items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		return cmp.Compare(s.shapes[s.places[j].shape].size, s.shapes[s.places[i].shape].size)
	})
	large := order[:max(min(2, len(order)), len(order)/2)]
	a := large[s.dice.IntN(len(large))]
	b := a
	for range 10 {
		if b = large[s.dice.IntN(len(large))]; s.items[b].kind != s.items[a].kind {
			break
		}
	}
	p, q := s.places[a], s.places[b]
	s.put(a, s.inside(place{p.shape, s.centred(p.shape, q)}))
	s.put(b, s.inside(place{q.shape, s.centred(q.shape, p)}))
}

// centred returns the position at which a shape has the middle of another place.
func (s *searcher) centred(shape int, at place) geometry.Point {
	a, b := &s.shapes[shape], &s.shapes[at.shape]
	return geometry.Point{
		X: at.at.X + (b.lo.X+b.hi.X-a.lo.X-a.hi.X)/2,
		Y: at.at.Y + (b.lo.Y+b.hi.Y-a.lo.Y-a.hi.Y)/2,
	}
}
