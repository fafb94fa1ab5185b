package outline

import (
	"math"
	"math/rand/v2"

	"secondcut/geometry"
	"secondcut/vision"
)

// above is a camera straight above the plane: scale pixels a millimetre, the
// plane's origin at the centre of a square photo.
type above struct{ scale, half float64 }

func (a above) ToImage(p geometry.Point) (vision.Pixel, bool) {
	return vision.Pixel{X: a.half + p.X*a.scale, Y: a.half - p.Y*a.scale}, true
}

func (a above) toPlane(x, y float64) geometry.Point {
	return geometry.Point{X: (x - a.half) / a.scale, Y: (a.half - y) / a.scale}
}

// scene is what a test photo shows. Colours are coded values 0..255, blue,
// green, red; the blur of blurPx happens in values raised to the power blurIn
// (1 coded, 2.2 close to linear light).
type scene struct {
	cloth  func(p geometry.Point) bool
	inside func(p geometry.Point) [3]float64
	ground func(p geometry.Point) [3]float64
	blurPx float64
	blurIn float64
	noise  float64
}

// pixel returns the values of one pixel before blur.
func (s scene) pixel(view above, x, y float64) (v [3]float64) {
	at := func(p geometry.Point) [3]float64 {
		if s.cloth(p) {
			return s.inside(p)
		}
		return s.ground(p)
	}
	n := 1
	for k := range 4 {
		if s.cloth(view.toPlane(x+float64(k%2)-0.5, y+float64(k/2)-0.5)) != s.cloth(view.toPlane(x, y)) {
			n = 4
		}
	}
	for k := range n * n {
		p := view.toPlane(x+(float64(k%n)+0.5)/float64(n)-0.5, y+(float64(k/n)+0.5)/float64(n)-0.5)
		for c, u := range at(p) {
			v[c] += math.Pow(u/255, s.blurIn) / float64(n*n)
		}
	}
	return v
}

func plain(b, g, r float64) func(geometry.Point) [3]float64 {
	return func(geometry.Point) [3]float64 { return [3]float64{b, g, r} }
}

// draw renders the scene of side pixels; where the edge runs through a pixel, 4 x
// 4 points are averaged.
func (s scene) draw(view above, side int, seed uint64) *vision.Photo {
	var plane [3][]float64
	for c := range plane {
		plane[c] = make([]float64, side*side)
	}
	for y := range side {
		for x := range side {
			v := s.pixel(view, float64(x), float64(y))
			for c, u := range v {
				plane[c][y*side+x] = u
			}
		}
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	photo := &vision.Photo{Width: side, Height: side, BGR: make([]byte, 3*side*side)}
	for c := range plane {
		for i, v := range blurred(plane[c], side, s.blurPx) {
			u := 255*math.Pow(v, 1/s.blurIn) + s.noise*rng.NormFloat64()
			photo.BGR[3*i+c] = byte(math.Round(math.Min(math.Max(u, 0), 255)))
		}
	}
	return photo
}

// blurred convolves a square picture with a Gaussian of sigma pixels.
func blurred(v []float64, side int, sigma float64) []float64 {
	r := int(math.Ceil(4 * sigma))
	k := gauss(math.Max(sigma, 0.1), r)
	for range 2 { // rows, then columns: each round also transposes
		out := make([]float64, len(v))
		for y := range side {
			for x := range side {
				var s float64
				for j, w := range k {
					s += w * v[y*side+min(max(x+j-r, 0), side-1)]
				}
				out[x*side+y] = s
			}
		}
		v = out
	}
	return v
}

// disc is a round piece and its distance function, positive outside.
func disc(r float64) (cloth func(geometry.Point) bool, dist func(geometry.Point) float64) {
	dist = func(p geometry.Point) float64 { return math.Hypot(p.X, p.Y) - r }
	return func(p geometry.Point) bool { return dist(p) < 0 }, dist
}

// square is a square piece of half side h, turned by angle radians.
func square(h, angle float64) (cloth func(geometry.Point) bool, dist func(geometry.Point) float64) {
	s, c := math.Sincos(angle)
	dist = func(p geometry.Point) float64 {
		x, y := math.Abs(c*p.X+s*p.Y)-h, math.Abs(c*p.Y-s*p.X)-h
		if x > 0 && y > 0 {
			return math.Hypot(x, y)
		}
		return math.Max(x, y)
	}
	return func(p geometry.Point) bool { return dist(p) < 0 }, dist
}

// rough returns a coarse contour about a piece: counter-clockwise, found along
// rays from the origin, off by a smooth wobble of up to mm.
func rough(dist func(geometry.Point) float64, mm float64, seed uint64) geometry.Polyline {
	rng := rand.New(rand.NewPCG(seed, 2))
	a, b := rng.Float64()*6, rng.Float64()*6
	var out geometry.Polyline
	for i := range 300 {
		t := 2 * math.Pi * float64(i) / 300
		s, c := math.Sincos(t)
		lo, hi := 0.0, 1000.0
		for range 50 {
			r := (lo + hi) / 2
			if dist(geometry.Point{X: r * c, Y: r * s}) < 0 {
				lo = r
			} else {
				hi = r
			}
		}
		r := lo + mm*(math.Sin(5*t+a)+math.Sin(9*t+b))/2
		out = append(out, geometry.Point{X: r * c, Y: r * s})
	}
	return out
}
