package svg

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
)

const (
	// farUnits bounds coordinates.
	farUnits = 1e7
	// maxKnots bounds the points of one path.
	maxKnots = 100_000
)

// parsePath reads path data (SVG 2, 9.3) into rings in the path's own units, y as it is
// there. As there, an error ends it, and what came before stays; the error says where.
func parsePath(data string) ([]interchange.Ring, error) {
	p := pathReader{rest: data, size: len(data)}
	for p.skip(); p.rest != ""; p.skip() {
		if err := p.command(); err != nil {
			p.finish(true)
			return p.rings, fmt.Errorf("at character %d: %w", p.size-len(p.rest)+1, err)
		}
	}
	p.finish(true)
	return p.rings, nil
}

type pathReader struct {
	rest  string
	size  int
	last  byte // the command before
	knots geometry.Path
	rings []interchange.Ring
	now   geometry.Point
	start geometry.Point
	ctrl  geometry.Point // the last control point of a curve, for its smooth follower
	curve byte           // what ctrl belongs to: C, Q or 0
	count int
}

// command reads one command, or the arguments of the one before again.
func (p *pathReader) command() error {
	c := p.rest[0]
	switch {
	case strings.IndexByte("MmZzLlHhVvCcSsQqTtAa", c) >= 0:
		p.rest = p.rest[1:]
	case p.last == 0 || p.last == 'Z' || p.last == 'z':
		return fmt.Errorf("%q is no command", c)
	case p.last == 'M':
		c = 'L'
	case p.last == 'm':
		c = 'l'
	default:
		c = p.last
	}
	if p.last == 0 && c != 'M' && c != 'm' {
		return fmt.Errorf("it begins with %q instead of a move", c)
	}
	if p.count++; p.count > maxKnots {
		return fmt.Errorf("the path has more than %d parts", maxKnots)
	}
	p.last = c
	return p.draw(c)
}

func (p *pathReader) draw(c byte) error {
	relative := c >= 'a'
	from := geometry.Point{}
	if relative {
		from = p.now
	}
	switch c &^ 0x20 {
	case 'Z':
		p.finish(false)
		return nil
	case 'M':
		a, err := p.points(1, from)
		if err == nil {
			p.finish(true)
			p.now, p.start, p.curve = a[0], a[0], 0
		}
		return err
	case 'L':
		a, err := p.points(1, from)
		if err == nil {
			p.line(a[0])
		}
		return err
	case 'H', 'V':
		x, err := p.number()
		if err != nil {
			return err
		}
		to := p.now
		if c&^0x20 == 'H' {
			to.X = from.X + x
		} else {
			to.Y = from.Y + x
		}
		p.line(to)
		return nil
	case 'C':
		a, err := p.points(3, from)
		if err == nil {
			p.cubic(a[0], a[1], a[2])
			p.ctrl, p.curve = a[1], 'C'
		}
		return err
	case 'S':
		a, err := p.points(2, from)
		if err == nil {
			p.cubic(p.mirrored('C'), a[0], a[1])
			p.ctrl, p.curve = a[0], 'C'
		}
		return err
	case 'Q':
		a, err := p.points(2, from)
		if err == nil {
			p.quad(a[0], a[1])
		}
		return err
	case 'T':
		a, err := p.points(1, from)
		if err == nil {
			p.quad(p.mirrored('Q'), a[0])
		}
		return err
	}
	return p.arc(from)
}

// mirrored returns the last control point of a curve of the same kind mirrored at where
// the pen is, else where it is.
func (p *pathReader) mirrored(kind byte) geometry.Point {
	if p.curve != kind {
		return p.now
	}
	return p.now.Add(p.now.Sub(p.ctrl))
}

func (p *pathReader) begin() {
	if len(p.knots) == 0 {
		p.knots = geometry.Path{{At: p.now, Corner: true}}
	}
}

func (p *pathReader) line(to geometry.Point) {
	p.begin()
	if to != p.now {
		p.knots = append(p.knots, geometry.Knot{At: to, Corner: true})
	}
	p.now, p.curve = to, 0
}

