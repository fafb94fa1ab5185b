package pipeline

import (
	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision/segment"
)

// Stretches of doubt closer than joinMM become one; those shorter than leastMM
// are too short to matter to somebody with scissors.
const (
	joinMM  = 10.0
	leastMM = 6.0
)

const whyWeak = "cloth and surface look much alike here"

// unsure returns the stretches of a ring where its samples are weak.
func unsure(r ring) []geometry.Stretch {
	out := []geometry.Stretch{}
	for _, run := range weakRuns(r.samples) {
		n := len(r.samples)
		first, last := r.samples[run.from%n].At, r.samples[(run.to-1)%n].At
		why := r.why(r.samples[(run.from+run.to)/2%n].At)
		if why == "" {
			why = whyWeak
		}
		out = append(out, geometry.Stretch{From: first, To: last, Why: why})
	}
	return out
}

// span is a run of samples from (included) to (excluded); to may pass the end of
// the ring.
type span struct{ from, to int }

// weakRuns finds runs of weak samples along the closed ring, joined over short
// gaps.
func weakRuns(samples []fit.Sample) []span {
	n := len(samples)
	start := firstSound(samples)
	if start < 0 {
		return []span{{0, n}}
	}
	var runs []span
	for i := start; i < start+n; i++ {
		if !samples[i%n].Weak {
			continue
		}
		if k := len(runs) - 1; k >= 0 && along(samples, runs[k].to-1, i) <= joinMM {
			runs[k].to = i + 1
			continue
		}
		runs = append(runs, span{i, i + 1})
	}
	kept := runs[:0]
	for _, r := range runs {
		if along(samples, r.from, r.to-1) >= leastMM {
			kept = append(kept, r)
		}
	}
	return kept
}

// firstSound returns the first sound sample after a long sound stretch, or any
// sound one, so that no run is cut in two at the seam of the ring; -1 when all
// are weak.
func firstSound(samples []fit.Sample) int {
	n, best, bestRun, run := len(samples), -1, 0, 0
	for i := range 2 * n {
		if samples[i%n].Weak {
			run = 0
			continue
		}
		if run++; run > bestRun {
			best, bestRun = i%n, run
		}
		if run >= n {
			break
		}
	}
	return best
}

// along returns the length in mm of the ring from sample i to sample j.
func along(samples []fit.Sample, i, j int) float64 {
	var l float64
	for n := len(samples); i < j; i++ {
		l += samples[i%n].At.Dist(samples[(i+1)%n].At)
	}
	return l
}

// reasonNear returns a look-up of the reason that the coarse contour gave at its
// point nearest to the one asked for.
func reasonNear(c segment.Contour) func(geometry.Point) string {
	return func(p geometry.Point) string {
		best, why := 25.0, ""
		for i, q := range c.Points {
			if d := q.Dist(p); i < len(c.Why) && c.Why[i] != "" && d < best {
				best, why = d, c.Why[i]
			}
		}
		return why
	}
}
