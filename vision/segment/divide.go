package segment

import (
	"secondcut/vision/calib"
	"secondcut/vision/segment/internal/cut"
)

// Weights of the witnesses, in log odds. Tuned by hand on all development
// photos together (16 drawn scenes, 18 photographs of garments), where the
// result hardly changes when any of them moves by a third.
const (
	guessCap     = 4   // largest log odds that the guess may claim
	colourWeight = 0.7 // of the log ratio of colour and texture densities
	colourCap    = 5
	edgeWeight   = 5.0 // of an edge along one cell where the picture is plain
	frameBias    = 1.0 // against cloth within frameMM of the frame
	frameMM      = 12
	cardBias     = 1.0 // against cloth on a card: most of it is paper
	sureSeed     = 1e5 // strokes
	costUnit     = 64  // whole numbers to a unit of log odds
)

// guessWeights are those of the learned guess's log odds, pass by pass: it leads
// while nothing else is known.
var guessWeights = [...]float32{0.6, 0.5, 0.5}

// models are what is known of the two sides' looks.
type models struct{ cloth, surface, paper *mixture }

// odds holds the log odds of cloth for each cell: all witnesses together, and
// colour and guess by themselves.
type odds struct {
	all, colour, guess []float32
}

// lights are the hypotheses of how much light falls on surface in shadow or in a
// patch of sun, as the factor on lightness + 16, with the log penalty of
// assuming it. The edge of a shadow is no texture, so only colour is compared.
var lights = [...]struct{ k, penalty float32 }{
	{0.9, 1}, {0.8, 1.5}, {0.72, 1.75}, {0.65, 2}, {0.57, 2.25}, {0.5, 2.5}, {1.15, 1.5}, {1.3, 2.5},
}

// colourOdds returns the log ratio of the densities of cloth and surface.
func (m *models) colourOdds(f *feature) float32 {
	c, s := m.cloth.logDensity(f), m.surface.logDensity(f)
	if c <= s {
		return c - s
	}
	for _, h := range lights {
		lit := feature{(f[0]+16)/h.k - 16, f[1] / h.k, f[2] / h.k}
		s = max(s, m.surface.logColour(&lit)-h.penalty)
	}
	return c - s
}

func limit(v, cap float32) float32 { return min(max(v, -cap), cap) }

// weigh fills o.colour and o.all from the models, the guess and the seeds.
func (s *scene) weigh(o *odds, m *models, guessWeight float32, frame []bool, seeds []int8) {
	halves(len(s.feat), func(from, to int) {
		for i := from; i < to; i++ {
			switch s.known[i] {
			case calib.KnownScene:
				o.colour[i] = limit(m.colourOdds(&s.feat[i]), colourCap)
				o.all[i] = colourWeight*o.colour[i] + guessWeight*o.guess[i]
			case calib.KnownCard:
				o.colour[i] = limit(m.onCard(&s.feat[i]), 2)
				o.all[i] = o.colour[i] - cardBias
			}
			if frame[i] {
				o.all[i] -= frameBias
			}
			if seeds[i] != 0 {
				o.all[i] = sureSeed * float32(seeds[i])
			}
		}
	})
}

// onCard returns the log odds that what is seen on a card's place is cloth that
// covers it and not the card. Texture is not measured on cards.
func (m *models) onCard(f *feature) float32 {
	return m.cloth.logColour(f) - m.paper.logColour(f)
}

// divide returns which cells are cloth: the cheapest division for the odds and
// for edges that follow the picture. Across a card's rim the step in colour says
// nothing.
func (s *scene) divide(o *odds) []bool {
	g, node := s.cells.of(s)
	table := newLinks(edgeWeight, s.contrast())
	for i, k := range node {
		if k < 0 {
			continue
		}
		v := int32(limit(o.all[i], 1e6) * costUnit)
		g.SetSides(k, max(0, -v), max(0, v))
		for d := 0; d < len(cut.Offsets); d += 2 {
			x, y := i%s.width+cut.Offsets[d][0], i/s.width+cut.Offsets[d][1]
			if x < 0 || y < 0 || x >= s.width || y >= s.height {
				continue
			}
			j, d2 := y*s.width+x, float32(0)
			if s.known[i] == s.known[j] {
				d2 = colourDistance2(&s.feat[i], &s.feat[j])
			}
			g.SetLink(k, d, table.cost(d2, d))
		}
	}
	g.Solve()
	cloth := make([]bool, len(node))
	for i, k := range node {
		cloth[i] = k >= 0 && g.Source(k)
	}
	return cloth
}

// contrast returns the mean squared difference between neighbouring cells.
func (s *scene) contrast() float32 {
	var sum float64
	n := 0
	for i := 0; i+s.width+1 < len(s.feat); i++ {
		if s.known[i] == calib.KnownScene {
			for _, j := range [2]int{i + 1, i + s.width} {
				if s.known[j] == calib.KnownScene {
					sum += float64(colourDistance2(&s.feat[i], &s.feat[j]))
					n++
				}
			}
		}
	}
	return float32(sum/float64(max(n, 1))) + 0.5
}

func colourDistance2(a, b *feature) float32 {
	l, m, n := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return l*l + m*m + n*n
}
