package lay

// Growth of weights after a round: on the worst pair, on a pair that hardly
// overlaps, and the decay where there is no overlap.
const (
	growMost  = 2.0
	growLeast = 1.2
	decay     = 0.95
)

// patience ends a separation: rounds without a layout that is better by a fiftieth,
// and how often to start again from the best one.
type patience struct{ rounds, strikes int }

// separate moves overlapping items until none overlap, and reports whether it got
// there. If not, the searcher is left at the layout with the least overlap.
func (s *searcher) separate(p patience) bool {
	s.resetWeights()
	least := s.overlap()
	kept := s.layout.clone()
	if least == 0 {
		s.rounds++ // so that a search of so many rounds ends
		return true
	}
	for range p.strikes {
		start := least
		for still := 0; still < p.rounds; still++ {
			if s.ended() {
				s.start(kept)
				return false
			}
			s.round()
			s.rounds++
			now := s.overlap()
			if now == 0 {
				return true
			}
			if now < least {
				if now < 0.98*least {
					still = 0
				}
				least, kept = now, s.layout.clone()
			}
			s.reweigh()
		}
		s.start(kept)
		if least > 0.98*start {
			break
		}
	}
	s.start(kept)
	return false
}

// round moves each item that overlaps another one, in random order.
func (s *searcher) round() {
	for _, i := range s.dice.Perm(len(s.items)) {
		if s.cost(i, s.places[i], 1e-300) > 0 {
			s.move(i)
		}
	}
}

// pairs calls f with each overlap: of items i and j, or of item i and obstacle k
// (then j is -1).
func (s *searcher) pairs(f func(i, j, k int, amount float64)) {
	n := len(s.shapes)
	for i, p := range s.places {
		for j := i + 1; j < len(s.places); j++ {
			q := s.places[j]
			at := p.shape*n + q.shape
			d := s.regions[at].depth(q.at.X-p.at.X, q.at.Y-p.at.Y)
			f(i, j, -1, d*s.scale[at])
		}
		for k, o := range s.kept {
			f(i, -1, k, s.region(o, p.shape).depth(p.at.X, p.at.Y)*s.scale[o*n+p.shape])
		}
	}
}

// overlap returns the overlap of all pairs, without weights.
func (s *searcher) overlap() float64 {
	sum := 0.0
	s.pairs(func(_, _, _ int, amount float64) { sum += amount })
	return sum
}

// reweigh makes the overlaps that are left count more.
func (s *searcher) reweigh() {
	worst := 0.0
	s.pairs(func(_, _, _ int, amount float64) { worst = max(worst, amount) })
	s.pairs(func(i, j, k int, amount float64) {
		factor := decay
		if amount > 0 {
			factor = growLeast + (growMost-growLeast)*amount/worst
		}
		if j < 0 {
			w := &s.keptWeights[i*len(s.kept)+k]
			*w = max(1, *w*factor)
			return
		}
		w := max(1, s.weights[i*len(s.items)+j]*factor)
		s.weights[i*len(s.items)+j], s.weights[j*len(s.items)+i] = w, w
	})
}
