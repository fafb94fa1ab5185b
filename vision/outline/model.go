package outline

import "math"

// cluster is one kind of colour: a Gaussian with a diagonal covariance in
// opponent coordinates. bias is the log of its share over its volume.
type cluster struct {
	mean, precision colour
	bias            float32
}

// model is the colours of one side of the edge in one window.
type model []cluster

// opponent turns blue, green, red into lightness and two colour differences,
// which in photos of one material vary nearly independently.
func opponent(c colour) colour {
	return colour{(c[0] + 2*c[1] + c[2]) / 4, (c[2] - c[0]) / 2, (2*c[1] - c[0] - c[2]) / 4}
}

// log returns the log density of a colour up to a constant, the best cluster
// standing for the mixture.
func (m model) log(c colour) float32 {
	best := float32(math.Inf(-1))
	for i := range m {
		k := &m[i]
		d0, d1, d2 := c[0]-k.mean[0], c[1]-k.mean[1], c[2]-k.mean[2]
		v := k.bias - 0.5*(d0*d0*k.precision[0]+d1*d1*k.precision[1]+d2*d2*k.precision[2])
		best = max(best, v)
	}
	return best
}

// rounds of Lloyd's algorithm; few, as windows overlap and light changes anyway.
const rounds = 3

// learn finds up to kinds clusters in the colours: Lloyd's algorithm, started
// from equal shares by lightness so that the result does not depend on chance.
func learn(all []colour, kinds int) model {
	if len(all) == 0 {
		return nil
	}
	own := shares(all, kinds)
	centre := make([]colour, kinds)
	means(all, own, centre)
	for range rounds {
		assign(all, own, centre)
		means(all, own, centre)
	}
	return describe(all, own, centre)
}

// shares numbers the colours from dark to light in equal shares.
func shares(all []colour, kinds int) []uint8 {
	var count [256]int
	level := func(c colour) int { return min(max(int(c[0]), 0), 255) }
	for _, c := range all {
		count[level(c)]++
	}
	var share [256]uint8
	before := 0
	for l, n := range count {
		share[l] = uint8(min((2*before+n)*kinds/(2*len(all)), kinds-1))
		before += n
	}
	own := make([]uint8, len(all))
	for i, c := range all {
		own[i] = share[level(c)]
	}
	return own
}

// assign gives every colour the nearest centre; differences of hue count double,
// as lightness varies most within one material.
func assign(all []colour, own []uint8, centre []colour) {
	for i, c := range all {
		best := float32(math.Inf(1))
		for k, m := range centre {
			d0, d1, d2 := c[0]-m[0], c[1]-m[1], c[2]-m[2]
			if d := d0*d0 + 4*(d1*d1+d2*d2); d < best {
				best, own[i] = d, uint8(k)
			}
		}
	}
}

// means moves each centre to the mean of its colours; one without any stays.
func means(all []colour, own []uint8, centre []colour) {
	sum, count := make([]colour, len(centre)), make([]float32, len(centre))
	for i, c := range all {
		k := own[i]
		count[k]++
		for j := range c {
			sum[k][j] += c[j]
		}
	}
	for k := range sum {
		if count[k] == 0 {
			continue
		}
		for j := range sum[k] {
			centre[k][j] = sum[k][j] / count[k]
		}
	}
}

// spread is the mean, the squared deviations and the number of one cluster.
type spread struct {
	mean, dev colour
	n         float32
}

// describe measures the clusters and merges those that are not apart: the best
// cluster stands for the mixture only while clusters do not overlap.
func describe(all []colour, own []uint8, centre []colour) model {
	parts := make([]spread, len(centre))
	for k := range parts {
		parts[k].mean = centre[k]
	}
	for i, c := range all {
		p := &parts[own[i]]
		p.n++
		for j := range c {
			d := c[j] - p.mean[j]
			p.dev[j] += d * d
		}
	}
	var out model
	for _, p := range merged(parts) {
		if p.n >= 0.02*float32(len(all)) {
			out = append(out, p.cluster(p.n/float32(len(all))))
		}
	}
	return out
}

// merged joins clusters whose means lie within about two standard deviations.
func merged(parts []spread) []spread {
	var out []spread
next:
	for _, p := range parts {
		if p.n == 0 {
			continue
		}
		for i := range out {
			if out[i].overlaps(&p) {
				out[i].join(&p)
				continue next
			}
		}
		out = append(out, p)
	}
	return out
}

// leastVariance stands for noise that few colours may not show.
var leastVariance = colour{9, 4, 2.25}

func (s *spread) overlaps(p *spread) bool {
	var d2 float32
	for j := range s.mean {
		d := s.mean[j] - p.mean[j]
		d2 += d * d / ((s.dev[j]+p.dev[j])/(s.n+p.n) + leastVariance[j])
	}
	return d2 < 4
}

// join takes the colours of p in.
func (s *spread) join(p *spread) {
	n := s.n + p.n
	for j := range s.mean {
		d := p.mean[j] - s.mean[j]
		s.dev[j] += p.dev[j] + d*d*s.n*p.n/n
		s.mean[j] += d * p.n / n
	}
	s.n = n
}

// cluster turns a spread with a share of all colours into a Gaussian.
func (s *spread) cluster(share float32) cluster {
	c := cluster{mean: s.mean}
	volume := 1.0
	for j := range s.dev {
		v := s.dev[j]/s.n + leastVariance[j]
		c.precision[j] = 1 / v
		volume *= float64(v)
	}
	c.bias = float32(math.Log(float64(share)) - 0.5*math.Log(volume))
	return c
}

// Shadow leaves between leastLight and mostLight of the coded values, and shifts
// hue by a few values, as the sky's light differs from the lamp's.
const (
	leastLight, mostLight = 0.4, 0.93
	shadowHue             = 5.0
)

// shadowOf reports whether a cluster looks like one of the ground's in shadow:
// the same colour times a factor below 1.
func (c *cluster) shadowOf(ground model) bool {
	for i := range ground {
		g := &ground[i]
		var cg, gg float32
		for j := range g.mean {
			cg += c.mean[j] * g.mean[j]
			gg += g.mean[j] * g.mean[j]
		}
		light := cg / gg
		if !(light > leastLight && light < mostLight) {
			continue
		}
		var d2 float32
		for j := 1; j < 3; j++ {
			d := c.mean[j] - light*g.mean[j]
			d2 += d * d / (1/g.precision[j] + shadowHue*shadowHue)
		}
		if d2 < 4 {
			return true
		}
	}
	return false
}

// oneOf reports whether a cluster overlaps one of the model's.
func (c *cluster) oneOf(m model) bool {
	for i := range m {
		var d2 float32
		for j := range c.mean {
			d := c.mean[j] - m[i].mean[j]
			d2 += d * d / (1/c.precision[j] + 1/m[i].precision[j])
		}
		if d2 < 4 {
			return true
		}
	}
	return false
}
