package segment

import (
	"math"
	"slices"

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
	first, last := rows(mask, width)
	first, last = max(0, first-1), min(height, last+1) // what lies beyond counts as empty
	part := mask[first*width : last*width]
	core := grow(shrink(part, width, last-first, r), width, last-first, r+1)
	for i := range part {
		part[i] = part[i] && core[i]
	}
}

// rows returns the rows that hold set pixels, from (included) to (excluded); both
// are 0 when none does.
func rows(mask []bool, width int) (from, to int) {
	a := slices.Index(mask, true)
	if a < 0 {
		return 0, 0
	}
	b := len(mask) - 1
	for !mask[b] {
		b--
	}
	return a / width, b/width + 1
}

// grow returns the pixels within r rows and columns of a set one. It takes as long
// for a large r as for a small one.
func grow(mask []bool, width, height, r int) []bool {
	wide, out := make([]bool, len(mask)), make([]bool, len(mask))
	for y := range height {
		line, to := mask[y*width:(y+1)*width], wide[y*width:(y+1)*width]
		since := r // pixels since the last set one
		for x, m := range line {
			since = step(m, since)
			to[x] = since <= r
		}
		since = r
		for x := width - 1; x >= 0; x-- {
			since = step(line[x], since)
			to[x] = to[x] || since <= r
		}
	}
	since := make([]int, width)
	sweep := func(y int) {
		line, to := wide[y*width:(y+1)*width], out[y*width:(y+1)*width]
		for x, m := range line {
			since[x] = step(m, since[x])
			to[x] = to[x] || since[x] <= r
		}
	}
	restart := func() {
		for x := range since {
			since[x] = r
		}
	}
	restart()
	for y := range height {
		sweep(y)
	}
	restart()
	for y := height - 1; y >= 0; y-- {
		sweep(y)
	}
	return out
}

// step counts on from the last set pixel.
func step(set bool, since int) int {
	if set {
		return 0
	}
	return since + 1
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

// label returns the connected parts (by edges, not corners) of the pixels that
// have the given value.
func label(width, height int, mask []bool, value bool) (parts [][]int32) {
	done := make([]bool, len(mask))
	for i, m := range mask {
		done[i] = m != value
	}
	list := make([]int32, 0, len(mask))
	add := func(ok bool, i int) {
		if ok && !done[i] {
			done[i] = true
			list = append(list, int32(i))
		}
	}
	for start := range done {
		if done[start] {
			continue
		}
		first := len(list)
		add(true, start)
		for k := first; k < len(list); k++ {
			i := int(list[k])
			x := i % width
			add(x > 0, i-1)
			add(x+1 < width, i+1)
			add(i >= width, i-width)
			add(i+width < len(mask), i+width)
		}
		parts = append(parts, list[first:len(list):len(list)])
	}
	return parts
}

// closeHoles fills openings that are pinholes or do not look like surface (a
// trim, a print), unless a stroke says otherwise.
func (r *refiner) closeHoles() {
	for _, list := range label(r.pl.Width, r.pl.Height, r.mask, false) {
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
