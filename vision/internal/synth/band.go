package synth

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
)

// stepPx is the spacing of the pixels whose place on the plane is solved; between
// them it is interpolated, which on phone lenses errs by less than 0.003 px.
const stepPx = 4

// band draws the rows from y0 up to y1 into the photo's bytes.
func (c *canvas) band(y0, y1 int, bgr []byte) {
	margin := len(c.down) - 1
	top, bottom := y0-margin, y1+margin
	lin := c.scan(top, bottom)
	lin = c.blurRows(lin)
	w := c.Width * 3
	for y := y0; y < y1; y++ {
		out := bgr[y*w : (y+1)*w]
		for i := range out {
			at := (y-top)*w + i
			v := c.down[0] * lin[at]
			for k := 1; k <= margin; k++ {
				v += c.down[k] * (lin[at-k*w] + lin[at+k*w])
			}
			out[i] = c.coded(v, y*w+i)
		}
	}
}

// scan returns linear light, blue green red, for the rows from top up to bottom;
// rows outside the photo are drawn as well, for the blur.
func (c *canvas) scan(top, bottom int) []float32 {
	g := c.sight(top, bottom)
	out := make([]float32, (bottom-top)*c.Width*3)
	for left := 0; left < c.Width; left += blockPx {
		right := min(left+blockPx, c.Width)
		c.near(g, left, right, bottom-top).block(g, left, right, top, bottom, out)
	}
	return out
}

// blockPx is the width of the blocks of a band for which it is worked out what
// can be seen or throws a shadow there.
const blockPx = 64

// block draws the columns from left up to right of a band.
func (c *canvas) block(g *sightGrid, left, right, top, bottom int, out []float32) {
	w, h := float64(c.Width)/2, float64(c.Height)/2
	for y := top; y < bottom; y++ {
		for x := left; x < right; x++ {
			p, dx, dy, ok := g.at(x, y-top)
			if !ok {
				continue
			}
			u, v := float64(x)-w, float64(y)-h
			col := c.pixel(p, dx, dy).scale(1 - c.Light.Vignette*(u*u+v*v)/(w*w+h*h))
			o := out[((y-top)*c.Width+x)*3:]
			o[0], o[1], o[2] = float32(col[2]), float32(col[1]), float32(col[0])
		}
	}
}

// near returns the canvas without what is too far from a block of rows 0 to rows
// to be seen in it.
func (c *canvas) near(g *sightGrid, left, right, rows int) *canvas {
	var seen geometry.Polyline
	for _, y := range [3]int{0, rows / 2, rows - 1} {
		for _, x := range [3]int{left, (left + right) / 2, right - 1} {
			p, _, _, ok := g.at(x, y)
			if !ok {
				return c
			}
			seen = append(seen, p)
		}
	}
	lo, hi := seen.Bounds()
	// Between the points that were asked, a straight line of sight bends by less
	// than a tenth.
	const spare = 10.0
	pad := spare + 0.1*max(hi.X-lo.X, hi.Y-lo.Y)
	lo, hi = geometry.Point{X: lo.X - pad, Y: lo.Y - pad}, geometry.Point{X: hi.X + pad, Y: hi.Y + pad}
	part := *c
	apart := func(a, b geometry.Point) bool { return a.X > hi.X || a.Y > hi.Y || b.X < lo.X || b.Y < lo.Y }
	part.cards = slices.DeleteFunc(slices.Clone(c.cards), func(k *drawnCard) bool {
		r := geometry.Vec{X: cardReachMM, Y: cardReachMM}.Scale(1 + k.LiftMM/20)
		return apart(k.Centre.Add(r.Scale(-1)), k.Centre.Add(r))
	})
	far := func(d *drawnPiece) bool { return apart(d.lo, d.hi) }
	part.pieces = slices.DeleteFunc(slices.Clone(c.pieces), far)
	part.scraps = slices.DeleteFunc(slices.Clone(c.scraps), far)
	part.things = slices.DeleteFunc(slices.Clone(c.things), far)
	return &part
}

// cardReachMM is how far from its centre a flat card and its shadow reach: half
// its diagonal and 30 mm.
const cardReachMM = 100.0

// sightGrid holds the plane points that a grid of pixels sees.
type sightGrid struct {
	nx    int
	point []geometry.Point
	ok    []bool
}

