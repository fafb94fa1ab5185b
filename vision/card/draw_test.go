package card

import (
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/cv"
)

// drawing is a photo of cards that is computed: a plane seen by a camera, blurred
// and with noise, on a grey ground with soft stripes.
type drawing struct {
	width, height int
	camera        vision.Camera
	cards         map[int]geometry.Rigid
	bare          bool // without the squares round the saddle points
	scrambled     bool // with three columns of the tags inverted
	// over, if set, replaces the shade (0 to 1) of a plane point.
	over   func(p geometry.Point, shade float64) float64
	blurPx float64
	noise  float64 // grey levels
	gamma  float64
}

// above returns a camera of focal length f that looks down from height mm, turned
// by tilt about both axes.
func above(width, height int, f, heightMM, tilt float64) vision.Camera {
	s, c := math.Sincos(tilt)
	// R = Rx(pi - tilt) Ry(tilt/2)
	s2, c2 := math.Sincos(tilt / 2)
	return vision.Camera{
		F: f, Cx: float64(width-1) / 2, Cy: float64(height-1) / 2,
		R: [9]float64{c2, 0, s2, s * s2, -c, -s * c2, c * s2, s, -c * c2},
		T: [3]float64{0, 0, heightMM},
	}
}

// drawn is a card ready for drawing.
type drawn struct {
	place geometry.Rigid // from the plane to the card frame
	s, c  float64        // sine and cosine of its turn
	cells [64]bool
}

// from returns a plane point in the card frame: place.Apply without its sines.
func (c *drawn) from(p geometry.Point) geometry.Point {
	return geometry.Point{X: c.c*p.X - c.s*p.Y + c.place.Move.X, Y: c.s*p.X + c.c*p.Y + c.place.Move.Y}
}

// shade returns how bright the plane is at p.
func (d *drawing) shade(cards []drawn, p geometry.Point) float64 {
	v := 0.45 + 0.1*math.Abs(p.X/9-math.Round(p.X/9)) // soft stripes
	for i := range cards {
		if q := cards[i].from(p); math.Abs(q.X) < SideMM/2 && math.Abs(q.Y) < SideMM/2 {
			v = d.print(&cards[i], q)
		}
	}
	if d.over != nil {
		v = d.over(p, v)
	}
	return v
}

// print returns how bright a card is at q.
func (d *drawing) print(c *drawn, q geometry.Point) float64 {
	const white, black = 0.9, 0.05
	if math.Abs(q.X) < TagMM/2 && math.Abs(q.Y) < TagMM/2 {
		x, y := int((q.X+TagMM/2)/ModuleMM), int((TagMM/2-q.Y)/ModuleMM)
		inside := x > 0 && x < 7 && y > 0 && y < 7
		if c.cells[8*y+x] != (inside && d.scrambled && x%2 == 1) {
			return white
		}
		return black
	}
	for i := range 4 {
		s := SaddlePoint(i)
		if x, y := q.X-s.X, q.Y-s.Y; !d.bare && x*y > 0 && math.Abs(x) < SquareMM && math.Abs(y) < SquareMM {
			return black
		}
	}
	return white
}

// photo draws it, from three by three samples a pixel.
func (d *drawing) photo(t *testing.T, rng *rand.Rand) *vision.Photo {
	t.Helper()
	var cards []drawn
	for id, place := range d.cards {
		cells, err := cv.TagCells(id)
		if err != nil {
			t.Fatal(err)
		}
		back := place.Inverse()
		s, c := math.Sincos(back.Turn)
		cards = append(cards, drawn{back, s, c, cells})
	}
	light := make([]float64, d.width*d.height)
	for y := range d.height {
		for x := range d.width {
			at := func(dx, dy float64) geometry.Point {
				p, _ := d.camera.Plane(vision.Pixel{X: float64(x) + dx, Y: float64(y) + dy}, 0)
				return p
			}
			p := at(0, 0)
			u, v := at(1, 0).Sub(p).Scale(1.0/3), at(0, 1).Sub(p).Scale(1.0/3)
			for k := range 9 {
				light[y*d.width+x] += d.shade(cards, p.Add(u.Scale(float64(k%3-1))).Add(v.Scale(float64(k/3-1)))) / 9
			}
		}
	}
	light = blurred(light, d.width, d.height, d.blurPx)
	p := &vision.Photo{Width: d.width, Height: d.height, BGR: make([]byte, 3*d.width*d.height)}
	for i, v := range light {
		g := 255*math.Pow(min(v, 1), d.gamma) + d.noise*rng.NormFloat64()
		b := byte(max(0, min(255, math.Round(g))))
		p.BGR[3*i], p.BGR[3*i+1], p.BGR[3*i+2] = b, b, b
	}
	return p
}

// blurred returns the picture under a Gaussian.
func blurred(v []float64, width, height int, sigma float64) []float64 {
	if sigma <= 0 {
		return v
	}
	r := int(math.Ceil(4 * sigma))
	kernel, sum := make([]float64, 2*r+1), 0.0
	for i := range kernel {
		x := float64(i-r) / sigma
		kernel[i] = math.Exp(-x * x / 2)
		sum += kernel[i]
	}
	pass := func(in []float64, dx, dy int) []float64 {
		out := make([]float64, len(in))
		for y := range height {
			for x := range width {
				for i, k := range kernel {
					xx := max(0, min(width-1, x+(i-r)*dx))
					yy := max(0, min(height-1, y+(i-r)*dy))
					out[y*width+x] += k / sum * in[yy*width+xx]
				}
			}
		}
		return out
	}
	return pass(pass(v, 1, 0), 0, 1)
}

// twoCards is a drawing of 720 x 480 px at some 3.5 px/mm with cards 7 and 300.
func twoCards() *drawing {
	return &drawing{
		width: 720, height: 480, camera: above(720, 480, 1000, 290, 0.15), blurPx: 0.9, noise: 2, gamma: 1 / 2.2,
		cards: map[int]geometry.Rigid{
			7:   {Turn: 0.4, Move: geometry.Point{X: -51.3, Y: 3.2}},
			300: {Turn: -2.1, Move: geometry.Point{X: 50.9, Y: -6.4}},
		},
	}
}

// saddleErrors returns how far each seen saddle point is off, in px, and in
// stated sigmas.
func (d *drawing) saddleErrors(found Detection) (px, sigmas []float64) {
	for i, s := range found.Saddles {
		if s.SigmaPx == 0 {
			continue
		}
		q, _ := d.camera.Project(d.cards[found.ID].Apply(SaddlePoint(i)), 0)
		e := math.Hypot(s.At.X-q.X, s.At.Y-q.Y)
		px, sigmas = append(px, e), append(sigmas, e/s.SigmaPx)
	}
	return px, sigmas
}

func detect(t *testing.T, p *vision.Photo) []Detection {
	t.Helper()
	found, err := Detect(t.Context(), p)
	if err != nil {
		t.Fatal(err)
	}
	return found
}
