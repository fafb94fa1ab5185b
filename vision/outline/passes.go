package outline

import (
	"context"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/fit"
)

// The passes: spacing along the edge, half width of the band that is searched,
// how far from it colours are learnt, and the price of bending. A bend of
// slope q (offset per length) costs stiffness * min(q*q, q-1/4) for every mm.
// Tuned on rendered photos so that threads are crossed and corners kept.
const (
	coarseStepMM    = 1.0
	coarseBandMM    = 4.5
	coarseStiffness = 12.0
	fineBandMM      = 2.0
	fineStiffness   = 3.0
	limitNats       = 2.0 // the most that one pixel may say for or against
	creeps          = 2   // times the coarse pass may start again from its result
)

// coarse finds the path in a wide band. Where it runs along the band's border,
// the contour was further off than that: the pass is repeated about the path.
func (t *tracer) coarse(ctx context.Context, ring geometry.Polyline) (found, error) {
	for round := 0; ; round++ {
		if err := ctx.Err(); err != nil {
			return found{}, err
		}
		b := newBase(ring, coarseStepMM, 2.5, 2.5)
		step := math.Max(0.3, t.mmPerPx)
		half := math.Max(coarseBandMM, 8*step)
		s := search{
			half: half, step: step, stiffness: coarseStiffness,
			near: 3, far: half + 7.5, deep: half + 17.5, tail: math.Max(1, step), rivals: true,
		}
		path := t.locate(b, s)
		if stuck(path.offset, s.half-step) < 0.01*float64(len(path.offset)) || round == creeps {
			return path, nil
		}
		ring = b.moved(path.offset)
	}
}

// stuck counts the offsets that lie at the band's border.
func stuck(offset []float64, border float64) float64 {
	n := 0.0
	for _, d := range offset {
		if math.Abs(d) >= border {
			n++
		}
	}
	return n
}

// search says how one pass looks for its path: within half mm of the base at
// steps of step, with colours learnt from near to far mm, read at steps of tail.
// Where deep is set, what looks like shadow on the ground must be met between far
// and deep mm inside the contour to count as cloth.
type search struct {
	half, step, stiffness float64
	near, far, deep, tail float64
	rivals                bool // whether to look for the next best path
}

// locate finds the cheapest closed path about a base.
func (t *tracer) locate(b base, s search) found {
	core := span(-s.half, s.half, s.step)
	offsets := append(span(-math.Max(s.far, s.deep), -s.half-s.tail, s.tail), core...)
	k0 := len(offsets) - len(core)
	offsets = append(offsets, span(s.half+s.tail, s.far, s.tail)...)
	bd := sample(t.photo, t.view, b, offsets, &coded)
	models := t.learnAlong(bd, s)
	ratio := t.ratios(bd, models, k0, k0+len(core))
	c := chain{n: len(b.at), m: len(core), cost: splits(ratio, len(core)), bend: bends(s.step, b.step, s.stiffness)}
	for i := range c.cost {
		c.cost[i] *= float32(s.step * b.step)
	}
	states := c.path()
	out := found{base: b, offset: make([]float64, len(states))}
	if s.rivals {
		out.rival = c.rival(states, int(rivalApartMM/s.step))
	}
	for i, k := range states {
		out.offset[i] = core[k]
	}
	return out
}

// bends returns the price of moving by 0, 1, 2... states from one column to the
// next, up to a slope of about 2.
func bends(step, along, stiffness float64) []float32 {
	out := make([]float32, max(2, int(2*along/step)+2))
	for d := range out {
		q := float64(d) * step / along
		price := q * q
		if q > 0.5 {
			price = q - 0.25
		}
		out[d] = float32(stiffness * along * price)
	}
	return out
}

// fine finds the path again about the first one, finely, and places each sample
// on the edge within its profile.
func (t *tracer) fine(ctx context.Context, first found, doubt []bool, spacing float64) ([]fit.Sample, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	ring := first.moved(first.offset)
	b := newBase(ring, spacing, 0.8, 1.2)
	step := math.Min(math.Max(0.8*t.mmPerPx, 0.1), 0.6)
	half := math.Max(fineBandMM, 6*step)
	path := t.locate(b, search{half: half, step: step, stiffness: fineStiffness, near: 1, far: half + 4, tail: math.Max(0.5, step)})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	places := t.place(path)
	from := sources(ring, len(b.at))
	out := make([]fit.Sample, len(places))
	for i, p := range places {
		j := from[i]
		out[i] = fit.Sample{
			At: b.offset(i, p.offset), SigmaMM: p.sigma, BiasMM: p.bias,
			Weak: p.weak || p.sigma > mostSigmaMM || doubt[j] || first.rival[j] < leastRival,
		}
	}
	return out, nil
}
