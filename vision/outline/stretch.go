package outline

import "math"

// Stretches of the edge over which shadow and blur are taken to be alike.
const (
	stretchMM  = 4.0  // from one stretch to the next
	halfMM     = 8.0  // either side of its middle that it is learnt from
	alikeMM    = 1.5  // along the edge: texture within is no independent witness
	misfit     = 0.02 // of contrast: what no sum of shapes says
	turnCosine = 0.9  // profiles whose neighbours turn by more stand at a corner
)

// stretch is what the mean profile of a stretch says: where its edge lies beyond
// the base, how doubtful that is (standard deviation, mm), and the weights of the
// shapes.
type stretch struct {
	at, doubt float64
	weights   weights
	cost      float64 // of the best fit, half a chi-square
	blur      float64 // mm
	table     *shapeTable
	// The shares of both colours about the edge, at the table's steps.
	cloth, open []float64
	ok          bool
}

// dim is how much of its light the ground has next to the cloth.
func (s *stretch) dim() float64 {
	w := s.weights
	return math.Max(w[groundFlat]-w[groundNear]-w[groundMid]-w[groundEven]-w[groundWide], 0.3)
}

// widths are how much wider than the photo's own blur an edge of cloth may be, as
// its thickness and its fibres have it.
var widths = [...]float64{1, 1.15, 1.35, 1.6, 2, 2.6, 3.4}

// softest is the width from which an edge is read anew, over a longer way.
const softest = 2.0

// average reads all stretches of the edge, and how soft it is.
func (r *reading) average() {
	n := len(r.at)
	r.stretched = make([]meanProfile, max(1, int(float64(n)*r.step/stretchMM)))
	m := len(r.stretched)
	parallel(m, func(from, to int) {
		for k := from; k < to; k++ {
			r.stretched[k] = r.profile((2*k + 1) * n / (2 * m))
		}
	})
	r.wide = r.width()
}

// stretches fits all stretches.
func (r *reading) stretches() []stretch {
	out := make([]stretch, len(r.stretched))
	parallel(len(out), func(from, to int) {
		sets := map[int]*set{}
		for k := from; k < to; k++ {
			out[k] = r.stretch(&r.stretched[k], r.wide, sets)
		}
	})
	return out
}

// width returns how many times the photo's blur the edge is wide: the best over
// some stretches together.
func (r *reading) width() float64 {
	read := r.stretched
	best, out := math.Inf(1), 1.0
	for _, f := range widths {
		sets := map[int]*set{}
		total := 0.0
		for k := 0; k < len(read); k += max(1, len(read)/24) {
			total += r.stretch(&read[k], f, sets).cost
		}
		if total < best {
			best, out = total, f
		}
	}
	return out
}

// set is what is prepared for edges of one blur.
type set struct {
	blur   float64
	table  *shapeTable
	trials []trial
	k0, k1 int
}

// blurSteps are the steps of the logarithm of blur that sets are made for.
const blurSteps = 0.05

// stretch fits one stretch of which the edge is wide times as soft as the photo.
func (r *reading) stretch(p *meanProfile, wide float64, sets map[int]*set) stretch {
	if !p.ok {
		return stretch{}
	}
	key := int(math.Round(math.Log(wide*r.blurPx/float64(r.pxPerMM[p.mid])) / blurSteps))
	s := sets[key]
	if s == nil {
		s = r.newSet(math.Exp(float64(key) * blurSteps))
		sets[key] = s
	}
	out := p.fit(s, math.Max(2, r.blurPx*r.mmPerPx/r.offsetStep()))
	out.blur, out.table = s.blur, s.table
	out.cloth, out.open = s.table.curves(&out.weights)
	return out
}

func (r *reading) offsetStep() float64 { return r.offsets[1] - r.offsets[0] }

