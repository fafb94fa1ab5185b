package outline

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision/card"
)

// lens is how the photo draws a sharp edge: the blur's standard deviation in
// pixels, and the power to which coded values are to be raised for the blur to be
// a plain average of them (1 coded values, about 2.2 light).
type lens struct {
	blurPx, power float64
}

// What is assumed where no card shows it: an unsharpened photo of a phone. The
// power lies half way, as phones blur light and then sharpen and scale what is
// coded.
var usualLens = lens{blurPx: 0.8, power: 1.6}

// powers are the ways of coding that are told apart.
var powers = [...]float64{1, 1.3, 1.6, 1.9, 2.2, 2.5}

// Of all borders of tags as many as mostSides are read, and at least leastSides
// must be seen before they are believed.
const leastSides, mostSides = 3, 12

// measureLens reads the blur off the borders of the cards' tags: black beside
// white, 40 mm long, straight. Averaged along a border that is not in line with
// the pixels the profile is far finer than a pixel (the slanted edge of ISO 12233),
// and its two ends are equally round only in the values that were blurred.
func (t *tracer) measureLens() (lens, bool) {
	var blurs, ways []float64
	n := 4 * len(t.cards)
	for k := 0; k < n && len(blurs) < mostSides; k++ {
		// Once round all cards, each by another side, then round again.
		i := k % len(t.cards)
		if !t.cards[i].used {
			continue
		}
		if l, ok := t.border(t.cards[i], (i+k/len(t.cards))%4); ok {
			blurs, ways = append(blurs, l.blurPx), append(ways, l.power)
		}
	}
	if len(blurs) < leastSides {
		return usualLens, false
	}
	return lens{median(blurs), mean(ways)}, true
}

// border measures one border of a tag, 0 right, 1 top, 2 left, 3 bottom, in two
// parts: over a longer one the lens may bend it.
func (t *tracer) border(c placed, side int) (lens, bool) {
	const half = 17.0
	turn := geometry.Rigid{Turn: math.Atan2(c.sin, c.cos) + float64(side)*math.Pi/2, Move: c.centre}
	var l lens
	for _, from := range [2]float64{-half, 0} {
		y, x, px := t.spreadOut(turn, from, from+half)
		part, ok := fitBorder(y, x, px)
		if !ok {
			return lens{}, false
		}
		l.blurPx += part.blurPx / 2
		l.power += part.power / 2
	}
	return l, true
}

// binPx is the width, in pixels, of the bins into which pixels are gathered by
// their distance from a border.
const binPx = 0.25

// spreadOut returns the mean green values of the pixels beside a tag's border,
// from y = lo to hi mm along it, by their distances x from where it should lie, in
// mm, and the size of a pixel. Pixels are taken as they are: what is read between
// them is more blurred.
func (t *tracer) spreadOut(turn geometry.Rigid, lo, hi float64) (values, x []float64, px float64) {
	const edge = card.TagMM / 2
	a, ok1 := t.view.ToImage(turn.Apply(geometry.Point{X: edge, Y: lo}))
	b, ok2 := t.view.ToImage(turn.Apply(geometry.Point{X: edge, Y: hi}))
	e, ok3 := t.view.ToImage(turn.Apply(geometry.Point{X: edge + 1, Y: (lo + hi) / 2}))
	dx, dy := e.X-(a.X+b.X)/2, e.Y-(a.Y+b.Y)/2
	px = 1 / math.Hypot(dx, dy)
	if !ok1 || !ok2 || !ok3 || !(px < 1.2) {
		return nil, nil, px
	}
	reach := math.Min(4.5, math.Max(1.2, 8*px)) // the next modules begin at 5 mm
	n := int(2*reach/(binPx*px)) + 1
	sum, far, count := make([]float64, n), make([]float64, n), make([]float64, n)
	for y := lo; y < hi; y += px {
		p, ok := t.view.ToImage(turn.Apply(geometry.Point{X: edge, Y: y}))
		for d := -reach; ok && d <= reach; d += px / 2 {
			u, v := math.Round(p.X+dx*d), math.Round(p.Y+dy*d)
			at := ((u-p.X)*dx + (v-p.Y)*dy) * px * px
			k := int((at + reach) / (binPx * px))
			if u < 0 || v < 0 || u >= float64(t.photo.Width) || v >= float64(t.photo.Height) || k < 0 || k >= n || at < -reach {
				continue
			}
			sum[k] += float64(t.photo.BGR[3*(int(v)*t.photo.Width+int(u))+1])
			far[k] += at
			count[k]++
		}
	}
	for k := range sum {
		if count[k] > 0 {
			values = append(values, sum[k]/count[k])
			x = append(x, far[k]/count[k])
		}
	}
	return values, x, px
}

// fitBorder fits a blurred step, black to white, whose values were blurred as
// powers of the coded ones.
func fitBorder(y, x []float64, px float64) (lens, bool) {
	m := len(y)
	end := m / 8
	if end < 2 {
		return lens{}, false
	}
	lo, hi := mean(y[:end]), mean(y[m-end:])
	if !(hi > 2*lo) {
		return lens{}, false
	}
	best, out := math.Inf(1), lens{}
	v := make([]float64, m)
	for _, p := range powers {
		a := math.Pow(lo/hi, p)
		area := 0.0
		for k := range v {
			v[k] = (math.Pow(math.Max(y[k], 0)/hi, p) - a) / (1 - a)
			if k > 0 {
				area += (v[k-1] + v[k]) / 2 * (x[k] - x[k-1])
			}
		}
		at := x[m-1] - area
		if math.Abs(at) > 3*px {
			continue
		}
		s := stepWidth(v, x, at, px)
		e := 0.0
		for k := range v {
			u := unitStep.at((at - x[k]) / (s * px))
			r := math.Pow(a+(1-a)*u, 1/p) - y[k]/hi
			e += r * r
		}
		if e < best {
			best, out = e, lens{s, p}
		}
	}
	return out, math.Sqrt(best/float64(m)) < 0.05
}

// stepWidth returns the blur, in pixels, of the step from 0 to 1 about at that v
// shows best: the best of a row, and between its neighbours by a parabola.
func stepWidth(v, x []float64, at, px float64) float64 {
	const first, ratio, n = 0.4, 1.15, 20
	var e [n]float64
	best := 0
	for i, s := 0, first; i < n; i, s = i+1, s*ratio {
		for k := range v {
			u := unitStep.at((at - x[k]) / (s * px))
			e[i] += (u - v[k]) * (u - v[k])
		}
		if e[i] < e[best] {
			best = i
		}
	}
	f := float64(best)
	if best > 0 && best < n-1 {
		f += 0.5 * (e[best-1] - e[best+1]) / (e[best-1] - 2*e[best] + e[best+1])
	}
	return first * math.Pow(ratio, f)
}

func mean(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

// median returns the middle of the values; it sorts them.
func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}
