package outline

import (
	"math"

	"secondcut/geometry"
)

// base is the closed curve that profiles stand on: points at equal steps along
// it and, at each, the unit normal that points away from the cloth. The cloth
// lies on its left, for outer outlines as well as for holes.
type base struct {
	at   []geometry.Point
	away []geometry.Vec
	step float64 // mm along the curve
}

// newBase resamples a ring at about step millimetres and smooths it by a
// Gaussian of sigma millimetres; normals are taken from the curve smoothed once
// more by turn millimetres, so that they do not follow every thread.
func newBase(ring geometry.Polyline, step, sigma, turn float64) base {
	pts := smooth(resample(ring, step), sigma/step)
	pts = resample(pts, step)
	b := base{at: pts, away: make([]geometry.Vec, len(pts)), step: geometry.Polyline(pts).Length() / float64(len(pts))}
	soft := smooth(pts, turn/step)
	for i := range pts {
		n := len(pts)
		d := soft[(i+1)%n].Sub(soft[(i+n-1)%n])
		b.away[i] = d.Perp().Scale(-1).Unit()
	}
	return b
}

// offset returns the point at d millimetres from base point i, away from the
// cloth where d is positive.
func (b *base) offset(i int, d float64) geometry.Point { return b.at[i].Add(b.away[i].Scale(d)) }

// moved returns the ring of the points at offsets d.
func (b *base) moved(d []float64) geometry.Polyline {
	out := make(geometry.Polyline, len(b.at))
	for i := range out {
		out[i] = b.offset(i, d[i])
	}
	return out
}

// resample returns points at equal steps of about step millimetres along the
// ring, at least 8 of them.
func resample(ring geometry.Polyline, step float64) geometry.Polyline {
	total := ring.Length()
	n := max(8, int(math.Round(total/step)))
	out := make(geometry.Polyline, 0, n)
	walked, want := 0.0, 0.0
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := a.Dist(b)
		for len(out) < n && l > 0 && want <= walked+l {
			out = append(out, a.Lerp(b, (want-walked)/l))
			want = total * float64(len(out)) / float64(n)
		}
		walked += l
	}
	return out
}

// sources returns, for n points at equal steps along the ring, the index of the
// ring's point at or before each.
func sources(ring geometry.Polyline, n int) []int {
	total := ring.Length()
	out := make([]int, n)
	walked, i := 0.0, 0
	for k := range out {
		want := total * float64(k) / float64(n)
		for i < len(ring)-1 && walked+ring[i].Dist(ring[i+1]) <= want {
			walked += ring[i].Dist(ring[i+1])
			i++
		}
		out[k] = i
	}
	return out
}

// smooth convolves a ring of equally spaced points with a Gaussian of sigma
// steps.
func smooth(ring geometry.Polyline, sigma float64) geometry.Polyline {
	n := len(ring)
	r := min(int(math.Ceil(3*sigma)), (n-1)/2)
	if r < 1 {
		return append(geometry.Polyline(nil), ring...)
	}
	k := gauss(sigma, r)
	out := make(geometry.Polyline, n)
	for i := range out {
		var p geometry.Point
		for j := -r; j <= r; j++ {
			q, w := ring[(i+j+n)%n], k[j+r]
			p.X += q.X * w
			p.Y += q.Y * w
		}
		out[i] = p
	}
	return out
}

// gauss returns the 2r+1 weights of a Gaussian, which add up to 1.
func gauss(sigma float64, r int) []float64 {
	k, sum := make([]float64, 2*r+1), 0.0
	for j := range k {
		x := float64(j-r) / sigma
		k[j] = math.Exp(-x * x / 2)
		sum += k[j]
	}
	for j := range k {
		k[j] /= sum
	}
	return k
}
