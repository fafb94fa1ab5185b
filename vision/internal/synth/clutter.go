package synth

import (
	"math"
	"math/rand/v2"
	"strings"

	"secondcut/geometry"
)

// Thing is something on the floor that is no cloth: scissors, a hand, a phone.
type Thing struct {
	Name string
	// Parts lie above cards and pieces, later ones above earlier ones.
	Parts []Piece
}

// Cluttered returns a scene of Rough with one to three things lying about, which
// the tracer must neither trace nor join to a piece, and with tears among the nicks. Most lie clear of the cloth by
// 10 mm and more, some touch it or lie over its edge: those that do, and where, are
// in the truth.
func Cluttered(seed uint64, width, height int) Scene {
	s := Rough(seed, width, height)
	if s.Refuse != "" {
		seed = seed<<8 | 1 // these are to be traced
		s = Rough(seed, width, height)
	}
	r := &dice{rand.New(rand.NewPCG(seed, 0xc1a77e4))}
	for i := range s.Pieces {
		for k := range s.Pieces[i].Edge.Nicks {
			if r.IntN(2) == 0 {
				s.Pieces[i].Edge.Nicks[k].Lean = r.between(0.2, 0.45)
			}
		}
	}
	var names []string
	for range 1 + r.IntN(3) {
		t := r.thing(seed + uint64(len(names)))
		if s.drop(r, &t) {
			s.Things = append(s.Things, t)
			names = append(names, t.Name)
		}
	}
	s.Notes += ", with " + strings.Join(names, ", ")
	return s
}

// drop lays a thing so that its rim keeps a chosen distance from the nearest piece
// and it covers no card; ok is false when there is no room.
func (s *Scene) drop(r *dice, t *Thing) (ok bool) {
	gap := r.between(10, 40)
	switch r.IntN(5) {
	case 0:
		gap = 0
	case 1:
		gap = -r.between(4, 15)
	}
	var rings []geometry.Polyline
	for _, p := range s.Pieces {
		rings = append(rings, p.Path.Flatten(1))
	}
	lo, hi := s.bounds()
	middle := lo.Lerp(hi, 0.5)
	for range 40 {
		way, turn := r.between(0, 2*math.Pi), r.between(0, 360)
		sin, cos := math.Sincos(way)
		for d := 0.0; d < 1500; d += 3 {
			at := geometry.Point{X: middle.X + cos*d, Y: middle.Y + sin*d}
			parts := place(t.Parts, turn, at)
			if clear := clearance(parts, rings); clear < gap {
				continue
			}
			if s.free(parts) && s.inView(parts) {
				t.Parts = parts
				return true
			}
			break
		}
	}
	return false
}

func place(parts []Piece, turn float64, at geometry.Point) []Piece {
	out := make([]Piece, len(parts))
	for i, p := range parts {
		out[i] = p.Place(turn, at)
		cloth, back := p.Cloth, geometry.Rigid{Turn: rad(turn), Move: at}.Inverse()
		out[i].Cloth = func(q geometry.Point) Colour { return cloth(back.Apply(q)) }
	}
	return out
}

// clearance returns how far the parts lie from the rings; negative where they
// cover them, by how deep.
func clearance(parts []Piece, rings []geometry.Polyline) float64 {
	least := math.Inf(1)
	for _, part := range parts {
		for _, p := range part.Path.Flatten(1) {
			for _, ring := range rings {
				d := math.Inf(1)
				for i, a := range ring {
					d = min(d, distance(p, a, ring[(i+1)%len(ring)]))
				}
				if ring.Contains(p) {
					d = -d
				}
				least = min(least, d)
			}
		}
	}
	return least
}

// free reports whether the parts leave all cards and the things before them free.
func (s *Scene) free(parts []Piece) bool {
	var taken []geometry.Polyline
	for _, t := range s.Things {
		for _, p := range t.Parts {
			taken = append(taken, p.Path.Flatten(1))
		}
	}
	if len(taken) > 0 && clearance(parts, taken) < 5 {
		return false
	}
	for _, c := range s.Cards {
		for _, part := range parts {
			ring := part.Path.Flatten(1)
			if ring.Contains(c.Centre) || !clearOf(ring, c.Centre, 62) {
				return false
			}
		}
	}
	return true
}

// inView reports whether the middle of the first part lies in the photo.
func (s *Scene) inView(parts []Piece) bool {
	lo, hi := parts[0].Path.Flatten(1).Bounds()
	px, ok := s.Camera.Project(lo.Lerp(hi, 0.5), 0)
	return ok && px.X > 0 && px.Y > 0 && px.X < float64(s.Width) && px.Y < float64(s.Height)
}

