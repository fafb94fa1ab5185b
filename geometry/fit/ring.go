package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
)

// What makes a ring of samples unusable. [Edge] wraps these with the figures of
// the case.
var (
	// ErrTooFew says that fewer than three different samples were given.
	ErrTooFew = errors.New("too few points to make an outline: at least 3 different ones are needed")
	// ErrNotClosed says that the last sample lies far from the first one.
	ErrNotClosed = errors.New("the outline is open: its last point must lie next to its first")
	// ErrTooSmall says that the outline is shorter than 3 mm or holds no area.
	ErrTooSmall = errors.New("the outline holds no area worth fitting: trace a whole piece of cloth")
	// ErrTooLarge says that the outline is longer than 100 m.
	ErrTooLarge = errors.New("the outline is longer than 100 m: check the scale")
)

const (
	stepMM     = 0.5   // aim for the spacing of the working ring
	maxPoints  = 6000  // of the working ring: bounds the time
	minLength  = 3.0   // mm
	maxLength  = 1e5   // mm
	fullLength = 150.0 // mm of perimeter from which features have their true size
)

// ring is the working form of the raw edge: points at even steps, excursions
// bridged by points of weight 0.
type ring struct {
	p     []geometry.Point
	w     []float64 // 0 on bridges, less than 1 where the evidence is weak
	sigma []float64 // standard uncertainty of the samples, mm
	bias  []float64 // the part of it that neighbours share, mm
	s     []float64 // arc length of p[i] along the smoothed ring
	total float64   // of the arc length
	unit  float64   // scale of all feature lengths: 1, less for tiny outlines
}

func (r *ring) n() int { return len(r.p) }

// wrap brings any index into the ring.
func (r *ring) wrap(i int) int {
	n := len(r.p)
	if i %= n; i < 0 {
		i += n
	}
	return i
}

// arc returns the arc length at any index, running on over the ring's ends.
func (r *ring) arc(i int) float64 {
	n := len(r.p)
	k := int(math.Floor(float64(i) / float64(n)))
	return r.s[i-k*n] + float64(k)*r.total
}

// index returns the first index whose arc length is at least s.
func (r *ring) index(s float64) int {
	k := math.Floor(s / r.total)
	i, _ := slices.BinarySearch(r.s, s-k*r.total)
	return i + int(k)*len(r.p)
}

// newRing checks the samples and returns them at even steps.
func newRing(samples []Sample) (*ring, error) {
	in := make([]Sample, 0, len(samples))
	for _, q := range samples {
		if !q.At.IsFinite() || math.IsNaN(q.SigmaMM+q.BiasMM) || math.Abs(q.At.X)+math.Abs(q.At.Y) > 1e9 {
			return nil, fmt.Errorf("fit: sample %d: %w", len(in), geometry.ErrNotFinite)
		}
		if k := len(in); k == 0 || in[k-1].At.Dist(q.At) > 1e-9 {
			in = append(in, q)
		}
	}
	for len(in) > 1 && in[0].At.Dist(in[len(in)-1].At) <= 1e-9 {
		in = in[:len(in)-1]
	}
	if len(in) < 3 {
		return nil, fmt.Errorf("fit: %d different points: %w", len(in), ErrTooFew)
	}
	var length, widest, area float64
	for i, q := range in {
		next := in[(i+1)%len(in)]
		d := q.At.Dist(next.At)
		length += d
		area += q.At.Sub(in[0].At).Cross(next.At.Sub(in[0].At)) / 2
		if i < len(in)-1 {
			widest = math.Max(widest, d)
		}
	}
	gap := in[0].At.Dist(in[len(in)-1].At)
	switch {
	case length > maxLength:
		return nil, fmt.Errorf("fit: %.0f mm: %w", length, ErrTooLarge)
	case length < minLength || math.Abs(area) < 1e-4*length*length:
		return nil, fmt.Errorf("fit: %.2f mm round, %.2f mm2 inside: %w", length, area, ErrTooSmall)
	case gap > 10 && gap > 3*widest:
		return nil, fmt.Errorf("fit: a gap of %.1f mm: %w", gap, ErrNotClosed)
	}
	unit := math.Min(1, length/fullLength)
	n := int(math.Ceil(length / (stepMM * unit)))
	return resample(in, length, min(n, maxPoints), unit), nil
}

