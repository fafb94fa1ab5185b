package synth

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"

	"secondcut/geometry"
	"secondcut/vision"
)

// Rough returns the scene number seed of an endless series that is as unkind as
// photos by people in a hurry: 0 to 40 degrees of tilt, one to eight cards, some
// of them under the cloth or curled, lenses with distortion and off their centre,
// one to three pieces of 120 to 1100 mm in clean, worn, scalloped, nicked and
// badly pressed states, prints and patterned floors, contrast down to a Lab
// difference of 5, burnt-out corners, smear, threads and snippets on the floor.
// One in 25 must be refused.
//
// Cloth comes plain, striped, checked, dotted and printed with leaves, creased and
// rippled, some of it with an opening; floors as paper, boards, carpet, stone and
// tiles, plain and decorated.
//
// It is kinder than life in these ways: cards are evenly lit flat prints (a
// curled one floats level, an uncut sheet throws no shadow and shows no ruler),
// threads are straight-edged and of one tone, cloth has no weight and lies on
// cards without a step, blur is the same all over the photo, floors repeat after
// 256 cells of their noise, nothing is fluffy, no seam has left needle holes, and
// no two pieces overlap.
func Rough(seed uint64, width, height int) Scene {
	r := &dice{rand.New(rand.NewPCG(seed, 0x90a9))}
	s := Scene{
		Width: width, Height: height, Seed: seed, ThicknessMM: r.between(0.3, 0.9),
		BlurPx: r.between(0.5, 1.3), Noise: math.Exp(r.between(math.Log(0.6), math.Log(5))),
		Quality: 70 + r.IntN(26), NoFocal: r.IntN(5) == 0,
	}
	if r.IntN(5) == 0 {
		s.SmearPx = geometry.Vec{X: r.between(0, 3), Y: r.between(0, 3)}
	}
	s.Light = r.light(s.ThicknessMM)
	s.Light.Vignette = r.between(0, 0.4)
	long := 120 * math.Exp(r.between(0, math.Log(1100.0/120)))
	n := 1
	if long < 450 && r.IntN(4) == 0 {
		n = 2 + r.IntN(2)
	}
	notes := r.dress(&s, n, long)
	s.layApart(r)
	cards := min(8, max(1, []int{1, 2, 3, 4, 4, 5, 5, 6, 6, 6, 8}[r.IntN(11)]))
	if cards == 6 && r.IntN(6) == 0 {
		s.layUncut(r)
		notes = append(notes, "uncut sheet")
	} else {
		s.spreadCards(r, cards)
	}
	s.litter(r)
	tilt := 40 * math.Pow(r.Float64(), 1.5)
	s.aim(r, tilt)
	notes = append([]string{fmt.Sprintf("tilt %.0f, %d cards, %.0f mm", tilt, cards, long)}, notes...)
	if s.SmearPx.Len() > 0 {
		notes = append(notes, fmt.Sprintf("smear %.1f px", s.SmearPx.Len()))
	}
	if seed%25 == 0 {
		s.spoil(r, int(seed/25))
		notes = append(notes, "to be refused")
	}
	s.Notes = strings.Join(notes, ", ")
	return s
}

// layApart moves the pieces side by side with gaps of 20 mm and more and centres
// them at the origin.
func (s *Scene) layApart(r *dice) {
	right := 0.0
	for i := range s.Pieces {
		lo, hi := s.Pieces[i].Path.Flatten(1).Bounds()
		s.Pieces[i] = s.Pieces[i].Place(0, geometry.Point{X: right - lo.X, Y: -(lo.Y + hi.Y) / 2})
		right += hi.X - lo.X + r.between(20, 50)
	}
	lo, hi := s.bounds()
	for i := range s.Pieces {
		s.Pieces[i] = s.Pieces[i].Place(0, geometry.Point{X: -(lo.X + hi.X) / 2, Y: -(lo.Y + hi.Y) / 2})
	}
}

// bounds returns those of all pieces.
func (s *Scene) bounds() (lo, hi geometry.Point) {
	var all geometry.Polyline
	for _, p := range s.Pieces {
		all = append(all, p.Path.Flatten(1)...)
	}
	return all.Bounds()
}