// thing returns one of those that lie about where people sew, in its own frame.
func (r *dice) thing(seed uint64) Thing {
	switch r.IntN(8) {
	case 0, 1:
		return r.scissors()
	case 2:
		return r.hand(seed)
	case 3:
		return r.phone()
	case 4:
		return r.tape()
	case 5:
		return r.ruler()
	case 6:
		return r.tin()
	default:
		return r.leg(seed)
	}
}

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// sheen is a smooth surface that mirrors a bright ceiling in part.
func sheen(c Colour, gloss, turn float64) Paint {
	sin, cos := math.Sincos(rad(turn))
	return func(p geometry.Point) Colour {
		v := cos*p.X + sin*p.Y
		return c.mix(Colour{0.9, 0.92, 0.95}, gloss*math.Pow(0.5+0.5*math.Sin(v/23), 3))
	}
}

// plastic returns the colour of a handle or a case.
func (r *dice) plastic() Colour {
	return []Colour{SRGB(28, 28, 30), SRGB(214, 88, 30), SRGB(160, 24, 36), SRGB(40, 70, 140), SRGB(225, 225, 222), SRGB(90, 90, 95)}[r.IntN(6)]
}

// scissors are 140 to 260 mm long and open by 0 to 30 degrees.
func (r *dice) scissors() Thing {
	l := r.between(140, 260)
	blade, grip := 0.52*l, 0.3*l
	steel := sheen(Colour{0.35, 0.36, 0.37}.scale(r.between(0.5, 1.4)), r.between(0.1, 0.7), r.between(0, 180))
	handle := Plain(r.plastic())
	open := r.between(0, 15)
	t := Thing{Name: "scissors"}
	for _, side := range [2]float64{-1, 1} {
		pen := NewPen(at(-0.03*l, 0))
		pen.Line(at(0.035*l, 0))
		pen.Curve(at(0.035*l, 0.4*blade), at(0.02*l, 0.8*blade), at(0.004*l, blade))
		pen.Curve(at(-0.02*l, 0.6*blade), at(-0.03*l, 0.3*blade), at(-0.03*l, 0))
		arm := NewPen(at(-0.02*l, 0.02*l))
		arm.Line(at(-side*0.05*l-0.02*l, -0.25*l))
		arm.Line(at(-side*0.05*l+0.02*l, -0.25*l))
		arm.Line(at(0.02*l, 0.02*l))
		at := at(-side*0.1*l, -0.16*l-grip/2)
		ring := Piece{Path: oval(at, 0.34*grip, 0.5*grip).Reversed(), Cloth: handle, Holes: []geometry.Path{oval(at, 0.22*grip, 0.36*grip)}}
		for _, p := range []Piece{{Path: pen.Close(), Cloth: steel}, {Path: ccw(arm.Close()), Cloth: handle}, ring} {
			t.Parts = append(t.Parts, p.Place(side*open, geometry.Point{}))
		}
	}
	return t
}

// hand comes with the forearm, which mostly runs out of the picture.
func (r *dice) hand(seed uint64) Thing {
	tone := math.Exp(r.between(math.Log(0.12), math.Log(1)))
	f := newField(seed)
	skin := func(p geometry.Point) Colour {
		k := tone * (1 + 0.12*f.octaves(p.X/30, p.Y/30, 3))
		return Colour{0.62 * k, 0.36 * k, 0.26 * k}
	}
	t := Thing{Name: "hand"}
	spread := r.between(4, 14)
	arm := NewPen(at(-28, -330))
	arm.Line(at(28, -330))
	arm.Curve(at(30, -160), at(27, -90), at(42, -30))
	arm.Curve(at(46, 0), at(44, 20), at(40, 42))
	arm.Line(at(-40, 42))
	arm.Curve(at(-44, 20), at(-46, 0), at(-40, -30))
	arm.Curve(at(-27, -90), at(-30, -160), at(-28, -330))
	t.Parts = append(t.Parts, Piece{Path: arm.Close(), Cloth: skin})
	for i, long := range []float64{62, 78, 84, 74} {
		x := -30 + 20*float64(i)
		p := Piece{Path: tab(18, long), Cloth: skin}.Place((1.5-float64(i))*spread, at(x, 36))
		p.Cloth = skin
		t.Parts = append(t.Parts, p)
	}
	thumb := Piece{Path: tab(21, 72), Cloth: skin}.Place(r.between(30, 60), at(-36, -16))
	thumb.Cloth = skin
	t.Parts = append(t.Parts, thumb)
	return t
}

func (r *dice) phone() Thing {
	w, h := r.between(68, 78), r.between(138, 162)
	glass := sheen(Colour{0.01, 0.011, 0.013}, r.between(0, 0.35), r.between(0, 180))
	return Thing{Name: "phone", Parts: []Piece{
		{Path: rounded(w, h, 9), Cloth: Plain(r.plastic())},
		{Path: rounded(w-5, h-5, 7), Cloth: glass},
	}}
}

