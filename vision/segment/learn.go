package segment

import (
	"math"

	"secondcut/vision/calib"
)

// What teaches, and how much; set on the same photos as the weights of the
// witnesses.
const (
	samplesWanted = 4000
	strokeShare   = 0.03 // more would take like cloth elsewhere away
	smallShare    = 0.1
	enclosedMM    = 40   // gaps in cloth narrower than twice this count as enclosed
	enclosedTrust = 0.05 // in such a gap's showing surface
)

// first returns, for each cell, the trust in its being surface and in its being
// cloth before anything is learned: from the guess and from where cells lie (by
// the frame there is mostly surface).
func (s *scene) first(o *odds, outer, novel []bool) (surface, cloth []float32) {
	surface, cloth = make([]float32, len(s.feat)), make([]float32, len(s.feat))
	likely := make([]bool, len(s.feat))
	for i, v := range o.guess {
		likely[i] = v > 0
	}
	enclosed := s.enclosed(likely)
	for i := range s.feat {
		if s.known[i] != calib.KnownScene {
			continue
		}
		p := sigmoid(o.guess[i])
		surface[i], cloth[i] = (1-p)*(1-p), p*p
		if enclosed[i] {
			surface[i] *= enclosedTrust
		}
		if novel[i] {
			surface[i], cloth[i] = surface[i]*enclosedTrust, max(cloth[i], novelTrust)
		}
		if outer[i] {
			surface[i], cloth[i] = 1-p, 0
		}
	}
	return surface, cloth
}

// trustFrom returns the trust after a division: cells by the edge teach neither
// side, and those that look like the other side little.
func (s *scene) trustFrom(cloth []bool, o *odds) (surface, inside []float32) {
	v := make([]float32, len(cloth))
	for i, c := range cloth {
		if c {
			v[i] = 1
		}
	}
	n := boxSum(v, s.width, s.height, 1)
	enclosed, small := s.enclosed(cloth), s.small(cloth)
	surface, inside = make([]float32, len(v)), make([]float32, len(v))
	for i := range v {
		if s.known[i] != calib.KnownScene {
			continue
		}
		agree := sigmoid(o.colour[i])
		if n[i] == 0 {
			surface[i] = 1 - agree/2
			if enclosed[i] {
				surface[i] *= enclosedTrust
			}
		} else if n[i] >= 8.5 {
			inside[i] = agree
			if small[i] {
				p := sigmoid(o.guess[i])
				inside[i], surface[i] = agree*p, 1-p
			}
		}
	}
	return surface, inside
}

// pick gathers about samplesWanted cells with their trust, evenly spaced, and
// all cells that a stroke gives to the side (+1 cloth, -1 surface). Strokes are
// few and sure: together they weigh strokeShare of the rest.
func (s *scene) pick(trust []float32, seeds []int8, side int8) []sample {
	count, painted := 0, 0
	for i, w := range trust {
		if seeds[i] == side {
			painted++
		} else if w > 0.05 && seeds[i] == 0 {
			count++
		}
	}
	every := max(1, count/samplesWanted)
	strokeWeight := max(1, strokeShare*float32(count/every)) / float32(max(painted, 1))
	out := make([]sample, 0, count/every+painted+1)
	k := 0
	for i, w := range trust {
		switch {
		case seeds[i] == side && s.known[i] == calib.KnownScene:
			out = append(out, sample{s.feat[i], strokeWeight})
		case w > 0.05 && seeds[i] == 0:
			if k%every == 0 {
				out = append(out, sample{s.feat[i], w})
			}
			k++
		}
	}
	return out
}

// learnPaper returns what the cards look like: most of what lies on their places
// is card.
func (s *scene) learnPaper() *mixture {
	var cards []sample
	for i, k := range s.known {
		if k == calib.KnownCard {
			cards = append(cards, sample{s.feat[i], 1})
		}
	}
	if p := learn(cards, strayPaper); p != nil {
		return p
	}
	return &mixture{floor: strayPaper}
}

// enclosed marks the cells in gaps and notches of cloth (its morphological
// closing). They may be a trim or a print that was not recognised, so the look
// of the surface is not learned from them; the open surface shows it as well.
func (s *scene) enclosed(cloth []bool) []bool {
	r := max(1, int(math.Round(enclosedMM/s.mm)))
	v := make([]float32, len(cloth))
	for i, c := range cloth {
		if c {
			v[i] = 1
		}
	}
	v = boxSum(v, s.width, s.height, r)
	for i := range v {
		if v[i] > 0 {
			v[i] = 0
		} else {
			v[i] = 1
		}
	}
	v = boxSum(v, s.width, s.height, r)
	out := make([]bool, len(v))
	for i := range out {
		out[i] = v[i] == 0 && !cloth[i]
	}
	return out
}

func sigmoid(v float32) float32 { return float32(1 / (1 + math.Exp(-float64(v)))) }

// small marks the cells of cloth in parts that are less than smallShare of all:
// a pocket, or a figure of the floor that was taken for one. Only the guess
// tells which, so they teach each side as much as the guess allows.
func (s *scene) small(cloth []bool) []bool {
	parts := label(s.width, s.height, cloth, true)
	total := 0
	for _, p := range parts {
		total += len(p)
	}
	out := make([]bool, len(cloth))
	for _, p := range parts {
		if float64(len(p)) < smallShare*float64(total) {
			for _, i := range p {
				out[i] = true
			}
		}
	}
	return out
}