// spreadCards lays n cards around the pieces: as a rule clear of them and of each
// other, but now and then touching or up to 14 mm under the cloth, and one in ten
// scenes with four and more has a curled one.
func (s *Scene) spreadCards(r *dice, n int) {
	first := r.IntN(570)
	lo, hi := s.bounds()
	var rings []geometry.Polyline
	for _, p := range s.Pieces {
		rings = append(rings, p.Path.Flatten(0.5))
	}
	var out []Card
	start := r.between(0, 360)
	for i := range n {
		gap := r.between(4, 40)
		switch r.IntN(12) {
		case 0:
			gap = 0.5
		case 1:
			gap = -14
		}
		a := rad(start + (float64(i)+r.between(-0.25, 0.25))*360/float64(n))
		sin, cos := math.Sincos(a)
		c := Card{ID: first + i, TurnDeg: r.between(0, 360)}
		for d := 20.0; ; d += 2 {
			// The directions are those of an ellipse round the pieces.
			c.Centre = geometry.Point{X: cos * d * (hi.X - lo.X + 100) / (hi.Y - lo.Y + 100), Y: sin * d}
			if roomFor(c, rings, out, gap) {
				break
			}
		}
		out = append(out, c)
	}
	if n >= 4 && r.IntN(10) == 0 {
		out[n-1].LiftMM = r.between(4, 15)
	}
	s.Cards = out
}

// layUncut lays a whole sheet of six cards, A4, to the right of the pieces.
func (s *Scene) layUncut(r *dice) {
	_, hi := s.bounds()
	frame := geometry.Rigid{Turn: rad(r.between(-8, 8)), Move: geometry.Point{X: hi.X + r.between(135, 160), Y: r.between(-60, 60)}}
	first := 6 * r.IntN(97)
	for i := range 6 {
		// Places on the sheet, from its middle: A4 is 210 x 297 mm.
		at := geometry.Point{X: []float64{65, 145}[i%2] - 105, Y: 297 - 60 - 80*float64(i/2) - 148.5}
		s.Cards = append(s.Cards, Card{ID: first + i, Centre: frame.Apply(at), TurnDeg: frame.Turn * 180 / math.Pi})
	}
	floor := s.Surface
	s.Surface = func(p geometry.Point) Colour {
		q := frame.Inverse().Apply(p)
		if math.Abs(q.X) < 105 && math.Abs(q.Y) < 148.5 {
			return Colour{paperTone, paperTone * 0.995, paperTone * 0.97}
		}
		return floor(p)
	}
}

// roomFor reports whether a card keeps its distance from the cloth and lies clear
// of the other cards.
func roomFor(c Card, rings []geometry.Polyline, others []Card, gap float64) bool {
	for _, o := range others {
		if o.Centre.Dist(c.Centre) < 118 {
			return false
		}
	}
	frame := geometry.Rigid{Turn: rad(c.TurnDeg), Move: c.Centre}
	for _, ring := range rings {
		if ring.Contains(c.Centre) {
			return false
		}
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			for n, k := int(a.Dist(b)/4)+1, 0; k < n; k++ {
				l := frame.Inverse().Apply(a.Lerp(b, float64(k)/float64(n)))
				if max(math.Abs(l.X), math.Abs(l.Y)) < 40+gap {
					return false
				}
			}
		}
	}
	return true
}

// litter drops threads and snippets, clear of the pieces by 12 mm.
func (s *Scene) litter(r *dice) {
	lo, hi := s.bounds()
	drop := func() (geometry.Point, bool) {
		p := geometry.Point{X: r.between(lo.X-120, hi.X+120), Y: r.between(lo.Y-120, hi.Y+120)}
		for _, q := range s.Pieces {
			if !clearOf(q.Path.Flatten(1), p, 30) {
				return p, false
			}
		}
		for _, c := range s.Cards {
			if c.Centre.Dist(p) < 75 {
				return p, false
			}
		}
		return p, true
	}
	threads, snippets := r.IntN(4), max(0, r.IntN(5)-2)
	for i := range threads + snippets {
		at, ok := drop()
		if !ok {
			continue
		}
		c := Piece{Cloth: s.Pieces[0].Cloth}
		if i < threads {
			c.Path = r.strand(at, r.between(12, 40))
		} else {
			c.Path = r.snippet(at, r.between(5, 14))
		}
		s.Scraps = append(s.Scraps, c)
	}
}