// softEdgeMM is the uncertainty of a sample in mm from which it counts less, as one does
// whose evidence was poor: where edges are that soft, shade and nap move them too.
const softEdgeMM = 0.5

// resample returns n points at even steps along the polygon of the samples.
func resample(in []Sample, length float64, n int, unit float64) *ring {
	r := &ring{unit: unit}
	step := length / float64(n)
	i, done := 0, 0.0 // done: length before sample i
	d := in[0].At.Dist(in[1].At)
	for k := range n {
		at := float64(k) * step
		for i < len(in)-1 && done+d < at {
			done += d
			i++
			d = in[i].At.Dist(in[(i+1)%len(in)].At)
		}
		a, b := in[i], in[(i+1)%len(in)]
		w := 1.0
		if a.Weak || b.Weak || math.Max(a.SigmaMM, b.SigmaMM) > softEdgeMM {
			w = 0.3
		}
		r.add(a.At.Lerp(b.At, math.Min(1, (at-done)/math.Max(d, 1e-12))), w, math.Max(a.SigmaMM, 0), math.Max(a.BiasMM, 0))
	}
	r.measure()
	return r
}

func (r *ring) add(p geometry.Point, w, sigma, bias float64) {
	r.p = append(r.p, p)
	r.w = append(r.w, w)
	r.sigma = append(r.sigma, sigma)
	r.bias = append(r.bias, bias)
}

// measure sets the arc lengths from a slightly smoothed ring, because the length
// of a noisy polygon is far too long.
func (r *ring) measure() {
	n := r.n()
	q := smoothRing(r.p, 3)
	r.s = make([]float64, n)
	for i := 1; i < n; i++ {
		r.s[i] = r.s[i-1] + math.Max(q[i].Dist(q[i-1]), 1e-9)
	}
	r.total = r.s[n-1] + math.Max(q[0].Dist(q[n-1]), 1e-9)
}

// smoothRing returns the mean of each point and its k neighbours on either side.
func smoothRing(p []geometry.Point, k int) []geometry.Point {
	n := len(p)
	k = min(k, (n-1)/2)
	out := make([]geometry.Point, n)
	var sum geometry.Vec
	o := p[0]
	for i := -k; i <= k; i++ {
		sum = sum.Add(p[(i+n)%n].Sub(o))
	}
	m := 1 / float64(2*k+1)
	for i := range out {
		out[i] = o.Add(sum.Scale(m))
		sum = sum.Add(p[(i+k+1)%n].Sub(p[(i-k+n)%n]))
	}
	return out
}

// baseline returns the local parabola through the k neighbours on either side
// (Savitzky and Golay's smoothing of second degree).
func (r *ring) baseline(k int) []geometry.Point {
	n := r.n()
	k = min(k, (n-1)/2)
	// Kernel of the quadratic smoother: (a - b j^2), from the normal equations.
	var s0, s2, s4 float64
	for j := -k; j <= k; j++ {
		q := float64(j * j)
		s0, s2, s4 = s0+1, s2+q, s4+q*q
	}
	det := s0*s4 - s2*s2
	if det <= 0 {
		return slices.Clone(r.p)
	}
	kernel := make([]float64, 2*k+1)
	for j := -k; j <= k; j++ {
		kernel[j+k] = (s4 - s2*float64(j*j)) / det
	}
	ext := make([]geometry.Point, n+2*k)
	for i := range ext {
		ext[i] = r.p[(i-k+n)%n]
	}
	out := make([]geometry.Point, n)
	for i := range out {
		var x, y float64
		for j, c := range kernel {
			x += c * ext[i+j].X
			y += c * ext[i+j].Y
		}
		out[i] = geometry.Point{X: x, Y: y}
	}
	return out
}