// newSet prepares for edges of the given blur: they are looked for within half a
// millimetre and a pixel, and read from where cloth is plain to where most of the
// shadow has faded.
func (r *reading) newSet(blur float64) *set {
	reach := math.Max(1.2, 2.5*r.mmPerPx)
	own := r.blurPx * r.mmPerPx
	in, out := math.Max(1.2, 4*own)+reach/2, math.Max(2.5, 6*own)
	s := &set{blur: blur, table: newShapeTable(blur, reach+out+1)}
	s.k0, s.k1 = len(r.offsets), 0
	for k, d := range r.offsets {
		if d >= -in && d <= out {
			s.k0, s.k1 = min(s.k0, k), k+1
		}
	}
	s.trials = trials(s.table, r.offsets[s.k0:s.k1], reach, math.Min(0.25*r.mmPerPx, 0.2*blur))
	return s
}

// meanProfile is a stretch as it was read, each colour as its products with the
// cloth's colour and with the ground's, measured by the noise about them.
type meanProfile struct {
	mid           int // profile in its middle
	cloth, ground []float64
	cc, cg, gg    float64 // products of the two colours
	n             float64 // independent profiles
	ok            bool
}

// profile reads the stretch about profile mid.
func (r *reading) profile(mid int) meanProfile {
	n, m := len(r.at), len(r.offsets)
	half := min(int(halfMM/r.step), (n-1)/2)
	c, g := r.cloth.round(mid, half), r.ground.round(mid, half)
	out := meanProfile{mid: mid}
	if c.n < 8 || g.n < 8 || r.pxPerMM[mid] == 0 {
		return out
	}
	sum := make([]colour, m)
	count := 0.0
	for d := -half; d <= half; d++ {
		i := ((mid+d)%n + n) % n
		if !r.steady[i] {
			continue
		}
		for k, v := range r.px[i*m : (i+1)*m] {
			sum[k][0] += v[0]
			sum[k][1] += v[1]
			sum[k][2] += v[2]
		}
		count++
	}
	if count < float64(half)/2 {
		return out
	}
	cloth, ground := c.mean(), g.mean()
	q := precision(cloth, ground, r.noisy(c), r.noisy(g))
	qc, qg := times(q, cloth), times(q, ground)
	out.cc, out.cg, out.gg = dot(qc, cloth), dot(qc, ground), dot(qg, ground)
	out.cloth, out.ground = make([]float64, m), make([]float64, m)
	for k := range sum {
		v := [3]float64{float64(sum[k][0]) / count, float64(sum[k][1]) / count, float64(sum[k][2]) / count}
		out.cloth[k], out.ground[k] = dot(qc, v), dot(qg, v)
	}
	out.n = math.Max(1, count*r.step/alikeMM)
	out.ok = out.step() > 0.05
	return out
}

// step returns the squared distance of both colours, in units of the noise.
func (p *meanProfile) step() float64 { return p.cc - 2*p.cg + p.gg }

// precision returns the inverse of the scatter a and b about both colours, with
// what is not noise but never right: hue is stored coarsely, so that an edge in it
// is drawn where its blocks allow.
func precision(cloth, ground [3]float64, a, b [3][3]float64) [3][3]float64 {
	d := hueStep(cloth, ground)
	for i := range 3 {
		for j := range 3 {
			a[i][j] = (a[i][j]+b[i][j])/2 + coarseHue*coarseHue*d[i]*d[j]
		}
	}
	return invert3(a)
}

// coarseHue is the error of a colour difference at an edge, as share of it.
const coarseHue = 0.3

// hueStep returns the difference of two colours without that of lightness.
func hueStep(a, b [3]float64) (d [3]float64) {
	light := 0.0
	for i := range d {
		d[i] = a[i] - b[i]
		light += d[i] * [3]float64{0.11, 0.59, 0.3}[i]
	}
	for i := range d {
		d[i] -= light
	}
	return d
}

// invert3 inverts a symmetric positive definite matrix.
func invert3(a [3][3]float64) (out [3][3]float64) {
	for i := range 3 {
		var e [3]float64
		e[i] = 1
		x := solve3(a, e)
		for j := range 3 {
			out[j][i] = x[j]
		}
	}
	return out
}

