package stitches

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

const (
	alongMM  = 0.2  // spacing of the samples along the edge
	acrossMM = 0.25 // and of the lines of samples at growing distance from it
	firstMM  = 3.0  // nearest and farthest line: allowances that people sew with
	lastMM   = 25.0
	lines    = int((lastMM-firstMM)/acrossMM) + 1
)

// place is a point of an outline, its distance along it in mm, and the direction
// into the cloth.
type place struct {
	at     geometry.Point
	along  float64
	inward geometry.Vec
}

// cornerDeg is the turn within a millimetre that ends an edge.
const cornerDeg = 20.0

// edges returns the outline (cloth at its left) as runs of places alongMM apart,
// cut at the corners.
func edges(outline geometry.Path) [][]place {
	ring := outline.Flatten(0.02)
	length := ring.Length()
	n := int(length / alongMM)
	if n < 8 || n > 1_000_000 {
		return nil
	}
	step := length / float64(n)
	all := make([]place, 0, n)
	i, done, seg := 0, 0.0, ring[0].Dist(ring[1%len(ring)])
	for k := range n {
		s := float64(k) * step
		for s > done+seg && i < len(ring)-1 {
			done, i = done+seg, i+1
			seg = ring[i].Dist(ring[(i+1)%len(ring)])
		}
		a, b := ring[i], ring[(i+1)%len(ring)]
		t := 0.0
		if seg > 0 {
			t = min((s-done)/seg, 1)
		}
		all = append(all, place{at: a.Lerp(b, t), along: s})
	}
	return cutAtCorners(all)
}

func cutAtCorners(all []place) [][]place {
	n, near := len(all), int(0.5/alongMM+0.5)
	corner := make([]bool, n)
	first := 0
	for i := range all {
		p := all[i].at
		in, out := p.Sub(all[(i+n-near)%n].at), all[(i+near)%n].at.Sub(p)
		all[i].inward = in.Add(out).Unit().Perp()
		if math.Abs(math.Atan2(in.Cross(out), in.Dot(out))) > cornerDeg*math.Pi/180 {
			corner[i], first = true, i
		}
	}
	var out [][]place
	var run []place
	for k := 1; k <= n; k++ {
		i := (first + k) % n
		if !corner[i] {
			run = append(run, all[i])
		}
		if (corner[i] || k == n) && len(run) > 0 {
			out, run = append(out, run), nil
		}
	}
	return out
}

// unroll adds the lightness of the cloth along an edge to the band, one line a
// distance from it. ok is false where the photo does not show all of it; the
// lines then go on without change.
func unroll(photo *vision.Photo, cal *calib.Calibration, edge []place, band *[lines][]float32) (ok bool) {
	first := len(band[0])
	for j := range band {
		band[j] = band[j][:first+len(edge)] // there is room for all of the edge
	}
	const middle = (firstMM + lastMM) / 2
	for i, p := range edge {
		// A parabola through three points follows the camera to a hundredth of a
		// pixel over so short a way.
		var q [3]vision.Pixel
		for k, d := range [3]float64{firstMM, middle, lastMM} {
			px, seen := cal.ToImage(p.at.Add(p.inward.Scale(d)))
			if !seen || px.X < 1 || px.Y < 1 || px.X > float64(photo.Width-2) || px.Y > float64(photo.Height-2) {
				return false
			}
			q[k] = px
		}
		for j := range band {
			t := 2 * float64(j) / float64(lines-1)
			a, b, c := (t-1)*(t-2)/2, t*(2-t), t*(t-1)/2
			band[j][first+i] = light(photo, a*q[0].X+b*q[1].X+c*q[2].X, a*q[0].Y+b*q[1].Y+c*q[2].Y)
		}
	}
	return true
}

// light returns the lightness at a place of the photo, bilinear.
func light(photo *vision.Photo, x, y float64) float32 {
	i, j := int(x), int(y)
	s, t := float32(x-float64(i)), float32(y-float64(j))
	at := func(i, j int) float32 {
		p := photo.BGR[3*(j*photo.Width+i):]
		return float32(int(p[0])+2*int(p[1])+int(p[2])) / 4
	}
	top := at(i, j) + s*(at(i+1, j)-at(i, j))
	bottom := at(i, j+1) + s*(at(i+1, j+1)-at(i, j+1))
	return top + t*(bottom-top)
}

// quick fills out with what changes within a few millimetres: the line less its
// mean over slowMM. sums is room for one value more than the line has.
func quick(out []float32, sums []float64, line []float32) {
	const half = int(slowMM / alongMM / 2)
	for i, v := range line {
		sums[i+1] = sums[i] + float64(v)
	}
	for i, v := range line {
		lo, hi := max(0, i-half), min(len(line), i+half+1)
		out[i] = v - float32((sums[hi]-sums[lo])/float64(hi-lo))
	}
}

// slowMM is longer than the longest stitch.
const slowMM = 6.0
