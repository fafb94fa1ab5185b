package segment

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"secondcut/vision/calib"
)

// flatten takes uneven light out of the features: a smooth field of brightness
// (a quadratic in x and y) is fitted to the lightness of what is taken for
// surface, weight 0..1 a cell, and all colours are brought to its mean. Light
// multiplies, so the field is fitted to logarithms and lightness + 16 (the cube
// root of luminance times 116) is scaled with a and b.
func (s *scene) flatten(weight []float32) {
	field := s.fitLight(weight)
	if field == nil {
		return
	}
	for i := range s.feat {
		if s.known[i] == calib.KnownNot {
			continue
		}
		x, y := s.unit(i)
		k := float32(math.Exp(dot6(field, terms(x, y))))
		k = min(max(k, 0.75), 1.33) // a factor of 2.4 either way in luminance
		s.light[i] *= k
		f := &s.feat[i]
		f[0] = (f[0]+16)/k - 16
		f[1] /= k
		f[2] /= k
	}
}

// unit returns a cell's place scaled to -1..1 along the longer side.
func (s *scene) unit(i int) (x, y float64) {
	h := float64(max(s.width, s.height)) / 2
	return (float64(i%s.width) - float64(s.width)/2) / h, (float64(i/s.width) - float64(s.height)/2) / h
}

func terms(x, y float64) [6]float64 { return [6]float64{1, x, y, x * x, x * y, y * y} }

func dot6(a []float64, b [6]float64) (s float64) {
	for i := range a {
		s += a[i] * b[i]
	}
	return
}

// fitLight returns the coefficients of the field, its mean over the surface
// taken out, or nil when there is too little surface. Cells that fit badly
// (joints, knots, shadows) lose weight in three rounds (Tukey's biweight).
func (s *scene) fitLight(weight []float32) []float64 {
	const every = 9 // cells; the field is smooth
	var at []int
	for i := 0; i < len(weight); i += every {
		if s.known[i] == calib.KnownScene && weight[i] > 0.3 && s.feat[i][0] < 98 {
			at = append(at, i)
		}
	}
	if len(at) < 100 {
		return nil
	}
	trust := make([]float64, len(at))
	for k, i := range at {
		trust[k] = float64(weight[i])
	}
	var field []float64
	for range 4 {
		field = s.leastSquares(at, trust)
		if field == nil {
			return nil
		}
		s.distrust(at, trust, weight, field)
	}
	var mean, w float64
	for k, i := range at {
		x, y := s.unit(i)
		mean += trust[k] * dot6(field, terms(x, y))
		w += trust[k]
	}
	field[0] -= mean / max(w, 1e-9)
	return field
}

func (s *scene) leastSquares(at []int, trust []float64) []float64 {
	normal, right := mat.NewSymDense(6, nil), mat.NewVecDense(6, nil)
	for k, i := range at {
		x, y := s.unit(i)
		t, v := terms(x, y), math.Log(float64(s.feat[i][0])+16)
		for a := range t {
			right.SetVec(a, right.AtVec(a)+trust[k]*t[a]*v)
			for b := a; b < 6; b++ {
				normal.SetSym(a, b, normal.At(a, b)+trust[k]*t[a]*t[b])
			}
		}
	}
	// A little ridge keeps the field flat where no surface is seen.
	for a := 1; a < 6; a++ {
		normal.SetSym(a, a, normal.At(a, a)+1e-3*normal.At(0, 0))
	}
	var chol mat.Cholesky
	var field mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&field, right) != nil {
		return nil
	}
	return field.RawVector().Data
}

// distrust lowers the weight of cells by their residual, in units of the mean
// absolute one.
func (s *scene) distrust(at []int, trust []float64, weight []float32, field []float64) {
	res := make([]float64, len(at))
	var mean, w float64
	for k, i := range at {
		x, y := s.unit(i)
		res[k] = math.Abs(math.Log(float64(s.feat[i][0])+16) - dot6(field, terms(x, y)))
		mean += trust[k] * res[k]
		w += trust[k]
	}
	scale := 4*mean/max(w, 1e-9) + 1e-3
	for k, i := range at {
		r := min(res[k]/scale, 1)
		trust[k] = float64(weight[i]) * (1 - r*r) * (1 - r*r)
	}
}
