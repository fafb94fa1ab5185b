package synth

import (
	"math"

	"secondcut/geometry"
)

// Paper returns a sheet of paper: fine fibres on an even tone.
func Paper(c Colour, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		fibres := f.octaves(p.X/0.9, p.Y/0.9, 3)
		clouds := f.octaves(p.X/38, p.Y/38, 2)
		return c.scale(1 + 0.05*fibres + 0.035*clouds)
	}
}

// Boards returns floor boards of the given width that run along x: grain lines,
// pores, and dark joints.
func Boards(light, dark Colour, width float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		row := math.Floor(p.Y / width)
		// Boards end at places that differ from row to row.
		shift := 700 * f.at(row*3.7+0.5, 11.5)
		col := math.Floor((p.X + shift) / 1450)
		id := row*5.3 + col*17.1
		x, y := p.X+id*311, p.Y+id*97
		c := grain(f, light, dark, x, y).scale(1 + 0.12*f.at(id+0.5, 3.5))
		up := p.Y - row*width
		along := p.X + shift - col*1450
		joint := min(min(up, width-up), min(along, 1450-along))
		return c.scale(0.3 + 0.7*ramp(0.1, 1.1, joint))
	}
}

// Wood returns one broad board whose grain runs along x.
func Wood(light, dark Colour, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour { return grain(f, light, dark, p.X, p.Y) }
}

// grain is the colour of sawn wood: year rings of uneven width cut at a small
// angle, streaks of fibre, and pores.
func grain(f field, light, dark Colour, x, y float64) Colour {
	warp := 34*f.octaves(x/520, y/85, 2) + 9*f.at(x/900+7, y/23) + 1.6*f.octaves(x/60, y/9, 2)
	ring := 0.5 + 0.5*math.Sin((y+warp)*2*math.Pi/14)
	late := 0.55 + 0.45*f.at(x/700+3, (y+warp)/14)
	streak := f.octaves(x/55, y/0.9, 3)
	pore := ramp(0.45, 0.8, f.at(x/7+31, y/0.45+17)) * ring
	tone := f.octaves(x/260+50, y/60, 2)
	c := light.mix(dark, 0.22+0.4*late*ring*ring*ring+0.16*streak+0.14*tone)
	return c.scale((1 + 0.07*streak) * (1 - 0.3*pore))
}

// Carpet returns loop pile: small bright loops with dark gaps.
func Carpet(c Colour, loop float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		x := p.X/loop + 0.35*f.at(p.X/3+9, p.Y/3)
		y := p.Y/loop + 0.35*f.at(p.X/3, p.Y/3+9)
		// Loops stand in rows, every second row moved by half.
		row := math.Floor(y)
		if int(row)&1 == 1 {
			x += 0.5
		}
		u, v := x-math.Floor(x)-0.5, y-row-0.5
		bump := 1 - 2.2*(u*u+v*v)
		tone := 0.16*f.at(math.Floor(x)+0.5, row+0.5) + 0.1*f.octaves(p.X/60, p.Y/60, 2)
		return c.scale(max(0.15, 0.75*bump+0.3+tone+0.12*f.at(p.X/0.35, p.Y/0.35)))
	}
}

// Tiles returns square tiles of the given side with pale joints.
func Tiles(c, joint Colour, side float64, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		i, j := math.Floor(p.X/side), math.Floor(p.Y/side)
		u, v := p.X-i*side, p.Y-j*side
		edge := min(min(u, side-u), min(v, side-v))
		tone := 1 + 0.06*f.at(i*1.7+0.5, j*2.3+0.5) + 0.09*f.octaves(p.X/23, p.Y/23, 4)
		grit := 1 + 0.1*f.octaves(p.X/0.7, p.Y/0.7, 2)
		return joint.scale(grit).mix(c.scale(tone), ramp(1.1, 1.9, edge))
	}
}

// Decorated returns tiles with a printed ring and a diamond on each.
func Decorated(tiles Paint, c Colour, side float64) Paint {
	return func(p geometry.Point) Colour {
		k := tiles(p)
		u, v := math.Abs(frac(p.X/side)-0.5), math.Abs(frac(p.Y/side)-0.5)
		ring, diamond := math.Sqrt(u*u+v*v), u+v
		if ring > 0.3 && ring < 0.36 || diamond < 0.16 || u > 0.44 && v > 0.3 && v < 0.42 {
			return Colour{k[0] * c[0], k[1] * c[1], k[2] * c[2]}
		}
		return k
	}
}

// Stone returns veined stone.
func Stone(c, vein Colour, seed uint64) Paint {
	f := newField(seed)
	return func(p geometry.Point) Colour {
		warp := 60 * f.octaves(p.X/150, p.Y/150, 4)
		v := math.Abs(math.Sin((p.X*0.7 + p.Y + 2*warp) / 75))
		cloud := f.octaves(p.X/90+5, p.Y/90, 4)
		grit := f.octaves(p.X/1.1, p.Y/1.1, 2)
		return c.mix(vein, 0.75*(1-ramp(0, 0.22, v))*(0.55+0.45*cloud)).scale(1 + 0.1*cloud + 0.03*grit)
	}
}
