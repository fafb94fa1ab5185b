package outline

import "math"

// moments are the sums over a set of colours that mean and covariance follow
// from: count, three sums, six sums of products.
type moments struct {
	n   float64
	sum [3]float64
	sq  [6]float64 // 00 10 11 20 21 22
}

// add takes one colour in.
func (m *moments) add(c colour) {
	a, b, d := float64(c[0]), float64(c[1]), float64(c[2])
	m.n++
	m.sum[0] += a
	m.sum[1] += b
	m.sum[2] += d
	m.sq[0] += a * a
	m.sq[1] += b * a
	m.sq[2] += b * b
	m.sq[3] += d * a
	m.sq[4] += d * b
	m.sq[5] += d * d
}

// plus returns m + f o.
func (m moments) plus(o *moments, f float64) moments {
	m.n += f * o.n
	for i := range m.sum {
		m.sum[i] += f * o.sum[i]
	}
	for i := range m.sq {
		m.sq[i] += f * o.sq[i]
	}
	return m
}

// mean returns the mean colour; there must be at least one.
func (m *moments) mean() [3]float64 {
	return [3]float64{m.sum[0] / m.n, m.sum[1] / m.n, m.sum[2] / m.n}
}

// cov returns the covariance.
func (m *moments) cov() (c [3][3]float64) {
	u, i := m.mean(), 0
	for a := range 3 {
		for b := range a + 1 {
			c[a][b] = m.sq[i]/m.n - u[a]*u[b]
			c[b][a] = c[a][b]
			i++
		}
	}
	return c
}

// running holds, for every profile, the moments of all profiles before it, so
// that any stretch of the ring is the difference of two.
type running []moments

// runningOver sums the colours that lie lo to hi mm beyond the path at.
func runningOver(b *band, at []float64, lo, hi float64) running {
	n, m := len(b.at), len(b.offsets)
	step := b.offsets[1] - b.offsets[0]
	r := make(running, n+1)
	for i := range n {
		var row moments
		k0 := int(math.Ceil((at[i] + lo - b.offsets[0]) / step))
		k1 := int(math.Floor((at[i] + hi - b.offsets[0]) / step))
		for k := max(0, k0); k <= min(m-1, k1); k++ {
			if b.seen[i*m+k] {
				row.add(b.px[i*m+k])
			}
		}
		r[i+1] = r[i].plus(&row, 1)
	}
	return r
}

// round returns the moments of the profiles within near of profile i.
func (r running) round(i, near int) moments {
	n := len(r) - 1
	if 2*near+1 >= n {
		return r[n]
	}
	lo, hi := i-near, i+near+1
	switch {
	case lo < 0:
		return r[n].plus(&r[lo+n], -1).plus(&r[hi], 1)
	case hi > n:
		return r[n].plus(&r[lo], -1).plus(&r[hi-n], 1)
	}
	return r[hi].plus(&r[lo], -1)
}

// solve3 solves a x = b for a symmetric positive definite a.
func solve3(a [3][3]float64, b [3]float64) (x [3]float64) {
	for i := range 3 {
		for r := i + 1; r < 3; r++ {
			f := a[r][i] / a[i][i]
			for c := i; c < 3; c++ {
				a[r][c] -= f * a[i][c]
			}
			b[r] -= f * b[i]
		}
	}
	for i := 2; i >= 0; i-- {
		s := b[i]
		for c := i + 1; c < 3; c++ {
			s -= a[i][c] * x[c]
		}
		x[i] = s / a[i][i]
	}
	return x
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
