package export

import (
	"math"

	"secondcut/geometry"
)

// flatLine returns the contour as a line in pixels; a closed contour ends where
// it begins.
func flatLine(c Contour, to func(geometry.Point) geometry.Point) geometry.Polyline {
	if len(c.Knots) == 0 {
		return nil
	}
	inPixels := c.Knots.Map(to)
	line := geometry.Polyline{inPixels[0].At}
	for _, s := range (Contour{inPixels, c.Open}).Segments() {
		n := 1
		if s.Curved {
			bend := s.A.Dist(s.B) + s.B.Dist(s.C) + s.C.Dist(s.D)
			n = min(max(int(math.Ceil(math.Sqrt(bend/(8*flatness)))), 4), 400)
		}
		for i := 1; i <= n; i++ {
			line = append(line, s.At(float64(i)/float64(n)))
		}
	}
	return line
}

// dashes cuts a line into the strokes of a dash pattern whose lengths are in mm;
// with no pattern the line stays whole.
func dashes(line geometry.Polyline, dash []float64, scale float64) []geometry.Polyline {
	period := 0.0
	for _, d := range dash {
		period += d * scale
	}
	// Patterns too fine to see are drawn solid.
	if period < 1 || len(line) < 2 {
		return []geometry.Polyline{line}
	}
	var out []geometry.Polyline
	k, left := 0, dash[0]*scale
	current := geometry.Polyline{line[0]}
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		for length := a.Dist(b); length > left; length = a.Dist(b) {
			a = a.Lerp(b, left/length)
			if k%2 == 0 {
				out = append(out, append(current, a))
			}
			k++
			left = math.Max(dash[k%len(dash)]*scale, 1e-3)
			current = geometry.Polyline{a}
		}
		left -= a.Dist(b)
		current = append(current, b)
	}
	if k%2 == 0 {
		out = append(out, current)
	}
	return out
}

// stroke returns rings that together cover the line at the given half width in
// pixels, with round ends and corners. All run the same way, so that their union
// fills.
func stroke(line geometry.Polyline, half float64) []geometry.Polyline {
	var out []geometry.Polyline
	last := len(line) - 1
	for i, a := range line {
		end := i == 0 || i == last && a != line[0]
		if end || i < last && turns(line[i-1], a, line[i+1]) {
			out = append(out, disc(a, half))
		}
		if i == 0 {
			continue
		}
		from := line[i-1]
		n := a.Sub(from).Unit().Perp().Scale(half)
		if n == (geometry.Vec{}) {
			continue
		}
		m := n.Scale(-1)
		out = append(out, geometry.Polyline{from.Add(m), a.Add(m), a.Add(n), from.Add(n)})
	}
	return out
}

// turns reports whether a line turns so much at b that a gap would show on the
// outer side. Elsewhere a disc would only darken the line's soft edge.
func turns(a, b, c geometry.Point) bool {
	const gap = 0.2 // radians, about; a fifth of half a pen's width stays open
	u, v := b.Sub(a).Unit(), c.Sub(b).Unit()
	return u.Dot(v) < 0 || math.Abs(u.Cross(v)) > gap
}

func disc(centre geometry.Point, radius float64) geometry.Polyline {
	n := min(max(int(4*math.Sqrt(radius)), 8), 48)
	ring := make(geometry.Polyline, n)
	for i := range ring {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		ring[i] = centre.Add(geometry.Vec{X: radius * c, Y: radius * s})
	}
	return ring
}
