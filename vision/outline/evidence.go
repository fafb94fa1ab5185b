package outline

import "math"

// pair is the two models of a window.
type pair struct{ cloth, ground model }

// How far the models of one window reach, and how many kinds of colour each
// knows; those of the whole ring stand in, at a price, for colours that a window
// has not seen. Tuned on rendered photos of plain, striped, checked and dotted
// cloth on wood, stone, tiles and carpet.
const (
	windowMM  = 12.0 // from one window to the next
	reachMM   = 18.0 // to either side
	crowd     = 200  // colours a window's model is learnt from, at most
	kinds     = 4
	crowdAll  = 1500
	kindsAll  = 8
	elsewhere = 2.0 // nats: price of a colour that only other windows show
	onInk     = 0.2 // weight of what is seen on the print of a card
)

// learnAlong learns the models of every window along the band from the offsets
// that the search names, and those of the whole ring, which come last. The
// contour tells cloth from ground, so that profiles that reach through a narrow
// piece into what lies behind it are cut there.
func (t *tracer) learnAlong(b *band, s search) []pair {
	total := b.step * float64(len(b.at))
	n := max(1, int(total/windowMM))
	out := make([]pair, n+1)
	ring := gathering{mid: 0, half: (len(b.at) - 1) / 2, crowd: crowdAll}
	var everywhere model
	if s.deep > s.far {
		everywhere = learn(t.gather(b, ring, -s.deep, -s.far), kindsAll)
	}
	parallel(n+1, func(from, to int) {
		for w := from; w < to; w++ {
			g := gathering{mid: (w*2 + 1) * len(b.at) / (2 * n), half: min(int(reachMM/b.step), (len(b.at)-1)/2), crowd: crowd}
			k := kinds
			if w == n {
				g, k = ring, kindsAll
			}
			out[w] = pair{
				cloth:  learn(t.gather(b, g, -s.far, -s.near), k),
				ground: learn(t.gather(b, g, s.near, s.far), k),
			}
			if s.deep > s.far {
				out[w].shade(append(learn(t.gather(b, g, -s.deep, -s.far), k), everywhere...))
			}
		}
	})
	return out
}

// shade gives the ground back what the contour took for cloth because it is
// dark: kinds that are the ground with less light and are not met deeper in the
// cloth, here or elsewhere: a stripe may run along the edge.
func (p *pair) shade(deep model) {
	if len(deep) == 0 {
		return
	}
	var cloth, shadows model
	for _, c := range p.cloth {
		if c.shadowOf(p.ground) && !c.oneOf(deep) {
			shadows = append(shadows, c)
		} else {
			cloth = append(cloth, c)
		}
	}
	if len(cloth) > 0 {
		p.cloth, p.ground = cloth, append(p.ground, shadows...)
	}
}

// gathering says which colours to learn from: those of profiles within half of
// mid, thinned to a crowd.
type gathering struct{ mid, half, crowd int }

// gather returns the opponent colours at offsets lo to hi that the contour
// counts as cloth (offsets below 0) or as ground, apart from printed ink.
func (t *tracer) gather(b *band, g gathering, lo, hi float64) []colour {
	n, m := len(b.at), len(b.offsets)
	k0, k1 := m, 0
	for k, d := range b.offsets {
		if d >= lo && d <= hi {
			k0, k1 = min(k0, k), max(k1, k+1)
		}
	}
	if k0 >= k1 {
		return nil
	}
	cards := t.cards.near(b.at[g.mid], float64(g.half)*b.step+math.Max(-lo, hi))
	total := (2*g.half + 1) * (k1 - k0)
	stride := max(1, total/g.crowd)
	out := make([]colour, 0, total/stride+1)
	for j := 0; j < total; j += stride {
		i, k := ((g.mid-g.half+j/(k1-k0))%n+n)%n, k0+j%(k1-k0)
		p := b.offset(i, b.offsets[k])
		if b.seen[i*m+k] && t.cells.cloth(p) == (lo < 0) && !cards.covers(p) {
			out = append(out, opponent(b.px[i*m+k]))
		}
	}
	return out
}

// ratios returns for offsets k0 to k1 of every profile the log likelihood ratio
// of cloth against ground, within limitNats; 0 where nothing is known.
func (t *tracer) ratios(b *band, models []pair, k0, k1 int) []float32 {
	n, m, w := len(b.at), len(b.offsets), k1-k0
	out := make([]float32, n*w)
	all := &models[len(models)-1]
	parallel(n, func(from, to int) {
		for i := from; i < to; i++ {
			mo := &models[i*(len(models)-1)/n]
			if len(mo.cloth) == 0 || len(mo.ground) == 0 {
				continue
			}
			cards := t.cards.near(b.at[i], b.offsets[m-1])
			for k := range w {
				j := i*m + k0 + k
				if !b.seen[j] {
					continue
				}
				c := opponent(b.px[j])
				v := max(mo.cloth.log(c), all.cloth.log(c)-elsewhere) - max(mo.ground.log(c), all.ground.log(c)-elsewhere)
				v = min(max(v, -limitNats), limitNats)
				if len(cards) > 0 && cards.covers(b.offset(i, b.offsets[k0+k])) {
					v *= onInk
				}
				out[i*w+k] = v
			}
		}
	})
	return out
}

// splits turns ratios into the cost of an edge at each offset: all that lies on
// the cloth's side of it should look like cloth, all beyond it like ground.
func splits(ratio []float32, w int) []float32 {
	out := make([]float32, len(ratio))
	for i := 0; i < len(ratio); i += w {
		row, cost := ratio[i:i+w], out[i:i+w]
		var total, before float32
		for _, v := range row {
			total += v
		}
		for k, v := range row {
			cost[k] = total - 2*before - v
			before += v
		}
		low := cost[argmin(cost)]
		for k := range cost {
			cost[k] -= low
		}
	}
	return out
}