// tape is a measuring tape of 20 mm that lies in a bend.
func (r *dice) tape() Thing {
	ground := []Colour{SRGB(232, 196, 40), SRGB(236, 234, 226), SRGB(210, 120, 150)}[r.IntN(3)]
	long, bend := r.between(250, 700), r.between(-40, 40)
	mark := func(p geometry.Point) Colour {
		x := frac(p.X / 10)
		if p.Y-bend*math.Cos(p.X/120) > 4 && x < 0.1 || x > 0.4 && x < 0.7 && math.Abs(p.Y-bend*math.Cos(p.X/120)) < 3 {
			return Colour{0.03, 0.03, 0.03}
		}
		return ground
	}
	var lower, upper geometry.Path
	for x := -long / 2; x <= long/2; x += 5 {
		y := bend * math.Cos(x/120)
		n := geometry.Vec{X: 1, Y: -bend / 120 * math.Sin(x/120)}.Unit().Perp().Scale(10)
		c := at(x, y)
		lower = append(lower, geometry.Knot{At: c.Add(n.Scale(-1))})
		upper = append(upper, geometry.Knot{At: c.Add(n)})
	}
	for i := len(upper) - 1; i >= 0; i-- {
		lower = append(lower, upper[i])
	}
	return Thing{Name: "tape", Parts: []Piece{{Path: lower, Cloth: mark}}}
}

func (r *dice) ruler() Thing {
	w, h := r.between(28, 60), r.between(200, 520)
	ground := []Colour{SRGB(196, 160, 110), SRGB(232, 232, 228), SRGB(170, 172, 176)}[r.IntN(3)]
	return Thing{Name: "ruler", Parts: []Piece{{Path: rounded(w, h, 2), Cloth: func(p geometry.Point) Colour {
		if frac(p.Y/10) < 0.06 && p.X > w/2-8 {
			return Colour{0.03, 0.03, 0.03}
		}
		return ground
	}}}}
}

// tin is a round box of pins, a cup or a plate seen from above.
func (r *dice) tin() Thing {
	a := r.between(28, 75)
	c := r.plastic()
	return Thing{Name: "tin", Parts: []Piece{
		{Path: oval(at(0, 0), a, a).Reversed(), Cloth: sheen(c, 0.3, r.between(0, 180))},
		{Path: oval(at(0, 0), 0.8*a, 0.8*a).Reversed(), Cloth: sheen(c.scale(r.between(0.2, 1.3)), 0.15, r.between(0, 180))},
	}}
}

// leg is the leg of a table: its foot, and the part above that leans outwards in
// the picture.
func (r *dice) leg(seed uint64) Thing {
	w := r.between(35, 70)
	c := r.tone()
	pen := NewPen(at(-w/2, 0))
	pen.Line(at(w/2, 0))
	pen.Line(at(w*0.7, r.between(150, 320)))
	pen.Line(at(-w*0.7, 320))
	return Thing{Name: "leg", Parts: []Piece{{Path: pen.Close(), Cloth: Wood(c, c.scale(0.6), seed)}}}
}

// rounded is an upright rectangle about the origin with round corners.
func rounded(w, h, radius float64) geometry.Path {
	x, y, k := w/2, h/2, 0.45*radius
	p := NewPen(at(-x+radius, -y))
	p.Line(at(x-radius, -y))
	p.Curve(at(x-k, -y), at(x, -y+k), at(x, -y+radius))
	p.Line(at(x, y-radius))
	p.Curve(at(x, y-k), at(x-k, y), at(x-radius, y))
	p.Line(at(-x+radius, y))
	p.Curve(at(-x+k, y), at(-x, y-k), at(-x, y-radius))
	p.Line(at(-x, -y+radius))
	p.Curve(at(-x, -y+k), at(-x+k, -y), at(-x+radius, -y))
	return p.Close()
}

// ccw returns the path counter-clockwise.
func ccw(p geometry.Path) geometry.Path {
	if p.Flatten(1).Area() < 0 {
		return p.Reversed()
	}
	return p
}

// TruthThing is something that is no cloth.
type TruthThing struct {
	Name  string              `json:"name"`
	Parts []geometry.Polyline `json:"parts_mm"`
	// GapMM is how far it lies from the nearest piece; negative where it lies over
	// the edge, by how deep.
	GapMM float64 `json:"gap_mm"`
}

func (s Scene) things() (out []TruthThing) {
	var rings []geometry.Polyline
	for _, p := range s.Pieces {
		rings = append(rings, p.Path.Flatten(1))
	}
	for _, t := range s.Things {
		one := TruthThing{Name: t.Name, GapMM: math.Round(clearance(t.Parts, rings)*10) / 10}
		for _, p := range t.Parts {
			one.Parts = append(one.Parts, p.Path.Flatten(0.2))
		}
		out = append(out, one)
	}
	return out
}
