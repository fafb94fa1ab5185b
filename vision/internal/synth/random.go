package synth

import (
	"math"
	"math/rand/v2"

	"secondcut/geometry"
	"secondcut/vision"
)

// Random returns the scene number seed of an endless series: one piece of cloth
// with four to six cards around it, seen by a phone at up to 22 degrees of tilt.
// Shapes, cloths, surfaces, light and state of the edge vary as in a sewing
// room; width and height are the photo's, in pixels.
func Random(seed uint64, width, height int) Scene {
	r := &dice{rand.New(rand.NewPCG(seed, 0x5eed))}
	s := Scene{
		Width: width, Height: height, Seed: seed,
		ThicknessMM: r.between(0.3, 0.9),
		BlurPx:      r.between(0.5, 1.1), Noise: r.between(0.6, 2.5),
		Quality: 80 + r.IntN(15),
	}
	s.Light = r.light(s.ThicknessMM)
	surface, cloth := r.tones()
	s.Surface = r.surface(surface, seed)
	piece := Piece{Name: "piece", Path: r.shape(), Cloth: r.cloth(cloth, seed+1).Turned(r.between(-20, 20)), Edge: r.edge(seed)}
	piece = piece.Place(r.between(-15, 15), geometry.Point{})
	lo, hi := piece.Path.Flatten(1).Bounds()
	middle := lo.Lerp(hi, 0.5)
	piece = piece.Place(0, geometry.Point{X: -middle.X, Y: -middle.Y})
	s.Pieces = []Piece{piece}
	s.Cards = r.cards(piece, 4+r.IntN(3))
	s.Camera = r.camera(s, width, height)
	return s
}

// dice draws the choices of one scene.
type dice struct{ *rand.Rand }

func (r *dice) between(a, b float64) float64 { return a + (b-a)*r.Float64() }

// tones returns two colours whose lightness differs enough for an eye to see the
// edge without effort (at least a factor of 1.8 in linear light).
func (r *dice) tones() (surface, cloth Colour) {
	tone := func() Colour {
		l := math.Exp(r.between(math.Log(0.04), math.Log(0.6)))
		c := Colour{l * r.between(0.75, 1.3), l, l * r.between(0.6, 1.25)}
		for i := range c {
			c[i] = math.Min(c[i], 0.8)
		}
		return c
	}
	for {
		surface, cloth = tone(), tone()
		if q := surface[1] / cloth[1]; q > 1.8 || q < 1/1.8 {
			return surface, cloth
		}
	}
}

func (r *dice) surface(c Colour, seed uint64) Paint {
	dark := c.scale(r.between(0.55, 0.8))
	turn := r.between(-25, 25)
	switch r.IntN(6) {
	case 0:
		return Paper(c, seed)
	case 1:
		return Boards(c, dark, r.between(90, 180), seed).Turned(turn)
	case 2:
		return Wood(c, dark, seed).Turned(turn)
	case 3:
		return Carpet(c, r.between(2, 4), seed)
	case 4:
		return Tiles(c, c.mix(Colour{0.5, 0.5, 0.5}, 0.5), r.between(150, 300), seed).Turned(turn)
	default:
		return Stone(c, dark, seed).Turned(turn)
	}
}

func (r *dice) cloth(c Colour, seed uint64) Paint {
	base := Weave(c, r.between(0.35, 0.9), r.between(0.1, 0.7), seed)
	if r.IntN(3) == 0 {
		base = Twill(c, r.between(1.2, 2.5), seed)
	}
	// A second colour, as what it does to the first.
	second := Colour{r.between(0.5, 1.25), r.between(0.5, 1.25), r.between(0.5, 1.25)}
	switch r.IntN(6) {
	case 0:
		period := r.between(8, 40)
		return Stripes(base, second, period, period*r.between(0.2, 0.6))
	case 1:
		period := r.between(10, 50)
		return Checks(base, second, period, period*r.between(0.3, 0.5))
	case 2:
		return Dots(base, second, r.between(9, 30), r.between(1, 4))
	default:
		return base
	}
}

func (r *dice) edge(seed uint64) Edge {
	e := Edge{Seed: seed}
	switch r.IntN(3) {
	case 0: // clean
	case 1: // light fray
		e.LossMM, e.Threads, e.ThreadMM = r.between(0.2, 0.8), r.between(0.02, 0.1), r.between(2, 6)
	default: // heavy
		e.LossMM, e.Threads, e.ThreadMM = r.between(0.8, 1.5), r.between(0.05, 0.2), r.between(5, 14)
	}
	return e
}

// light returns the light of a room, from 25 to 75 degrees above the surface, on
// cloth of the given thickness.
func (r *dice) light(thickness float64) Light {
	l := Light{
		Gain: r.between(0.85, 1.15), Slope: geometry.Vec{X: r.between(-0.5, 0.5), Y: r.between(-0.5, 0.5)},
		Vignette: r.between(0, 0.25), FromDeg: r.between(0, 360),
		Throw: thickness / math.Tan(rad(r.between(25, 75))), Soft: r.between(0.4, 2), Dark: r.between(0.1, 0.45),
	}
	if r.IntN(4) == 0 {
		l.Shadows = append(l.Shadows, Shadow{
			At:     geometry.Point{X: r.between(-300, 300), Y: r.between(-300, 300)},
			Across: r.between(80, 250), Up: r.between(150, 400), TurnDeg: r.between(0, 180),
			Soft: r.between(0.2, 0.8), Dark: r.between(0.1, 0.4),
		})
	}
	return l
}

