package segment

import (
	"math"
	"slices"

	"secondcut/vision/calib"
)

// When an area counts as novel; set on 240 drawn scenes and the development
// photos together.
const (
	novelMargin = 2.0  // log density below the least usual of the rim
	novelShare  = 0.8  // of the cells around that must be novel too
	novelTrust  = 0.5  // with which novel cells teach what cloth looks like
	novelGuess  = -1.5 // least log odds that the learned guess may claim there
	novelMM     = 8.0  // reach of "around"
)

// novel marks compact areas unlike anything along the frame, in whatever light:
// a second cloth that the learned guess overlooked looks so, while joints, knots
// and figures of the floor mostly come again at the rim.
func (s *scene) novel(o *odds, outer []bool) []bool {
	none := make([]int8, len(s.feat)) // strokes do not tell what is usual
	out := make([]bool, len(s.feat))
	rim := make([]float32, len(s.feat))
	for i := range rim {
		if outer[i] && s.known[i] == calib.KnownScene {
			rim[i] = 1 - sigmoid(o.guess[i])
		}
	}
	m := learn(s.pick(rim, none, 1), straySurface)
	if m == nil {
		return out
	}
	usual := s.leastUsual(m, rim)
	v, n := make([]float32, len(out)), make([]float32, len(out))
	for i := range v {
		if s.known[i] == calib.KnownScene {
			n[i] = 1
			if !outer[i] && !m.explains(&s.feat[i], usual-novelMargin) {
				v[i] = 1
			}
		}
	}
	r := max(1, int(math.Round(novelMM/s.mm)))
	v, n = boxSum(v, s.width, s.height, r), boxSum(n, s.width, s.height, r)
	for i := range out {
		out[i] = n[i] > 0 && v[i] > novelShare*n[i]
	}
	return out
}

// leastUsual returns the log density that all but one in a hundred cells of the
// rim reach.
func (s *scene) leastUsual(m *mixture, rim []float32) float32 {
	var ll []float32
	for i := 0; i < len(rim); i += 3 {
		if rim[i] > 0.5 {
			ll = append(ll, m.logDensity(&s.feat[i]))
		}
	}
	if len(ll) == 0 {
		return m.floor
	}
	slices.Sort(ll)
	return ll[len(ll)/100]
}

// explains reports whether f is at least so likely in some light.
func (m *mixture) explains(f *feature, least float32) bool {
	if m.logDensity(f) >= least {
		return true
	}
	for _, h := range lights {
		lit := feature{(f[0]+16)/h.k - 16, f[1] / h.k, f[2] / h.k}
		if m.logColour(&lit)-h.penalty >= least {
			return true
		}
	}
	return false
}