// aim holds the phone so that everything fits, and gives it a lens: from wide with
// strong barrel distortion to a normal one.
func (s *Scene) aim(r *dice, tilt float64) {
	f := float64(max(s.Width, s.Height)) * r.between(0.66, 0.85)
	k1 := r.between(-0.12, 0.06)
	if r.IntN(10) == 0 { // ultra-wide, 17 to 20 mm on film
		f = float64(max(s.Width, s.Height)) * r.between(0.47, 0.56)
		k1 = r.between(-0.28, -0.15)
	}
	v := View{Distance: 180, TiltDeg: tilt, TowardDeg: r.between(0, 360), TurnDeg: r.between(-10, 10)}
	lo, hi := s.bounds()
	if (hi.X-lo.X < hi.Y-lo.Y) == (s.Width > s.Height) {
		v.TurnDeg += 90
	}
	dx, dy := r.between(-12, 12), r.between(-12, 12)
	p1, p2 := r.between(-6e-4, 6e-4), r.between(-6e-4, 6e-4)
	for {
		c := LookDown(s.Width, s.Height, f, v)
		c.K1, c.K2, c.P1, c.P2 = k1, -0.3*k1, p1, p2
		c.Cx, c.Cy = c.Cx+dx, c.Cy+dy
		if !s.fills(c) {
			k1 *= 0.9 // no lens leaves a corner of the photo black
			continue
		}
		if s.shows(c) {
			s.Camera = c
			break
		}
		v.Distance *= 1.03
	}
	if r.IntN(8) == 0 {
		at, _ := s.Camera.Plane(vision.Pixel{X: float64(s.Width) * float64(r.IntN(2)), Y: float64(s.Height) * float64(r.IntN(2))}, 0)
		s.Light.Glares = append(s.Light.Glares, Glare{At: at, Reach: 0.18 * max(hi.X-lo.X+160, hi.Y-lo.Y+160), Gain: r.between(1, 4)})
	}
}

// fills reports whether the camera sees the plane in all corners of the photo, or
// has no distortion that could be why not.
func (s *Scene) fills(c vision.Camera) bool {
	if math.Abs(c.K1) < 0.01 {
		return true
	}
	for i := range 4 {
		corner := vision.Pixel{X: float64((s.Width - 1) * (i & 1)), Y: float64((s.Height - 1) * (i >> 1))}
		if _, ok := c.Plane(corner, 0); !ok {
			return false
		}
	}
	return true
}

// shows reports whether all pieces and cards lie in the photo with a margin of 3 %
// of its height.
func (s *Scene) shows(c vision.Camera) bool {
	for _, p := range s.Pieces {
		one := *s
		one.Pieces = []Piece{p}
		if !fits(c, one, s.Width, s.Height) {
			return false
		}
	}
	return true
}

// spoil makes the scene one that must be refused.
func (s *Scene) spoil(r *dice, kind int) {
	switch kind % 3 {
	case 0:
		s.Refuse, s.Cards = string(vision.CodeNoCard), nil
	case 1:
		s.Refuse, s.Pieces = string(vision.CodeNoCloth), nil
	default: // a piece runs out of the picture
		s.Refuse = string(vision.CodeCutByFrame)
		at, _ := s.Camera.Plane(vision.Pixel{X: float64(s.Width), Y: float64(s.Height) / 2}, 0)
		p := s.Pieces[0]
		lo, hi := p.Path.Flatten(1).Bounds()
		s.Pieces = []Piece{p.Place(0, at.Lerp(lo.Lerp(hi, 0.5), r.between(0, 0.3)).Add(geometry.Point{}.Sub(lo.Lerp(hi, 0.5))))}
	}
}