// shape returns a piece of a random kind: a panel with curved sides, 150 to
// 600 mm long.
func (r *dice) shape() geometry.Path {
	w, h := r.between(140, 420), r.between(160, 600)
	top := w * r.between(0.45, 1)
	bow := func() float64 { return r.between(-0.07, 0.07) }
	pen := NewPen(geometry.Point{X: -w / 2, Y: 0})
	pen.Curve(geometry.Point{X: -w / 6, Y: h * bow()}, geometry.Point{X: w / 6, Y: h * bow()}, geometry.Point{X: w / 2, Y: 0})
	if r.IntN(2) == 0 {
		pen.Line(geometry.Point{X: top / 2, Y: h})
	} else {
		d := w * bow()
		pen.Curve(geometry.Point{X: w/2 + d, Y: h / 3}, geometry.Point{X: top/2 + d, Y: h * 2 / 3}, geometry.Point{X: top / 2, Y: h})
	}
	switch r.IntN(3) {
	case 0:
		pen.Line(geometry.Point{X: -top / 2, Y: h})
	case 1: // a hollow, as at a neck
		dip := h - r.between(0.05, 0.2)*h
		pen.Curve(geometry.Point{X: top / 4, Y: dip}, geometry.Point{X: -top / 4, Y: dip}, geometry.Point{X: -top / 2, Y: h})
	default: // a cap, as at a sleeve
		rise := h + r.between(0.1, 0.25)*h
		pen.Curve(geometry.Point{X: top / 4, Y: rise}, geometry.Point{X: -top / 4, Y: rise}, geometry.Point{X: -top / 2, Y: h})
	}
	return pen.Close()
}

// cards lays n cards around the piece, clear of it by at least 8 mm, spread over
// the directions.
func (r *dice) cards(p Piece, n int) []Card {
	ring := p.Path.Flatten(1)
	lo, hi := ring.Bounds()
	first := r.IntN(570)
	var out []Card
	start := r.between(0, 360)
	for i := range n {
		a := start + (float64(i)+r.between(-0.2, 0.2))*360/float64(n)
		sin, cos := math.Sincos(rad(a))
		// Half the diagonal of a card is 57 mm.
		for d := 60.0; ; d += 4 {
			at := geometry.Point{X: cos * d, Y: sin * d}
			box := at.X > lo.X-57 && at.X < hi.X+57 && at.Y > lo.Y-57 && at.Y < hi.Y+57
			if !box || clearOf(ring, at, 57+8+p.Edge.ThreadMM/2) {
				out = append(out, Card{ID: first + i, Centre: at, TurnDeg: r.between(0, 360)})
				break
			}
		}
	}
	return out
}

func clearOf(ring geometry.Polyline, at geometry.Point, gap float64) bool {
	if ring.Contains(at) {
		return false
	}
	for i, a := range ring {
		if distance(at, a, ring[(i+1)%len(ring)]) < gap {
			return false
		}
	}
	return true
}

// camera returns a phone held so that everything fits with a margin.
func (r *dice) camera(s Scene, width, height int) vision.Camera {
	f := float64(max(width, height)) * r.between(0.68, 0.82) // 24 to 30 mm on film
	v := View{Distance: 300, TiltDeg: r.between(0, 22), TowardDeg: r.between(0, 360), TurnDeg: r.between(-10, 10)}
	lo, hi := s.Pieces[0].Path.Flatten(1).Bounds()
	if (hi.X-lo.X < hi.Y-lo.Y) == (width > height) {
		v.TurnDeg += 90
	}
	for ; ; v.Distance *= 1.02 {
		c := LookDown(width, height, f, v)
		c.K1, c.K2 = 0, 0
		if fits(c, s, width, height) {
			k := r.between(-0.12, 0.06)
			c.K1, c.K2 = k, -0.3*k
			c.P1, c.P2 = r.between(-4e-4, 4e-4), r.between(-4e-4, 4e-4)
			c.Cx, c.Cy = c.Cx+r.between(-6, 6), c.Cy+r.between(-6, 6)
			return c
		}
	}
}

// fits reports whether piece and cards lie in the photo with a margin of 3 % of
// its height.
func fits(c vision.Camera, s Scene, width, height int) bool {
	margin := 0.03 * float64(min(width, height))
	all := s.Pieces[0].Path.Flatten(1)
	for _, k := range s.Cards {
		for _, d := range []geometry.Vec{{X: 57}, {X: -57}, {Y: 57}, {Y: -57}} {
			all = append(all, k.Centre.Add(d))
		}
	}
	for _, p := range all {
		px, ok := c.Project(p, 0)
		if !ok || px.X < margin || px.Y < margin || px.X > float64(width)-margin || px.Y > float64(height)-margin {
			return false
		}
	}
	return true
}
