package segment

import (
	"math"

	"secondcut/vision/calib"
)

const (
	threadMM   = 3.0 // thinner than this is a thread, not cloth
	pinholeMM2 = 150 // smaller openings are closed
	clearOdds  = 1.0 // an opening must look like surface by this much
)

// open removes what is thinner than threadMM and leaves corners sharp: the core
// that survives thinning grows back inside the old mask, a little further than
// it shrank.
func open(mask []bool, width, height int, pxPerMM float64) {
	r := max(1, int(math.Round(threadMM*pxPerMM/2)))
	core := grow(shrink(mask, width, height, r), width, height, r+1)
	for i := range mask {
		mask[i] = mask[i] && core[i]
	}
}

// grow returns the pixels within r rows and columns of a set one.
func grow(mask []bool, width, height, r int) []bool {
	return spreadRuns(spreadRuns(mask, width, height, 1, width, r), height, width, width, 1, r)
}

// shrink returns the pixels all of whose neighbours within r are set; beyond the
// image's rim counts as set.
func shrink(mask []bool, width, height, r int) []bool {
	not := make([]bool, len(mask))
	for i, m := range mask {
		not[i] = !m
	}
	not = grow(not, width, height, r)
	for i, m := range not {
		not[i] = !m
	}
	return not
}

// spreadRuns widens the set runs of each of the lines by r at both ends. A line
// has length pixels that lie step apart; lines lie stride apart.
func spreadRuns(mask []bool, length, lines, step, stride, r int) []bool {
	out := make([]bool, len(mask))
	for l := range lines {
		there, back := r+1, r+1 // distance from the last set pixel, either way
		for k := range length {
			i, j := l*stride+k*step, l*stride+(length-1-k)*step
			there, back = there+1, back+1
			if mask[i] {
				there = 0
			}
			if mask[j] {
				back = 0
			}
			out[i] = out[i] || there <= r
			out[j] = out[j] || back <= r
		}
	}
	return out
}

// label numbers the connected parts (by edges, not corners) of the pixels for
// which of is true, from 1 on, and returns the pixels of each.
func label(width, height int, of func(i int) bool) (labels []int32, parts [][]int32) {
	labels = make([]int32, width*height)
	for start := range labels {
		if labels[start] != 0 || !of(start) {
			continue
		}
		id := int32(len(parts) + 1)
		labels[start] = id
		list := []int32{int32(start)}
		for k := 0; k < len(list); k++ {
			i := int(list[k])
			x, y := i%width, i/width
			for _, n := range [4]struct {
				ok bool
				j  int
			}{{x > 0, i - 1}, {x+1 < width, i + 1}, {y > 0, i - width}, {y+1 < height, i + width}} {
				if n.ok && labels[n.j] == 0 && of(n.j) {
					labels[n.j] = id
					list = append(list, int32(n.j))
				}
			}
		}
		parts = append(parts, list)
	}
	return labels, parts
}

// closeHoles fills openings that are pinholes or do not look like surface (a
// trim, a print), unless a stroke says otherwise.
func (r *refiner) closeHoles() {
	_, parts := label(r.pl.Width, r.pl.Height, func(i int) bool { return !r.mask[i] })
	for _, list := range parts {
		if r.atRim(list) {
			continue
		}
		clear := r.areaMM2(list) >= pinholeMM2 && r.mean(list, r.odds.colour) < -clearOdds
		if said := r.said(list); said < 0 || said == 0 && clear {
			continue
		}
		for _, i := range list {
			r.mask[i] = true
		}
	}
}

func (r *refiner) areaMM2(list []int32) float64 {
	return float64(len(list)) / (r.pl.PxPerMM * r.pl.PxPerMM)
}

// said returns the sum of the strokes' values over pixels.
func (r *refiner) said(list []int32) (sum int) {
	if r.hard != nil {
		for _, i := range list {
			sum += int(r.hard[i])
		}
	}
	return sum
}

// mean returns the mean over pixels of a value that their cells have.
func (r *refiner) mean(list []int32, of []float32) float64 {
	var sum float64
	for _, i := range list {
		sum += float64(of[r.cellOf(int(i))])
	}
	return sum / float64(len(list))
}

func (r *refiner) cellOf(i int) int {
	return i/r.pl.Width/r.scene.side*r.scene.width + i%r.pl.Width/r.scene.side
}

// atRim reports whether any of the pixels borders on what is not seen.
func (r *refiner) atRim(list []int32) bool {
	for _, i := range list {
		if r.pl.Known[i] == calib.KnownNot || r.rim(int(i)) {
			return true
		}
	}
	return false
}

// rim reports whether pixel i borders on the image's rim or on a pixel that is
// not seen.
func (r *refiner) rim(i int) bool {
	w, h := r.pl.Width, r.pl.Height
	x, y := i%w, i/w
	if x == 0 || y == 0 || x == w-1 || y == h-1 {
		return true
	}
	k := r.pl.Known
	return k[i-1] == calib.KnownNot || k[i+1] == calib.KnownNot || k[i-w] == calib.KnownNot || k[i+w] == calib.KnownNot
}