// gramTable holds, for every place of the edge that is tried, the shapes at the
// offsets that are read.
type trial struct {
	at     float64
	values []weights
	gram   [shapes][shapes]float64
}

// trials prepares places from -reach to reach about the base for reading the
// offsets k0 to k1.
func trials(table *shapeTable, offsets []float64, reach, step float64) []trial {
	var out []trial
	for at := -reach; at <= reach; at += step {
		t := trial{at: at, values: make([]weights, len(offsets))}
		for k, d := range offsets {
			v := table.at(d - at)
			t.values[k] = v
			for i := range v {
				for j := range i + 1 {
					t.gram[i][j] += v[i] * v[j]
				}
			}
		}
		out = append(out, t)
	}
	return out
}

// fit finds place and weights of the edge that the mean profile shows: for every
// place the most probable weights, then mean and spread of the places by their
// probability.
func (p *meanProfile) fit(s *set, readings float64) stretch {
	// One reading of the mean weighs as much as n profiles and as texture that runs
	// through several readings allow, and no more than the shapes are right.
	all, scale := s.trials, 1/(readings/p.n+misfit*misfit*p.step())
	costs := make([]float64, len(all))
	fits := make([]weights, len(all))
	best := 0
	for i := range all {
		costs[i], fits[i] = all[i].solve(p, s.k0, scale)
		if costs[i] < costs[best] {
			best = i
		}
	}
	var w, m, q float64
	for i := range all {
		e := math.Exp(costs[best] - costs[i])
		w, m, q = w+e, m+e*all[i].at, q+e*all[i].at*all[i].at
	}
	m, q = m/w, q/w
	near := best
	for i := range all {
		if math.Abs(all[i].at-m) < math.Abs(all[near].at-m) {
			near = i
		}
	}
	return stretch{at: m, doubt: math.Sqrt(math.Max(q-m*m, 0)), weights: fits[near], cost: costs[best], ok: true}
}

// solve returns the most probable weights for one place and half their
// chi-square, less what is the same for all places.
func (t *trial) solve(p *meanProfile, k0 int, scale float64) (float64, weights) {
	var a [shapes][shapes]float64
	var r weights
	for k := range t.values {
		v, c, g := &t.values[k], p.cloth[k0+k], p.ground[k0+k]
		r[clothFlat] += c * v[clothFlat]
		r[clothRound] += c * v[clothRound]
		for j := groundFlat; j < shapes; j++ {
			r[j] += g * v[j]
		}
	}
	cost := 0.0
	for i := range shapes {
		for j := range i + 1 {
			f := p.gg
			switch {
			case i < groundFlat:
				f = p.cc
			case j < groundFlat:
				f = p.cg
			}
			a[i][j] = t.gram[i][j] * f * scale
		}
		u := 1 / (unusual[i] * unusual[i])
		a[i][i] += u
		r[i] = r[i]*scale + u*usual[i]
		cost += u * usual[i] * usual[i]
	}
	w := solveWeights(a, r)
	for i := range w {
		cost -= w[i] * r[i]
	}
	return cost / 2, w
}

// solveWeights solves a x = b for a symmetric positive definite a of which the
// lower half is given (Cholesky).
func solveWeights(a [shapes][shapes]float64, b weights) weights {
	for i := range shapes {
		for j := range i + 1 {
			s := a[i][j]
			for k := range j {
				s -= a[i][k] * a[j][k]
			}
			if i == j {
				a[i][i] = math.Sqrt(math.Max(s, 1e-12))
			} else {
				a[i][j] = s / a[j][j]
			}
		}
	}
	for i := range shapes {
		for k := range i {
			b[i] -= a[i][k] * b[k]
		}
		b[i] /= a[i][i]
	}
	for i := shapes - 1; i >= 0; i-- {
		for k := i + 1; k < shapes; k++ {
			b[i] -= a[k][i] * b[k]
		}
		b[i] /= a[i][i]
	}
	return b
}

func times(a [3][3]float64, v [3]float64) [3]float64 {
	return [3]float64{dot(a[0], v), dot(a[1], v), dot(a[2], v)}
}
