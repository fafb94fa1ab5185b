package synth

import (
	"math"

	"secondcut/geometry"
)

// Weave returns plain-woven cloth whose warp runs along y. thread is the width of
// one thread in mm; slub is how uneven threads are, 0..1 (0.2 cotton, 0.7
// linen).
func Weave(c Colour, thread, slub float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		x := p.X/thread + 0.25*slub*f.at(p.X/11, p.Y/40)
		y := p.Y/thread + 0.25*slub*f.at(p.X/40+3, p.Y/11)
		i, j := math.Floor(x), math.Floor(y)
		u, v := x-i-0.5, y-j-0.5
		warp := 0.5 + 0.5*f.at(i+0.5, p.Y/19)
		weft := 0.5 + 0.5*f.at(p.X/19, j+0.5)
		tone, across := weft, v
		if (int(i)+int(j))&1 == 0 {
			tone, across = warp, u
		}
		round := 1 - 0.9*across*across
		return c.scale((round + slub*0.3*(tone-0.5)) * drape(f, p))
	}
}

// Twill returns a wool-like twill: diagonal ribs under a soft nap.
func Twill(c Colour, rib float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		nap := f.octaves(p.X/0.8, p.Y/1.3, 3)
		phase := (p.X+p.Y)/rib + 0.3*nap
		ribs := math.Sin(2 * math.Pi * phase)
		return c.scale((1 + 0.08*ribs + 0.2*nap) * drape(f, p))
	}
}

// drape is the slow change of brightness of cloth that is pressed, not glued.
func drape(f field, p geometry.Point) float64 {
	return 1 + 0.05*f.octaves(p.X/120+40, p.Y/120, 2) + 0.025*f.octaves(p.X/17, p.Y/45+9, 2)
}

// Crease is a pressed-in fold line: bright on the side that faces the light,
// dark on the other.
type Crease struct {
	At      geometry.Point
	TurnDeg float64 // direction of the line
	Width   float64 // mm
	Depth   float64 // relative change of brightness
}

// Creased returns the cloth with fold lines in it.
func Creased(base Paint, creases ...Crease) Paint {
	return func(p geometry.Point) Colour {
		b := 1.0
		for _, c := range creases {
			sin, cos := math.Sincos(rad(c.TurnDeg))
			d := (cos*(p.Y-c.At.Y) - sin*(p.X-c.At.X)) / c.Width
			b += c.Depth * d * math.Exp(0.5-d*d/2)
		}
		return base(p).scale(b)
	}
}

// Stripes returns the cloth with stripes along y, of the given width every
// period mm.
func Stripes(base Paint, c Colour, period, width float64) Paint {
	return func(p geometry.Point) Colour {
		k := base(p)
		if frac(p.X/period)*period < width {
			return Colour{k[0] * c[0], k[1] * c[1], k[2] * c[2]}
		}
		return k
	}
}

// Checks returns the cloth with stripes both ways; each lets half of the threads
// below show.
func Checks(base Paint, c Colour, period, width float64) Paint {
	half := Colour{1, 1, 1}.mix(c, 0.55)
	up := Stripes(base, half, period, width)
	across := Stripes(up.Turned(-90), half, period, width)
	return across.Turned(90)
}

// Dots returns the cloth printed with dots of the given radius.
func Dots(base Paint, c Colour, period, radius float64) Paint {
	return func(p geometry.Point) Colour {
		row := math.Floor(p.Y / period)
		x := p.X/period + 0.5*float64(int(row)&1)
		u, v := (frac(x)-0.5)*period, (p.Y/period-row-0.5)*period
		k := base(p)
		if u*u+v*v < radius*radius {
			return Colour{k[0] * c[0], k[1] * c[1], k[2] * c[2]}
		}
		return k
	}
}

// Leaves returns the cloth printed with leaves, pointed at both ends, long mm from
// tip to tip and turned by chance, about one in a square of period mm.
func Leaves(base Paint, c Colour, period, long float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		k := base(p)
		i, j := math.Floor(p.X/period), math.Floor(p.Y/period)
		turn := math.Pi * f.at(i*1.3+0.5, j*1.7+0.5)
		x := p.X - (i+0.5+0.2*f.at(i*2.1+0.5, j+0.5))*period
		y := p.Y - (j+0.5+0.2*f.at(i+0.5, j*2.3+0.5))*period
		sin, cos := math.Sincos(turn)
		u, v := 2*(cos*x+sin*y)/long, (cos*y-sin*x)/long
		half := 0.22 * (1 - u*u) // of the leaf's length, across at u
		switch vein := math.Abs(v) < 0.012; {
		case math.Abs(v) >= half || vein:
			return k
		}
		return Colour{k[0] * c[0], k[1] * c[1], k[2] * c[2]}
	}
}

func frac(x float64) float64 { return x - math.Floor(x) }
