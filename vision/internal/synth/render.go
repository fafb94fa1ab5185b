package synth

import (
	"fmt"
	"math"
	"runtime"
	"sync"

	"secondcut/geometry"
	"secondcut/vision"
)

// Render returns the photo of the scene. It fails when a card's number does not
// exist or the size is not positive.
//
// Where something changes within a pixel the pixel is the mean of 32 samples on
// a lattice that has 32 different places in x and in y, so that edges of any
// direction stand right to about 1/64 px.
func Render(s Scene) (*vision.Photo, error) {
	if s.Width < 8 || s.Height < 8 {
		return nil, fmt.Errorf("synth: no photo of %d x %d pixels", s.Width, s.Height)
	}
	c, err := newCanvas(s)
	if err != nil {
		return nil, err
	}
	photo := &vision.Photo{Width: s.Width, Height: s.Height, FocalPx: s.Camera.F, BGR: make([]byte, s.Width*s.Height*3)}
	const rows = 64
	bands := make(chan int)
	var done sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		done.Go(func() {
			for y := range bands {
				c.band(y, min(y+rows, s.Height), photo.BGR)
			}
		})
	}
	for y := 0; y < s.Height; y += rows {
		bands <- y
	}
	close(bands)
	done.Wait()
	return photo, nil
}

// canvas is a scene made ready for drawing.
type canvas struct {
	Scene
	eye    [3]float64
	from   geometry.Vec // unit vector toward the light
	cards  []*drawnCard
	pieces []*drawnPiece
	code   []float32 // sRGB value 0..255 by linear light
	scraps []*drawnPiece
	things []*drawnPiece // in the order of their parts
	across []float32     // half of the blur kernel along rows, from its middle
	down   []float32     // that along columns
}

func newCanvas(s Scene) (*canvas, error) {
	c := &canvas{Scene: s, eye: s.Camera.Centre(), code: codeTable()}
	sin, cos := math.Sincos(rad(s.Light.FromDeg))
	c.from = geometry.Vec{X: cos, Y: sin}
	if c.Light.Gain == 0 {
		c.Light.Gain = 1
	}
	for _, k := range s.Cards {
		d, err := newCard(k)
		if err != nil {
			return nil, err
		}
		c.cards = append(c.cards, &d)
	}
	for _, p := range s.Pieces {
		c.pieces = append(c.pieces, newPiece(p))
	}
	for _, p := range s.Scraps {
		c.scraps = append(c.scraps, newPiece(p))
	}
	for _, t := range s.Things {
		for _, p := range t.Parts {
			c.things = append(c.things, newPiece(p))
		}
	}
	lens := orDefault(s.BlurPx, 0.7)
	c.across, c.down = blur(lens, s.SmearPx.X), blur(lens, s.SmearPx.Y)
	c.Noise = orDefault(s.Noise, 1.2)
	return c, nil
}

// orDefault reads an option whose zero means d and whose negative means none.
func orDefault(v, d float64) float64 {
	switch {
	case v == 0:
		return d
	case v < 0:
		return 0
	}
	return v
}

// raised returns the point at height z that hides the surface's point p.
func (c *canvas) raised(p geometry.Point, z float64) geometry.Point {
	t := z / c.eye[2]
	return geometry.Point{X: p.X + (c.eye[0]-p.X)*t, Y: p.Y + (c.eye[1]-p.Y)*t}
}

// sample returns the light that comes from behind the surface's point p.
func (c *canvas) sample(p geometry.Point) Colour {
	for i := len(c.things) - 1; i >= 0; i-- {
		if tone, ok := c.things[i].cover(p); ok {
			return c.things[i].Cloth(p).scale(tone * c.light(p))
		}
	}
	for i := len(c.pieces) - 1; i >= 0; i-- {
		up, bright := c.face(c.pieces[i], p)
		if tone, ok := c.pieces[i].cover(up); ok {
			dim := c.light(p)
			for _, t := range c.things {
				dim *= 1 - t.shadow(p, &c.Light, c.from)
			}
			return c.pieces[i].Cloth(up).scale(tone * bright * dim)
		}
	}
	dim := c.light(p)
	for _, t := range c.things {
		dim *= 1 - t.shadow(p, &c.Light, c.from)
	}
	for _, d := range c.pieces {
		dim *= 1 - d.shadow(p, &c.Light, c.from)
	}
	for i := len(c.scraps) - 1; i >= 0; i-- {
		d := c.scraps[i]
		if tone, ok := d.cover(p); ok {
			return d.Cloth(p).scale(tone * dim)
		}
		dim *= 1 - d.shadow(p, &c.Light, c.from)
	}
	for i := len(c.cards) - 1; i >= 0; i-- {
		k := c.cards[i]
		if tone, ok := k.tone(k.local(c.raised(p, k.LiftMM))); ok {
			return Colour{tone * dim, tone * 0.995 * dim, tone * 0.97 * dim}
		}
	}
	for _, k := range c.cards {
		dim *= 1 - k.shadow(p, &c.Light, c.from)
	}
	return c.Surface(p).scale(dim)
}

