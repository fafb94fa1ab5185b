package lay

import "slices"

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

// overlap returns the overlap of all pairs, without weights, and keeps what each pair
// has of it for reweigh.
func (s *searcher) overlap() float64 {
	n, sum := len(s.shapes), 0.0
	s.overlaps = s.overlaps[:0]
	note := func(depth, scale float64) {
		s.overlaps = append(s.overlaps, depth*scale)
		sum += depth * scale
	}
	for i, p := range s.places {
		for j := i + 1; j < len(s.places); j++ {
			q := s.places[j]
			at := p.shape*n + q.shape
			note(s.regions[at].depth(q.at.X-p.at.X, q.at.Y-p.at.Y), s.scale[at])
		}
		for _, o := range s.kept {
			note(s.region(o, p.shape).depth(p.at.X, p.at.Y), s.scale[o*n+p.shape])
		}
	}
	return sum
}

// reweigh makes the overlaps that were left when overlap was last asked count more.
func (s *searcher) reweigh() {
	worst, next := slices.Max(s.overlaps), 0
	grown := func(weight float64) float64 {
		amount := s.overlaps[next]
		next++
		if amount > 0 {
			return weight * (growLeast + (growMost-growLeast)*amount/worst)
		}
		return max(1, weight*decay)
	}
	for i := range s.items {
		for j := i + 1; j < len(s.items); j++ {
			w := grown(s.weights[i*len(s.items)+j])
			s.weights[i*len(s.items)+j], s.weights[j*len(s.items)+i] = w, w
		}
		for k := range s.kept {
			s.keptWeights[i*len(s.kept)+k] = grown(s.keptWeights[i*len(s.kept)+k])
		}
	}
}
