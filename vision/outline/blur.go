package outline

import (
	"math"
	"slices"
)

// blurs are the widths of edge that are told apart, standard deviations in px.
var blurs = [...]float64{0.7, 0.84, 1, 1.2, 1.4, 1.7, 2, 2.4, 2.8, 3.4, 4, 4.8, 5.6, 6.7, 8}

// farMM is how far from the path the levels are read for measuring blur, in mm.
const farMM = 2.0

// edgeBlur returns the typical width of the edge in mm: the median over up to 40
// stretches of the width that best fits a stretch's mean profile.
// Levels are read well away from the edge, as its width is not yet known.
func edgeBlur(b *band, at []float64, px float64) float64 {
	ax := axes(b, at, farMM)
	var all []float64
	n := len(b.at)
	stretch := max(1, int(3/b.step))
	for i := 0; i < n; i += max(stretch, n/40) {
		if w, ok := stretchBlur(b, at, ax, i, stretch, px); ok {
			all = append(all, w)
		}
	}
	if len(all) == 0 {
		return 1.4 * px
	}
	return median(all)
}

// stretchBlur fits a blurred step to the mean of the profiles from i on.
func stretchBlur(b *band, at []float64, ax []axis, i, stretch int, px float64) (float64, bool) {
	m, step := len(b.offsets), b.offsets[1]-b.offsets[0]
	half := int(math.Max(2, 10*px) / step)
	y := make([]float64, 2*half+1)
	count := 0.0
	for j := i; j < min(i+stretch, len(b.at)); j++ {
		k0 := int(math.Round((at[j]-b.offsets[0])/step)) - half
		if !ax[j].ok || k0 < 0 || k0+len(y) > m {
			continue
		}
		for k := range y {
			y[k] += ax[j].share(b.px[j*m+k0+k])
		}
		count++
	}
	if count == 0 {
		return 0, false
	}
	best, width := math.Inf(1), 0.0
	for _, s := range blurs {
		for mu := -3 * px; mu <= 3*px; mu += 0.5 * px {
			var e float64
			for k := range y {
				value, _ := unitStep.at((float64(k-half)*step - mu) / (s * px))
				d := y[k]/count - value
				e += d * d
			}
			if e < best {
				best, width = e, s*px
			}
		}
	}
	return width, true
}

// median returns the middle of the values; it sorts them.
func median(v []float64) float64 {
	slices.Sort(v)
	return v[len(v)/2]
}
