package segment

import (
	"slices"

	"secondcut/vision/calib"
)

// When a patch of cloth is surface after all; set on drawn scenes and photographs of
// garments, in which all patches of surface that were taken for cloth had a likeness to
// the surface of 0.3 and less and one to the cloth of 1.2 and more, and no patch of
// cloth had the former below 0.6.
const (
	patchOdds    = 1.5 // less log odds of cloth by which such a patch is lost
	patchMM2     = 150 // smaller ones are left to the finer division
	patchLike    = 0.5 // most unlikeness to the surface nearby
	patchUnlike  = 1.0 // least unlikeness to the cloth nearby
	patchReachMM = 25  // nearby
	patchNoise   = 3.0 // variance of a look that says nothing, Lab units squared
)

// reconsider takes away the patches that count as cloth by a hair and look like the
// surface beside them: floor between two pieces, a tile between the joints about it.
// The shortest edge goes round such a patch, since across it the edge is long, and in
// by many small sums of evidence the patch came to be cloth. The learned guess is
// turned down there. It reports whether it took any.
func (f *find) reconsider() (taken bool) {
	s := f.scene
	o := f.odds
	o.all = slices.Clone(o.all)
	for i := range o.all {
		if f.seeds[i] == 0 {
			o.all[i] -= patchOdds
		}
	}
	lost := s.divide(&o)
	for i, cloth := range lost {
		lost[i] = f.cells[i] && !cloth
	}
	core := grow(shrink(lost, s.width, s.height, 1), s.width, s.height, 1)
	for _, patch := range label(s.width, s.height, core, true) {
		if float64(len(patch))*s.mm*s.mm < patchMM2 || !s.surfaceAfterAll(patch, f.cells, lost) {
			continue
		}
		for _, i := range patch {
			f.cells[i] = false
			f.odds.guess[i] = min(f.odds.guess[i], -guessCap/2)
		}
		taken = true
	}
	return taken
}

// surfaceAfterAll reports whether a patch looks like the surface nearby and unlike the
// cloth nearby, other patches in doubt apart.
func (s *scene) surfaceAfterAll(patch []int32, cloth, lost []bool) bool {
	in := make([]bool, len(cloth))
	for _, i := range patch {
		in[i] = true
	}
	near := grow(in, s.width, s.height, max(2, int(patchReachMM/s.mm)))
	rim := grow(in, s.width, s.height, 1)
	var own, fabric, floor spread
	for i := range near {
		switch {
		case in[i]:
			own.add(&s.feat[i])
		case !near[i] || rim[i] || lost[i] || s.known[i] != calib.KnownScene:
		case cloth[i]:
			fabric.add(&s.feat[i])
		default:
			floor.add(&s.feat[i])
		}
	}
	return fabric.n > 0 && floor.n > 0 && own.unlike(&floor) < patchLike && own.unlike(&fabric) > patchUnlike
}

// spread gathers mean and variance of colours.
type spread struct {
	n           float32
	sum, square lab
}

func (a *spread) add(f *feature) {
	a.n++
	for k := range 3 {
		a.sum[k] += f[k]
		a.square[k] += f[k] * f[k]
	}
}

// unlike returns the squared distance of two mean colours in units of both variances.
func (a *spread) unlike(b *spread) (d float32) {
	for k := range 3 {
		m, n := a.sum[k]/a.n, b.sum[k]/b.n
		v := a.square[k]/a.n - m*m + b.square[k]/b.n - n*n + patchNoise
		d += (m - n) * (m - n) / v
	}
	return d
}