func (c *canvas) sight(top, bottom int) *sightGrid {
	g := &sightGrid{nx: c.Width/stepPx + 2}
	for y := 0; y <= bottom-top+stepPx; y += stepPx {
		for i := range g.nx {
			p, ok := c.Camera.Plane(vision.Pixel{X: float64(i * stepPx), Y: float64(top + y)}, 0)
			g.point, g.ok = append(g.point, p), append(g.ok, ok)
		}
	}
	return g
}

// at returns the plane point at pixel column x and row y of the band, and how it
// moves with a step of one pixel right and down.
func (g *sightGrid) at(x, y int) (p geometry.Point, dx, dy geometry.Vec, ok bool) {
	i := y/stepPx*g.nx + x/stepPx
	if !g.ok[i] || !g.ok[i+1] || !g.ok[i+g.nx] || !g.ok[i+g.nx+1] {
		return p, dx, dy, false
	}
	u, v := float64(x%stepPx)/stepPx, float64(y%stepPx)/stepPx
	a, b := g.point[i], g.point[i+1]
	d, e := g.point[i+g.nx], g.point[i+g.nx+1]
	l, r := a.Lerp(d, v), b.Lerp(e, v)
	return l.Lerp(r, u), r.Sub(l).Scale(1.0 / stepPx), d.Lerp(e, u).Sub(a.Lerp(b, u)).Scale(1.0 / stepPx), true
}

// blurRows blurs each row; beyond its ends the last pixel goes on.
func (c *canvas) blurRows(lin []float32) []float32 {
	margin := len(c.across) - 1
	if margin == 0 {
		return lin
	}
	w := c.Width * 3
	out := make([]float32, len(lin))
	for row := 0; row < len(lin); row += w {
		in, o := lin[row:row+w], out[row:row+w]
		for i := range o {
			v := c.across[0] * in[i]
			for k := 1; k <= margin; k++ {
				l, r := i-3*k, i+3*k
				if l < 0 {
					l = i % 3
				}
				if r >= w {
					r = w - 3 + i%3
				}
				v += c.across[k] * (in[l] + in[r])
			}
			o[i] = v
		}
	}
	return out
}

// blur returns one half of the kernel, of sum 1 and middle first, of a Gaussian
// of the given deviation that moves by smear pixels.
func blur(sigma, smear float64) []float32 {
	smear = math.Abs(smear)
	if sigma <= 0 && smear == 0 {
		return []float32{1}
	}
	sigma = max(sigma, 0.2)
	n := int(math.Ceil(3*sigma + smear/2))
	k := make([]float32, n+1)
	sum := 0.0
	for i := range k {
		v := 0.0
		const steps = 16
		for m := range steps {
			d := float64(i) + smear*((float64(m)+0.5)/steps-0.5)
			v += math.Exp(-d * d / (2 * sigma * sigma))
		}
		k[i] = float32(v)
		if sum += v; i > 0 {
			sum += v
		}
	}
	for i := range k {
		k[i] /= float32(sum)
	}
	return k
}

// codes is the size of the table from linear light to sRGB.
const codes = 1 << 14

// codeTable holds sRGB values by the square root of linear light, which spreads
// the dark end.
func codeTable() []float32 {
	t := make([]float32, codes+2)
	for i := range t {
		l := float64(i) / codes
		t[i] = float32(255 * encoded(l*l))
	}
	return t
}

// coded returns the byte for linear light v, with the noise that belongs to the
// n-th value of the photo.
func (c *canvas) coded(v float32, n int) byte {
	l := math.Sqrt(min(max(float64(v), 0), 1))
	level := float64(c.code[int(l*codes+0.5)])
	if c.Noise > 0 {
		level += c.Noise * bell(uint64(n)^c.Seed<<32)
	}
	return byte(min(max(level+0.5, 0), 255))
}

// bell returns a value of mean 0 and deviation 1 that depends on n alone: the sum
// of eight uniform bytes of a mixed 64-bit number (Steele et al., Fast splittable
// pseudorandom number generators, 2014, for the mixing).
func bell(n uint64) float64 {
	n += 0x9e3779b97f4a7c15
	n = (n ^ n>>30) * 0xbf58476d1ce4e5b9
	n = (n ^ n>>27) * 0x94d049bb133111eb
	n ^= n >> 31
	// Pairs of bytes into four lanes, and the lanes into the highest by one
	// multiplication.
	const lanes = 0x00ff00ff00ff00ff
	sum := (n&lanes + n>>8&lanes) * 0x0001000100010001 >> 48
	// A uniform byte has mean 127.5 and deviation 73.9.
	return (float64(sum) - 8*127.5) * (1 / (73.9 * math.Sqrt2 * 2))
}
