package segment

import (
	"math"

	"secondcut/vision/calib"
)

// When a look counts as two colours: a normal distribution cut in half has halves
// 1.6 deviations apart, a ratio of 3.5.
const (
	twofoldRatio = 8.0  // of the squared distance of a look's halves to their variances
	twofoldLeast = 0.15 // share of the smaller half
)

// look is the colour of one side round a place, as a whole and split into what
// is darker and what is lighter than its middle: cloth with stripes or a print has
// two colours, and one of them may be the floor's.
type look struct {
	blob
	lobes [2]blob
}

// blob is a colour with scatter: mean, variance, and on how many pixels it rests.
type blob struct {
	n            float32
	mean, spread lab
}

// learnLooks returns for each cell the look of the given side round it.
func (r *refiner) learnLooks(side int8) []look {
	s := r.scene
	reach := max(bandCells+2, int(math.Round(localMM/s.mm)))
	near := s.nearBand(r.sure, reach)
	dark, light := newTally(len(s.feat)), newTally(len(s.feat))
	for i := range s.feat {
		if r.sure[i] == side && near[i] && s.known[i] == calib.KnownScene {
			middle := s.around(i)
			r.addPixels(i, func(c lab) {
				if c[0] < middle {
					dark.add(i, c)
				} else {
					light.add(i, c)
				}
			})
		}
	}
	rows := make([]float32, len(s.feat))
	for k := range dark {
		boxSumInto(dark[k], rows, dark[k], s.width, s.height, reach)
		boxSumInto(light[k], rows, light[k], s.width, s.height, reach)
	}
	out := make([]look, len(s.feat))
	for i := range out {
		if dark[0][i]+light[0][i] < localLeast {
			continue
		}
		out[i].lobes = [2]blob{dark.blob(i), light.blob(i)}
		for k := range dark {
			dark[k][i] += light[k][i]
		}
		out[i].blob = dark.blob(i)
	}
	return out
}

// around returns the mean lightness of the cells next to a cell, as the photo has
// it, light not taken out.
func (s *scene) around(i int) float32 {
	x, y := i%s.width, i/s.width
	var sum, n float32
	for v := max(0, y-2); v <= min(s.height-1, y+2); v += 2 {
		for u := max(0, x-2); u <= min(s.width-1, x+2); u += 2 {
			if j := v*s.width + u; s.known[j] == calib.KnownScene {
				sum, n = sum+(s.feat[j][0]+16)*s.light[j]-16, n+1
			}
		}
	}
	return sum / n
}

// tally holds for each cell a count, three sums and three sums of squares.
type tally [7][]float32

func newTally(n int) *tally {
	t := &tally{}
	for k := range t {
		t[k] = make([]float32, n)
	}
	return t
}

func (t *tally) add(i int, c lab) {
	t[0][i]++
	for k := range 3 {
		t[1+k][i] += c[k]
		t[4+k][i] += c[k] * c[k]
	}
}

// blob returns mean and variance of a cell's sums.
func (t *tally) blob(i int) (b blob) {
	if b.n = t[0][i]; b.n < 0.5 {
		return blob{}
	}
	for k := range 3 {
		m := t[1+k][i] / b.n
		b.mean[k], b.spread[k] = m, max(0, t[4+k][i]/b.n-m*m)+localNoise
	}
	return b
}

// twofold reports whether the look is two colours, as of stripes or a print.
func (l *look) twofold() bool {
	a, b := &l.lobes[0], &l.lobes[1]
	if min(a.n, b.n) < twofoldLeast*l.n {
		return false
	}
	var ratio float32
	for d := range 3 {
		e := a.mean[d] - b.mean[d]
		ratio += e * e / (a.spread[d] + b.spread[d])
	}
	return ratio > twofoldRatio
}

// logDensity returns the log density of a colour under the likelier half of a
// look, up to a constant.
func (l *look) logDensity(c lab) float32 {
	best := float32(-math.MaxFloat32)
	for k := range l.lobes {
		b := &l.lobes[k]
		if b.n < 1 {
			continue
		}
		var v float32
		det := l.n / b.n
		det *= det
		for d := range 3 {
			e := c[d] - b.mean[d]
			v -= e * e / (2 * b.spread[d])
			det *= b.spread[d]
		}
		if v > best { // the rest only lowers it
			best = max(best, v-float32(math.Log(float64(det)))/2)
		}
	}
	return best
}
