package segment

import "math"

// mixture is a sum of Gaussian clusters over features, with a weak uniform floor
// so that a feature never seen before counts against no one beyond reason.
type mixture struct {
	parts []gauss
	floor float32 // log density of a feature that belongs to no cluster
}

// gauss is one cluster: a log weight, its mean, and the inverse of the Cholesky
// factor of its covariance.
type gauss struct {
	bias float32 // log weight - log determinant of the factor
	mean feature
	inv  [dims][dims]float32 // lower triangle
}

const (
	parts       = 6   // clusters of a mixture
	rounds      = 6   // of assigning and averaging
	floorColour = 2.0 // least variance of a colour feature, Lab units squared
	floorTex    = 1.0 // least variance of a texture feature
)

// Log densities of features that belong to no cluster, the normal density's
// constant factor left out as everywhere here. Something never seen round the
// cards and along the frame is sooner a trim of the cloth than surface.
const (
	strayCloth   = -14.5
	straySurface = -16.1
	strayPaper   = -9
)

// sample is a feature with the trust that it belongs to what is learned.
type sample struct {
	f feature
	w float32
}

// learn fits a mixture to samples by k-means with splitting (the cluster with
// the largest spread is halved until there are enough), each cluster then
// becoming a Gaussian. It returns nil when there is nothing to learn from.
func learn(samples []sample, stray float32) *mixture {
	group := make([]int, len(samples))
	stats := measure(samples, group, 1)
	if stats[0].w <= 0 {
		return nil
	}
	for len(stats) < parts {
		worst, axis, spread := 0, 0, float32(0)
		for g := range stats {
			for d := range dims {
				if v := stats[g].variance(d) * stats[g].w; v > spread {
					worst, axis, spread = g, d, v
				}
			}
		}
		if spread <= 0 {
			break
		}
		at, fresh := stats[worst].mean(axis), len(stats)
		for i := range samples {
			if group[i] == worst && samples[i].f[axis] > at {
				group[i] = fresh
			}
		}
		stats = measure(samples, group, fresh+1)
	}
	for range rounds {
		regroup(samples, group, stats)
		stats = measure(samples, group, len(stats))
	}
	return fromStats(stats, stray)
}

// moments are weighted sums over a cluster.
type moments struct {
	w   float32
	sum feature
	sq  [dims][dims]float32
}

func (m *moments) mean(d int) float32 { return m.sum[d] / m.w }

func (m *moments) variance(d int) float32 {
	if m.w <= 0 {
		return 0
	}
	return max(0, m.sq[d][d]/m.w-m.mean(d)*m.mean(d))
}

func measure(samples []sample, group []int, n int) []moments {
	out := make([]moments, n)
	for i, s := range samples {
		m := &out[group[i]]
		m.w += s.w
		for a := range dims {
			wa := s.w * s.f[a]
			m.sum[a] += wa
			for b := 0; b <= a; b++ {
				m.sq[a][b] += wa * s.f[b]
			}
		}
	}
	return out
}

// regroup assigns each sample to the nearest cluster mean.
func regroup(samples []sample, group []int, stats []moments) {
	means := make([]feature, len(stats))
	for g := range stats {
		for d := range dims {
			if stats[g].w > 0 {
				means[g][d] = stats[g].mean(d)
			}
		}
	}
	for i, s := range samples {
		best := float32(math.MaxFloat32)
		for g := range means {
			if stats[g].w <= 0 {
				continue
			}
			var d2 float32
			for d := range dims {
				e := s.f[d] - means[g][d]
				d2 += e * e
			}
			if d2 < best {
				best, group[i] = d2, g
			}
		}
	}
}

func fromStats(stats []moments, stray float32) *mixture {
	var total float32
	for g := range stats {
		total += stats[g].w
	}
	m := &mixture{floor: stray}
	for g := range stats {
		if stats[g].w > total*0.002 {
			m.parts = append(m.parts, newGauss(&stats[g], total))
		}
	}
	return m
}

// newGauss factors the covariance of a cluster and inverts the factor.
func newGauss(m *moments, total float32) gauss {
	var c, low, inv [dims][dims]float64
	g := gauss{}
	for a := range dims {
		g.mean[a] = m.mean(a)
	}
	for a := range dims {
		for b := 0; b <= a; b++ {
			c[a][b] = float64(m.sq[a][b]/m.w - g.mean[a]*g.mean[b])
		}
		if a < 3 {
			c[a][a] += floorColour
		} else {
			c[a][a] += floorTex
		}
	}
	logDet := 0.0
	for a := range dims {
		for b := 0; b <= a; b++ {
			v := c[a][b]
			for k := range b {
				v -= low[a][k] * low[b][k]
			}
			if a == b {
				low[a][a] = math.Sqrt(max(v, 0.25))
				logDet += math.Log(low[a][a])
			} else {
				low[a][b] = v / low[b][b]
			}
		}
	}
	for b := range dims {
		inv[b][b] = 1 / low[b][b]
		for a := b + 1; a < dims; a++ {
			var v float64
			for k := b; k < a; k++ {
				v -= low[a][k] * inv[k][b]
			}
			inv[a][b] = v / low[a][a]
		}
	}
	for a := range dims {
		for b := range dims {
			g.inv[a][b] = float32(inv[a][b])
		}
	}
	g.bias = float32(math.Log(float64(m.w/total)) - logDet)
	return g
}

// logDensity returns the logarithm of the largest cluster's density at f, up to
// a constant that all mixtures share. The largest alone is within log(parts) of
// the sum and saves the exponentials.
func (m *mixture) logDensity(f *feature) float32 {
	best := m.floor
	for k := range m.parts {
		g := &m.parts[k]
		v := g.bias
		e0, e1, e2 := f[0]-g.mean[0], f[1]-g.mean[1], f[2]-g.mean[2]
		e3, e4 := f[3]-g.mean[3], f[4]-g.mean[4]
		q := g.inv[0][0] * e0
		v -= q * q / 2
		q = g.inv[1][0]*e0 + g.inv[1][1]*e1
		v -= q * q / 2
		if v < best {
			continue
		}
		q = g.inv[2][0]*e0 + g.inv[2][1]*e1 + g.inv[2][2]*e2
		v -= q * q / 2
		q = g.inv[3][0]*e0 + g.inv[3][1]*e1 + g.inv[3][2]*e2 + g.inv[3][3]*e3
		v -= q * q / 2
		q = g.inv[4][0]*e0 + g.inv[4][1]*e1 + g.inv[4][2]*e2 + g.inv[4][3]*e3 + g.inv[4][4]*e4
		v -= q * q / 2
		best = max(best, v)
	}
	return best
}

// logColour is logDensity for a feature whose texture says nothing: the first
// three rows of the factor belong to colour alone, and texture is taken to fit
// as well as it does on average.
func (m *mixture) logColour(f *feature) float32 {
	const averageFit = 1.0 // half the sum of two squared standard normals
	best := m.floor
	for k := range m.parts {
		g := &m.parts[k]
		v := g.bias - averageFit
		e0, e1, e2 := f[0]-g.mean[0], f[1]-g.mean[1], f[2]-g.mean[2]
		q := g.inv[0][0] * e0
		v -= q * q / 2
		if v < best {
			continue
		}
		q = g.inv[1][0]*e0 + g.inv[1][1]*e1
		v -= q * q / 2
		q = g.inv[2][0]*e0 + g.inv[2][1]*e1 + g.inv[2][2]*e2
		v -= q * q / 2
		best = max(best, v)
	}
	return best
}
