package stitches

import (
	"math"
	"slices"
)

// Limits for a row, set on generated photos and drawn cloths with and without
// holes: without, no edge came to a z of 8; with, all but one of thirty passed.
const (
	leastContrast = 0.19
	leastZ        = 9.5
	// certainZ is the z from which a row is certain.
	certainZ = 2 * leastZ
	// mostStep is the change of tone across a row, in grey levels, up to which it
	// is believed.
	mostStep = 5.0
	// spread is the least spread of the lines that is believed.
	spread = 0.02
)

// best returns the line and lag that stand out most from the other lines, over
// all windows together.
func best(windows []window) (top candidate) {
	for lag := shortestMM / alongMM; lag <= longestMM/alongMM; lag += 0.25 {
		var level [lines]float64
		for i := range windows {
			for j := range level {
				level[j] += windows[i].like[j].comb(lag) / float64(len(windows))
			}
		}
		if c := standOut(level); c.contrast*c.z > top.contrast*top.z {
			c.lag = lag
			top = c
		}
	}
	return top
}

// standOut returns the line that rises most above the median of all. It has no
// contrast when it is the first or last, so that its far side is not known, or
// when more than two rows rise like it: printed pin dots, not seams.
func standOut(level [lines]float64) (c candidate) {
	middle, scale := centre(level[:])
	top := 0
	for j, v := range level {
		if v > level[top] {
			top = j
		}
	}
	if top == 0 || top == lines-1 || rows(level, (level[top]+middle)/2) > 2 {
		return candidate{}
	}
	c.contrast = level[top] - middle
	c.z = c.contrast / math.Max(scale, spread)
	// The centre of the lines that share the row.
	var sum, weight float64
	for j := max(0, top-3); j <= min(lines-1, top+3); j++ {
		w := math.Max(0, level[j]-middle-c.contrast/2)
		sum, weight = sum+w*float64(j), weight+w
	}
	c.line = sum / math.Max(weight, 1e-12)
	return c
}

// rows counts the runs of lines above a level.
func rows(level [lines]float64, above float64) (n int) {
	inside := false
	for _, v := range level {
		if v > above && !inside {
			n++
		}
		inside = v > above
	}
	return n
}

// centre returns the median and the spread about it: 1.4826 times the median
// absolute deviation, the standard deviation for normal values (Rousseeuw and
// Croux, Alternatives to the median absolute deviation, 1993).
func centre(v []float64) (middle, scale float64) {
	s := slices.Clone(v)
	slices.Sort(s)
	middle = s[len(s)/2]
	for i := range s {
		s[i] = math.Abs(s[i] - middle)
	}
	slices.Sort(s)
	return middle, 1.4826 * s[len(s)/2]
}

// extent returns the longest run of places whose windows show the row, single
// misses bridged; ok is false when it is too little to be believed.
func extent(windows []window, c candidate) (from, to int, ok bool) {
	first, last, hits, bestHits := -1, -1, 0, 0
	for i := range windows {
		if !windows[i].shows(c) {
			continue
		}
		if last < 0 || i-last > 2 {
			first, hits = i, 0
		}
		last = i
		if hits++; hits > bestHits {
			bestHits, from, to = hits, windows[first].from, windows[last].to
		}
	}
	return from, to, bestHits >= min(3, len(windows))
}

// shows reports whether the window alone has the row.
func (w *window) shows(c candidate) bool {
	var level [lines]float64
	for j := range level {
		level[j] = w.like[j].comb(c.lag)
	}
	middle, _ := centre(level[:])
	j := int(math.Round(c.line))
	top := math.Inf(-1)
	for k := max(0, j-1); k <= min(lines-1, j+1); k++ {
		top = math.Max(top, level[k])
	}
	return top-middle >= c.contrast/2
}
