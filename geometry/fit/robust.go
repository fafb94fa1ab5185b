package fit

import (
	"math"
	"slices"
)

const (
	madToSigma = 1.4826 // of a normal distribution
	tukeyC     = 4.685  // 95 % efficiency under normal noise
)

// quantile returns the q-quantile of v, whose order it changes; 0 for no values.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	at := q * float64(len(v)-1)
	i := int(at)
	sift(v, i)
	if i+1 >= len(v) {
		return v[i]
	}
	return v[i] + (slices.Min(v[i+1:])-v[i])*(at-float64(i))
}

// sift moves the value of rank k to its place, smaller ones before it and larger
// ones behind it (Hoare's selection with the median of three).
func sift(v []float64, k int) {
	for lo, hi := 0, len(v)-1; lo < hi; {
		a, b, c := v[lo], v[(lo+hi)/2], v[hi]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// scale returns the robust standard deviation of residuals about 0.
func scale(r []float64) float64 {
	a := make([]float64, len(r))
	for i, x := range r {
		a[i] = math.Abs(x)
	}
	return madToSigma * quantile(a, 0.5)
}

// rms returns the root of the mean square of v; 0 for no values.
func rms(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(max(1, len(v))))
}

// bisquare returns Tukey's weight of a residual r for the scale s.
func bisquare(r, s float64) float64 {
	if u := r / (tukeyC * s); math.Abs(u) < 1 {
		return (1 - u*u) * (1 - u*u)
	}
	return 0
}

// correlation returns the length over which residuals at even steps hang
// together: the sum of the autocorrelation over all lags, times step (twice the
// integral scale). Lags run to the first one below 0.05, at most maxLag.
// trough is the lowest autocorrelation up to maxLag: far below 0 for a ripple.
func correlation(r []float64, step, limit float64, maxLag int) (length, trough float64) {
	c := make([]float64, len(r))
	var v float64
	for i, x := range r {
		c[i] = math.Max(-limit, math.Min(limit, x))
		v += c[i] * c[i]
	}
	if v == 0 || len(r) < 4 {
		return step, 0
	}
	v /= float64(len(r))
	length = step
	open := true
	for lag := 1; lag <= min(maxLag, len(r)/2); lag++ {
		var sum float64
		for i := lag; i < len(c); i++ {
			sum += c[i] * c[i-lag]
		}
		rho := sum / float64(len(c)-lag) / v
		trough = math.Min(trough, rho)
		if rho < 0.05 {
			open = false
		}
		if open {
			length += 2 * rho * step
		}
	}
	return length, trough
}

// solve solves the symmetric positive system a x = b (several right sides) in
// place by Cholesky factors. A small ridge keeps it regular.
func solve(a [][]float64, b ...[]float64) bool {
	n := len(a)
	for i := range n {
		a[i][i] += 1e-12 * (1 + a[i][i])
	}
	for j := range n {
		for k := range j {
			a[j][j] -= a[j][k] * a[j][k]
		}
		if !(a[j][j] > 0) {
			return false
		}
		a[j][j] = math.Sqrt(a[j][j])
		for i := j + 1; i < n; i++ {
			for k := range j {
				a[i][j] -= a[i][k] * a[j][k]
			}
			a[i][j] /= a[j][j]
		}
	}
	for _, x := range b {
		for i := range n {
			for k := range i {
				x[i] -= a[i][k] * x[k]
			}
			x[i] /= a[i][i]
		}
		for i := n - 1; i >= 0; i-- {
			for k := i + 1; k < n; k++ {
				x[i] -= a[k][i] * x[k]
			}
			x[i] /= a[i][i]
		}
	}
	return true
}
