package outline

// pair is the two models of a window.
type pair struct{ cloth, ground model }

// How far the models of one window reach, and how many kinds of colour each
// knows; those of the whole ring stand in, at a price, for colours that a window
// has not seen. Tuned on rendered photos of plain, striped, checked and dotted
// cloth on wood, stone, tiles and carpet.
const (
	windowMM  = 12.0 // from one window to the next
	reachMM   = 18.0 // to either side
	crowd     = 320  // colours a window's model is learnt from, at most
	kinds     = 4
	crowdAll  = 2000
	kindsAll  = 8
	elsewhere = 2.0 // nats: price of a colour that only other windows show
	onInk     = 0.2 // weight of what is seen on the print of a card
)

// learnAlong learns the models of every window along the band from offsets near
// to far, and those of the whole ring, which come last. The contour tells cloth
// from ground, so that profiles that reach through a narrow piece into what lies
// behind it are cut there.
func (t *tracer) learnAlong(b *band, near, far float64) []pair {
	total := b.step * float64(len(b.at))
	n := max(1, int(total/windowMM))
	out := make([]pair, n+1)
	parallel(n+1, func(from, to int) {
		for w := from; w < to; w++ {
			g := gathering{mid: (w*2 + 1) * len(b.at) / (2 * n), half: min(int(reachMM/b.step), (len(b.at)-1)/2), crowd: crowd}
			k := kinds
			if w == n {
				g, k = gathering{mid: 0, half: (len(b.at) - 1) / 2, crowd: crowdAll}, kindsAll
			}
			g.lo, g.hi, g.cloth = -far, -near, true
			out[w].cloth = learn(t.gather(b, g), k)
			g.lo, g.hi, g.cloth = near, far, false
			out[w].ground = learn(t.gather(b, g), k)
		}
	})
	return out
}

// gathering says which colours to learn from: those of profiles within half of
// mid at offsets lo to hi that the contour counts as cloth, or as ground.
type gathering struct {
	mid, half int
	lo, hi    float64
	cloth     bool
	crowd     int
}

// gather returns opponent colours, thinned to a crowd.
func (t *tracer) gather(b *band, g gathering) []colour {
	n, m := len(b.at), len(b.offsets)
	k0, k1 := m, 0
	for k, d := range b.offsets {
		if d >= g.lo && d <= g.hi {
			k0, k1 = min(k0, k), max(k1, k+1)
		}
	}
	if k0 >= k1 {
		return nil
	}
	total := (2*g.half + 1) * (k1 - k0)
	stride := max(1, total/g.crowd)
	out := make([]colour, 0, total/stride+1)
	for j := 0; j < total; j += stride {
		i, k := ((g.mid-g.half+j/(k1-k0))%n+n)%n, k0+j%(k1-k0)
		p := b.offset(i, b.offsets[k])
		if b.seen[i*m+k] && t.cells.cloth(p) == g.cloth && !t.cards.covers(p) {
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