// face returns the point of the piece's upper face that hides the surface's point
// p, and how bright it is for its slope.
func (c *canvas) face(d *drawnPiece, p geometry.Point) (geometry.Point, float64) {
	up := c.raised(p, c.ThicknessMM)
	if d.RippleMM <= 0 {
		return up, 1
	}
	const length = 120.0 // mm from wave to wave, as badly pressed cotton shows
	phase := 2 * math.Pi * (0.8*up.X + 0.6*up.Y + 30*d.ragged.at(up.X/150, up.Y/150)) / length
	sin, cos := math.Sincos(phase)
	return c.raised(p, c.ThicknessMM+d.RippleMM*(0.5+0.5*sin)), 1 + 1.5*d.RippleMM*math.Pi/length*cos
}

// light returns the brightness of the light at p.
func (c *canvas) light(p geometry.Point) float64 {
	l := &c.Light
	b := l.Gain * max(0.05, 1+(l.Slope.X*p.X+l.Slope.Y*p.Y)/1000)
	for _, s := range l.Shadows {
		sin, cos := math.Sincos(rad(s.TurnDeg))
		x, y := p.X-s.At.X, p.Y-s.At.Y
		u, v := (cos*x+sin*y)/s.Across, (-sin*x+cos*y)/s.Up
		r := math.Sqrt(u*u + v*v)
		b *= 1 - s.Dark*(1-ramp(1-s.Soft/2, 1+s.Soft/2+1e-6, r))
	}
	for _, g := range l.Glares {
		d := p.Sub(g.At)
		b *= 1 + g.Gain*math.Exp(-d.Dot(d)/(2*g.Reach*g.Reach))
	}
	return b
}

// busy reports whether something sharp lies within r mm of the surface's point p.
func (c *canvas) busy(p geometry.Point, r float64) bool {
	for _, k := range c.cards {
		if k.busy(k.local(c.raised(p, k.LiftMM)), r) {
			return true
		}
	}
	for _, d := range c.pieces {
		if up, _ := c.face(d, p); d.busy(up, r) {
			return true
		}
	}
	for _, list := range [2][]*drawnPiece{c.scraps, c.things} {
		for _, d := range list {
			if d.busy(p, r) {
				return true
			}
		}
	}
	return false
}

// lattice are the places of the samples in a pixel, as offsets from its centre:
// a rank-1 lattice of 32 points, generator (1, 7).
var lattice = func() (l [32][2]float64) {
	for i := range l {
		l[i] = [2]float64{(float64(i)+0.5)/32 - 0.5, (float64(i*7%32)+0.5)/32 - 0.5}
	}
	return l
}()

// pixel returns the light of a pixel whose centre sees p, where a step of one
// pixel right or down moves by dx or dy.
func (c *canvas) pixel(p geometry.Point, dx, dy geometry.Vec) Colour {
	// A pixel's corner is at most 0.71 px from its centre.
	if !c.busy(p, 0.75*max(dx.Len(), dy.Len())+0.05) {
		return c.sample(p)
	}
	var sum Colour
	for _, o := range lattice {
		q := geometry.Point{X: p.X + dx.X*o[0] + dy.X*o[1], Y: p.Y + dx.Y*o[0] + dy.Y*o[1]}
		s := c.sample(q)
		sum[0] += s[0]
		sum[1] += s[1]
		sum[2] += s[2]
	}
	return sum.scale(1.0 / float64(len(lattice)))
}