func (p *pathReader) cubic(b, c, to geometry.Point) {
	p.begin()
	if b == p.now && c == p.now && to == p.now {
		return
	}
	p.knots[len(p.knots)-1].Out = &b
	p.knots = append(p.knots, geometry.Knot{At: to, In: &c, Corner: true})
	p.now = to
}

// quad raises a quadratic curve to a cubic, which is the same curve.
func (p *pathReader) quad(q, to geometry.Point) {
	from := p.now
	p.cubic(from.Lerp(q, 2.0/3), to.Lerp(q, 2.0/3), to)
	p.ctrl, p.curve = q, 'Q'
}

func (p *pathReader) arc(from geometry.Point) error {
	var v [3]float64
	for i := range v {
		x, err := p.number()
		if err != nil {
			return err
		}
		v[i] = x
	}
	large, err1 := p.flag()
	sweep, err2 := p.flag()
	if err1 != nil || err2 != nil {
		return fmt.Errorf("a flag of an arc is neither 0 nor 1")
	}
	a, err := p.points(1, from)
	if err != nil {
		return err
	}
	to := a[0]
	rx, ry := math.Abs(v[0]), math.Abs(v[1])
	if rx == 0 || ry == 0 {
		p.line(to)
		return nil
	}
	for _, s := range arcs(p.now, to, rx, ry, v[2]*math.Pi/180, large, sweep) {
		p.cubic(s.B, s.C, s.D)
	}
	p.now, p.curve = to, 0
	return nil
}

// finish files the line that was drawn.
func (p *pathReader) finish(open bool) {
	k := p.knots
	p.knots = nil
	n := len(k)
	if !open {
		p.now, p.curve = p.start, 0
	}
	if n < 2 {
		return
	}
	if !open && k[0].At.Dist(k[n-1].At) < 1e-9*(1+math.Abs(k[0].At.X)+math.Abs(k[0].At.Y)) {
		k[0].In = k[n-1].In
		if k = k[:n-1]; len(k) < 2 {
			return
		}
	}
	p.rings = append(p.rings, interchange.Ring{Knots: k, Open: open})
}

func (p *pathReader) skip() { p.rest = strings.TrimLeft(p.rest, " \t\r\n\f,") }

func (p *pathReader) points(n int, from geometry.Point) ([]geometry.Point, error) {
	out := make([]geometry.Point, n)
	for i := range out {
		x, err := p.number()
		if err != nil {
			return nil, err
		}
		y, err := p.number()
		if err != nil {
			return nil, err
		}
		out[i] = geometry.Point{X: from.X + x, Y: from.Y + y}
		if !(math.Abs(out[i].X) <= farUnits && math.Abs(out[i].Y) <= farUnits) {
			return nil, fmt.Errorf("a point lies out of all bounds")
		}
	}
	return out, nil
}

// flag reads a flag of an arc, which needs no space behind it.
func (p *pathReader) flag() (bool, error) {
	p.skip()
	if p.rest == "" || p.rest[0] != '0' && p.rest[0] != '1' {
		return false, fmt.Errorf("no flag")
	}
	on := p.rest[0] == '1'
	p.rest = p.rest[1:]
	return on, nil
}

func (p *pathReader) number() (float64, error) {
	p.skip()
	n := numberLen(p.rest)
	x, err := strconv.ParseFloat(p.rest[:n], 64)
	if err != nil || !(math.Abs(x) <= farUnits) {
		return 0, fmt.Errorf("a number is missing or out of all bounds")
	}
	p.rest = p.rest[n:]
	return x, nil
}

// numberLen returns how many bytes at the beginning of s are a number.
func numberLen(s string) int {
	i := 0
	digits := func() int {
		from := i
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i - from
	}
	if i < len(s) && (s[i] == '+' || s[i] == '-') {
		i++
	}
	n := digits()
	if i < len(s) && s[i] == '.' {
		i++
		n += digits()
	}
	if n == 0 {
		return 0
	}
	end := i
	if i < len(s) && (s[i] == 'e' || s[i] == 'E') {
		i++
		if i < len(s) && (s[i] == '+' || s[i] == '-') {
			i++
		}
		if digits() > 0 {
			end = i
		}
	}
	return end
}
