package synth

import (
	"image"
	"math"
	"math/rand/v2"

	"secondcut/geometry"
)

// Colour is linear light: red, green, blue, 1 = a white diffuse surface.
type Colour [3]float64

// Paint gives the colour of a material at each point of the plane frame. It is
// called from several goroutines at once.
type Paint func(p geometry.Point) Colour

// SRGB returns the linear colour of sRGB values 0..255 (IEC 61966-2-1).
func SRGB(r, g, b uint8) Colour {
	return Colour{linear(float64(r) / 255), linear(float64(g) / 255), linear(float64(b) / 255)}
}

func linear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func encoded(l float64) float64 {
	if l <= 0.0031308 {
		return 12.92 * l
	}
	return 1.055*math.Pow(l, 1/2.4) - 0.055
}

func (c Colour) scale(s float64) Colour { return Colour{c[0] * s, c[1] * s, c[2] * s} }

func (c Colour) mix(d Colour, t float64) Colour {
	return Colour{c[0] + (d[0]-c[0])*t, c[1] + (d[1]-c[1])*t, c[2] + (d[2]-c[2])*t}
}

// Turned returns the paint turned counter-clockwise by deg about the origin.
func (p Paint) Turned(deg float64) Paint {
	s, c := math.Sincos(rad(deg))
	return func(q geometry.Point) Colour { return p(geometry.Point{X: c*q.X + s*q.Y, Y: -s*q.X + c*q.Y}) }
}

// Plain returns a paint of one colour.
func Plain(c Colour) Paint { return func(geometry.Point) Colour { return c } }

// Picture returns a paint that repeats a picture of pxPerMM pixels a millimetre,
// its top left pixel at the origin.
func Picture(img image.Image, pxPerMM float64) Paint {
	b := img.Bounds()
	w, h := b.Dx(), b.Dy()
	pix := make([]Colour, w*h)
	for i := range pix {
		r, g, bl, _ := img.At(b.Min.X+i%w, b.Min.Y+i/w).RGBA()
		pix[i] = SRGB(uint8(r>>8), uint8(g>>8), uint8(bl>>8))
	}
	return func(p geometry.Point) Colour {
		x, y := p.X*pxPerMM, -p.Y*pxPerMM
		fx, fy := math.Floor(x), math.Floor(y)
		x0, y0 := wrap(int(fx), w), wrap(int(fy), h)
		x1, y1 := (x0+1)%w, (y0+1)%h
		top := pix[y0*w+x0].mix(pix[y0*w+x1], x-fx)
		return top.mix(pix[y1*w+x0].mix(pix[y1*w+x1], x-fx), y-fy)
	}
}

func wrap(i, n int) int { return (i%n + n) % n }

// field is smooth noise on a lattice of unit cells (value noise), repeating
// after fieldSize cells.
type field struct{ v []float32 }

const fieldSize = 256

func newField(seed uint64) field {
	rng := rand.New(rand.NewPCG(seed, 0x5ec0dc07))
	v := make([]float32, fieldSize*fieldSize)
	for i := range v {
		v[i] = rng.Float32()*2 - 1
	}
	return field{v}
}

// at returns a value in [-1, 1] that changes smoothly over a distance of 1.
func (f field) at(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	i, j := int(fx)&(fieldSize-1), int(fy)&(fieldSize-1)
	i1, j1 := (i+1)&(fieldSize-1), (j+1)&(fieldSize-1)
	u, v := float32(smooth(x-fx)), float32(smooth(y-fy))
	a, b := f.v[j*fieldSize+i], f.v[j*fieldSize+i1]
	c, d := f.v[j1*fieldSize+i], f.v[j1*fieldSize+i1]
	top, bottom := a+(b-a)*u, c+(d-c)*u
	return float64(top + (bottom-top)*v)
}

// octaves sums noise of halving size and strength, about within [-1, 1].
func (f field) octaves(x, y float64, n int) float64 {
	sum, amp := 0.0, 0.5
	for range n {
		sum += amp * f.at(x, y)
		// A turn and an odd factor keep the lattices from lining up.
		x, y, amp = 1.62*x-1.18*y+7.3, 1.18*x+1.62*y+3.1, amp/2
	}
	return sum * 1.4
}

// smooth is the cubic step 3t^2 - 2t^3.
func smooth(t float64) float64 { return t * t * (3 - 2*t) }

// ramp rises smoothly from 0 at a to 1 at b.
func ramp(a, b, x float64) float64 {
	return smooth(min(max((x-a)/(b-a), 0), 1))
}
