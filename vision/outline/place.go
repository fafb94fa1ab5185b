package outline

import (
	"math"
	"slices"

	"secondcut/geometry"
)

// place is where a sample lies within its profile.
type place struct {
	offset, sigma, bias float64 // mm
	weak                bool
}

// betweenPx is the blur, in pixels, of what is read between pixels: bilinear
// weights have a variance of f*(1-f), a sixth in the mean.
const betweenPx = 0.41

// straightMM is how far a path is smoothed before profiles are averaged along it,
// mm: threads and single loops of carpet do not shift them against each other.
const straightMM = 1.5

// straightened returns the base that runs along the path, without its waves.
func (f *found) straightened() base {
	n := len(f.at)
	pts := make(geometry.Polyline, n)
	for i, d := range f.offset {
		pts[i].X = d
	}
	pts = smooth(pts, straightMM/f.step)
	out := f.base
	out.at = make(geometry.Polyline, n)
	for i := range out.at {
		out.at[i] = f.base.offset(i, pts[i].X)
	}
	return out
}

// reading is the profiles about a path and what placing needs of them.
type reading struct {
	*band
	mmPerPx       float64
	lens                  // of the photo
	wide          float64 // times that the edge itself is soft
	stretched     []meanProfile
	cloth, ground running
	steady        []bool
}

// place moves every sample of a path to where its profile passes from cloth to
// ground. What shadow and roundness do to the profile is learnt from stretches of
// it, where it does not vary and noise averages out; within that, each sample is
// placed by its own profile. The base of the samples is returned as well.
func (t *tracer) place(path found) (base, []place) {
	l := t.lens
	l.blurPx = math.Hypot(l.blurPx, betweenPx)
	r := t.read(path, l)
	for range 2 {
		if r.wide < softest {
			break
		}
		r = t.read(path, lens{r.wide * r.blurPx, r.power})
	}
	all := r.stretches()
	out := make([]place, len(r.at))
	ax := r.axes(all)
	spread := scatter(r, ax)
	parallel(len(out), func(from, to int) {
		for i := from; i < to; i++ {
			out[i] = r.fitSample(i, &ax[i], spread[i])
		}
	})
	return r.base, out
}

// read samples the profiles about a path, in the values that the photo's blur
// averages.
func (t *tracer) read(path found, l lens) *reading {
	r := &reading{mmPerPx: t.mmPerPx, lens: l}
	blur := l.blurPx * r.mmPerPx
	step := math.Min(math.Max(0.8*r.mmPerPx, 0.1), 2)
	in, out := math.Max(3, 9*blur), math.Max(4, 10*blur)
	values := curve(l.power)
	b := sample(t.photo, t.view, path.straightened(), span(-in, out, step), &values)
	r.band = b
	gap := r.gap()
	r.cloth, r.ground = runningOver(b, -gap-r.deep(), -gap), runningOver(b, gap+gapMM, gap+gapMM+r.deep())
	r.steady = b.steady()
	r.average()
	return r
}

// gap is how far from the edge its levels are read, in mm; deep how wide the
// strips are that they are read from.
func (r *reading) gap() float64  { return math.Max(gapMM, 2.5*r.blurPx*r.mmPerPx) }
func (r *reading) deep() float64 { return math.Max(levelMM, 2*r.gap()) }

// steady tells profiles that the photo shows whole and that do not stand at a
// corner.
func (b *band) steady() []bool {
	n, m := len(b.at), len(b.offsets)
	near := max(1, int(2/b.step))
	out := make([]bool, n)
	for i := range out {
		before, after := b.away[((i-near)%n+n)%n], b.away[(i+near)%n]
		out[i] = before.Dot(after) > turnCosine && !slices.Contains(b.seen[i*m:(i+1)*m], false)
	}
	return out
}

// texture is by how much single samples are less certain than the noise beside
// the edge says: it is not the same right at it. Set on rendered photos.
const texture = 1.25

// fitSample fits the place of the edge to one profile, its shape known
// (Gauss-Newton).
func (r *reading) fitSample(i int, ax *axis, spread float64) place {
	out := place{offset: ax.at, sigma: 2 * mostSigmaMM, bias: ax.bias, weak: true}
	if !ax.ok {
		return out
	}
	m, step := len(r.offsets), r.offsets[1]-r.offsets[0]
	reach := 3*r.mmPerPx + ax.blur
	var gg, rr, n float64
	x := ax.at
	for range 8 {
		var gr float64
		gg, rr, n = 0, 0, 0
		k0, k1 := int((x-2.5*ax.blur-r.offsets[0])/step), int((x+2.5*ax.blur-r.offsets[0])/step)+1
		for k := max(0, k0); k <= min(m-1, k1); k++ {
			if !r.seen[i*m+k] {
				return out
			}
			value, slope, on := ax.expect(r.offsets[k] - x)
			e := ax.share(r.px[i*m+k]) - value
			// The brighter side is the noisier one in light.
			w := 0.5 / (ax.rough*on + (1-ax.rough)*(1-on))
			gr -= w * slope * e
			gg += w * slope * slope
			rr += w * e * e
			n++
		}
		if gg == 0 {
			return out
		}
		move := math.Min(math.Max(gr/gg, -r.mmPerPx), r.mmPerPx)
		x = math.Min(math.Max(x+move, ax.at-reach), ax.at+reach)
		if math.Abs(move) < 0.002*r.mmPerPx {
			break
		}
	}
	out.offset = x
	// What the profile itself misses may be more than its neighbourhood's noise;
	// its neighbouring values share pixels and texture: half of them count.
	out.sigma = texture*math.Sqrt(math.Max(spread, 2*rr/n)/gg) + 0.03*r.mmPerPx
	out.weak = ax.contrast < leastContrast || math.Abs(x-ax.at) >= reach
	return out
}
