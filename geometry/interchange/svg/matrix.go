package svg

import (
	"math"
	"strings"

	"secondcut/geometry"
)

// matrix takes (x, y) to (ax + cy + e, bx + dy + f).
type matrix struct{ a, b, c, d, e, f float64 }

var unit = matrix{a: 1, d: 1}

func (m matrix) apply(p geometry.Point) geometry.Point {
	return geometry.Point{X: m.a*p.X + m.c*p.Y + m.e, Y: m.b*p.X + m.d*p.Y + m.f}
}

// of returns the map that applies n first and m after it.
func (m matrix) of(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b, m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

// scale returns by how much lengths grow, on average.
func (m matrix) scale() float64 { return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)) }

// parseTransform reads a list of transforms (SVG 2, 8.5; CSS Transforms 1), and reports
// whether it understood all.
func parseTransform(s string) (matrix, bool) {
	m := unit
	for {
		s = strings.TrimLeft(s, " \t\r\n,")
		if s == "" || s == "none" {
			return m, true
		}
		name, rest, ok := strings.Cut(s, "(")
		args, after, closed := strings.Cut(rest, ")")
		if !ok || !closed {
			return m, false
		}
		v, fine := numbers(args)
		if !fine {
			return m, false
		}
		n, known := transform(strings.TrimSpace(name), v)
		if !known {
			return m, false
		}
		m, s = m.of(n), after
	}
}

func numbers(s string) ([]float64, bool) {
	p := pathReader{rest: s}
	var out []float64
	for p.skip(); p.rest != ""; p.skip() {
		x, err := p.number()
		if err != nil || len(out) == 6 {
			return nil, false
		}
		out = append(out, x)
	}
	return out, true
}

func transform(name string, v []float64) (matrix, bool) {
	n := len(v)
	opt := func(i int, missing float64) float64 {
		if i < n {
			return v[i]
		}
		return missing
	}
	switch {
	case name == "matrix" && n == 6:
		return matrix{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case name == "translate" && (n == 1 || n == 2):
		return matrix{1, 0, 0, 1, v[0], opt(1, 0)}, true
	case name == "scale" && (n == 1 || n == 2):
		return matrix{v[0], 0, 0, opt(1, v[0]), 0, 0}, true
	case name == "rotate" && (n == 1 || n == 3):
		s, c := math.Sincos(v[0] * math.Pi / 180)
		x, y := opt(1, 0), opt(2, 0)
		return matrix{c, s, -s, c, x - c*x + s*y, y - s*x - c*y}, true
	case name == "skewX" && n == 1:
		return matrix{1, 0, math.Tan(v[0] * math.Pi / 180), 1, 0, 0}, true
	case name == "skewY" && n == 1:
		return matrix{1, math.Tan(v[0] * math.Pi / 180), 0, 1, 0, 0}, true
	}
	return unit, false
}
