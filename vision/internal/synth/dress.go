package synth

import (
	"fmt"
	"math"

	"secondcut/geometry"
)

// dress chooses floor and cloths, so unlike that an eye sees the edge: where their
// tones are close, neither is patterned.
func (r *dice) dress(s *Scene, n int, long float64) []string {
	floor, cloth, diff := r.pair()
	quiet := diff < 14
	kind := "quiet floor"
	switch {
	case quiet:
		s.Surface = Paper(floor, s.Seed)
	case r.IntN(5) == 0:
		kind = "printed floor"
		s.Surface = r.printed(floor, s.Seed)
	default:
		kind = "textured floor"
		s.Surface = r.surface(floor, s.Seed)
	}
	s.Contrast = diff
	notes := []string{fmt.Sprintf("Lab difference %.0f", diff), kind}
	for i := range n {
		seed := s.Seed*7 + uint64(i)
		paint := Weave(cloth, r.between(0.35, 0.9), r.between(0.1, 0.7), seed)
		if !quiet {
			if i > 0 && r.IntN(2) == 0 {
				cloth = r.against(floor)
			}
			paint = r.cloth(cloth, seed)
			if r.IntN(8) == 0 {
				tint := Colour{r.between(0.4, 1.2), r.between(0.4, 1.2), r.between(0.4, 1.2)}
				paint = Leaves(paint, tint, r.between(20, 60), r.between(15, 35), seed)
			}
		}
		if r.IntN(4) == 0 {
			paint = r.creased(paint, long)
		}
		p := Piece{Name: fmt.Sprintf("piece%d", i+1), Path: r.outlineOf(long * r.between(0.8, 1)), Cloth: paint.Turned(r.between(-30, 30)), Edge: r.wear(seed)}
		if i == 0 && r.IntN(8) == 0 {
			p.RippleMM = r.between(0.5, 1.5)
		}
		if r.IntN(10) == 0 {
			p.Holes = r.hole(p.Path)
		}
		s.Pieces = append(s.Pieces, p.Place(r.between(-20, 20), geometry.Point{}))
	}
	if n > 1 {
		notes = append(notes, fmt.Sprintf("%d pieces", n))
	}
	return notes
}

// printed returns a floor of tiles with a pattern on them.
func (r *dice) printed(c Colour, seed uint64) Paint {
	tint := Colour{r.between(0.6, 1.2), r.between(0.6, 1.2), r.between(0.6, 1.2)}
	side := r.between(150, 300)
	tiles := Tiles(c, c.scale(0.7), side, seed)
	if r.IntN(2) == 0 {
		return Decorated(tiles, tint, side).Turned(r.between(-30, 30))
	}
	return Checks(tiles, tint, r.between(30, 90), r.between(8, 25)).Turned(r.between(-30, 30))
}

// creased returns the cloth with one to three fold lines pressed in.
func (r *dice) creased(base Paint, long float64) Paint {
	var lines []Crease
	for range 1 + r.IntN(3) {
		lines = append(lines, Crease{
			At:      geometry.Point{X: r.between(-0.3, 0.3) * long, Y: r.between(0.1, 0.9) * long},
			TurnDeg: r.between(0, 180), Width: r.between(0.8, 3), Depth: r.between(0.05, 0.2),
		})
	}
	return Creased(base, lines...)
}

// hole returns a round opening in the middle of a piece that has room for one.
func (r *dice) hole(path geometry.Path) []geometry.Path {
	ring := path.Flatten(1)
	lo, hi := ring.Bounds()
	a := r.between(0.1, 0.3) * min(hi.X-lo.X, hi.Y-lo.Y)
	b := a * r.between(0.7, 1)
	at := lo.Lerp(hi, 0.5)
	if b < 10 || !ring.Contains(at) {
		return nil
	}
	for i, p := range ring {
		if distance(at, p, ring[(i+1)%len(ring)]) < a+15 {
			return nil
		}
	}
	return []geometry.Path{oval(at, a, b)}
}

// pair returns the colours of floor and cloth, and their difference in CIE Lab of
// 1976: from 5 (one in eight below 14) up.
func (r *dice) pair() (floor, cloth Colour, diff float64) {
	lo, hi := 14.0, 200.0
	if r.IntN(8) == 0 {
		lo, hi = 5, 14
	}
	for {
		floor, cloth = r.tone(), r.tone()
		if diff = labDifference(floor, cloth); diff >= lo && diff < hi {
			return floor, cloth, diff
		}
	}
}

func (r *dice) tone() Colour {
	l := math.Exp(r.between(math.Log(0.02), math.Log(0.75)))
	return Colour{min(0.85, l*r.between(0.75, 1.3)), l, min(0.85, l*r.between(0.6, 1.25))}
}

// against returns the colour of one more cloth that stands out from the floor.
func (r *dice) against(floor Colour) Colour {
	for {
		if c := r.tone(); labDifference(floor, c) >= 14 {
			return c
		}
	}
}

// labDifference is the distance of two colours in CIE Lab (CIE 15:2004, D65).
func labDifference(a, b Colour) float64 {
	p, q := lab(a), lab(b)
	return math.Sqrt((p[0]-q[0])*(p[0]-q[0]) + (p[1]-q[1])*(p[1]-q[1]) + (p[2]-q[2])*(p[2]-q[2]))
}

func lab(c Colour) [3]float64 {
	f := func(t float64) float64 {
		if t > 216.0/24389 {
			return math.Cbrt(t)
		}
		return (24389.0/27*t + 16) / 116
	}
	x := f((0.4124*c[0] + 0.3576*c[1] + 0.1805*c[2]) / 0.9505)
	y := f(0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2])
	z := f((0.0193*c[0] + 0.1192*c[1] + 0.9505*c[2]) / 1.089)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

// wear returns the state of an edge: clean, lightly or heavily frayed, scalloped;
// some with nicks.
func (r *dice) wear(seed uint64) Edge {
	e := Edge{Seed: seed}
	switch k := r.IntN(10); {
	case k < 3: // clean
	case k < 7:
		e.LossMM, e.Threads, e.ThreadMM = r.between(0.3, 0.8), r.between(0.03, 0.1), r.between(4, 14)
	case k < 9:
		e.LossMM, e.Threads, e.ThreadMM = r.between(0.8, 1.7), r.between(0.1, 0.35), r.between(8, 20)
	default:
		e.ScallopMM, e.ScallopPeriod = r.between(1, 2.4), r.between(9, 16)
	}
	for range r.IntN(3) {
		e.Nicks = append(e.Nicks, Nick{Along: r.Float64(), DepthMM: r.between(3.5, 6), WidthMM: r.between(0.8, 6)})
	}
	return e
}
