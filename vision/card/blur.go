package card

import (
	"math"
	"slices"

	"secondcut/vision"
)

// What counts as an edge when a photo's blur is estimated.
const (
	edgeReach    = 6    // pixels of the reduced copy that an edge may take each way
	edgeContrast = 40.0 // grey levels from one side to the other
	edgeCount    = 150  // in a direction, or nothing is said of it
)

// Blur estimates by how many pixels (the standard deviation of a Gaussian) a
// photo's edges are smeared, in the direction in which they are smeared most: out
// of focus or by motion. It looks at the sharpest tenth of the strong edges of
// each direction, in a copy of about 1000 px, so that less than two pixels of a
// 12 MP photo cannot be told from none. 0 means that there are too few edges to
// say anything.
func Blur(p *vision.Photo) float64 {
	if p.Width <= 0 || p.Height <= 0 || len(p.BGR) != 3*p.Width*p.Height {
		return 0
	}
	shrink := firstShrink(p)
	gray, w, h, err := reducedGray(p, shrink)
	if err != nil {
		return 0
	}
	var widths [4][]float64
	for y := edgeReach + 1; y < h-edgeReach-1; y++ {
		for x := edgeReach + 1; x < w-edgeReach-1; x++ {
			if k, sigma := edgeWidth(gray, w, x, y); sigma > 0 {
				widths[k] = append(widths[k], sigma)
			}
		}
	}
	worst := 0.0
	for _, s := range widths {
		if len(s) >= edgeCount {
			slices.Sort(s)
			worst = max(worst, s[len(s)/10])
		}
	}
	return worst * float64(shrink)
}

// across are the four directions in which edges are measured.
var across = [4][2]int{{1, 0}, {1, 1}, {0, 1}, {-1, 1}}

// edgeWidth returns the direction and the blur in pixels of the edge whose
// steepest point is (x, y); 0 where there is none. The steepest slope of a step
// under a Gaussian is its height over sigma times the root of two pi.
func edgeWidth(gray []byte, w, x, y int) (direction int, sigma float64) {
	at := func(d [2]int, n int) float64 { return float64(gray[(y+n*d[1])*w+x+n*d[0]]) }
	gx, gy := at(across[0], 1)-at(across[0], -1), at(across[2], 1)-at(across[2], -1)
	if gx*gx+gy*gy < 36 {
		return 0, 0
	}
	direction = int(math.Round(math.Atan2(gy, gx)/(math.Pi/4))+8) % 4
	d := across[direction]
	slope := func(n int) float64 { return math.Abs(at(d, n+1)-at(d, n-1)) / 2 }
	here := slope(0)
	if here < slope(1) || here < slope(-1) || here == 0 {
		return 0, 0
	}
	lo, hi := at(d, 0), at(d, 0)
	for n := -edgeReach; n <= edgeReach; n++ {
		lo, hi = min(lo, at(d, n)), max(hi, at(d, n))
	}
	if hi-lo < edgeContrast {
		return 0, 0
	}
	pace := math.Hypot(float64(d[0]), float64(d[1]))
	return direction, pace * (hi - lo) / (here * math.Sqrt(2*math.Pi))
}
