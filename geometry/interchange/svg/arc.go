package svg

import (
	"math"

	"secondcut/geometry"
)

// arcs returns an elliptical arc as cubics of at most an eighth of a turn, which is right
// to 5e-6 of the radius. Radii too small to reach are made larger (SVG 2, B.2.4, B.2.5).
func arcs(from, to geometry.Point, rx, ry, turn float64, large, sweep bool) []geometry.Segment {
	if from == to {
		return nil
	}
	sin, cos := math.Sincos(turn)
	half := from.Sub(to).Scale(0.5)
	x, y := cos*half.X+sin*half.Y, -sin*half.X+cos*half.Y
	if over := x*x/(rx*rx) + y*y/(ry*ry); over > 1 {
		rx, ry = rx*math.Sqrt(over), ry*math.Sqrt(over)
	}
	under := rx*rx*y*y + ry*ry*x*x
	k := math.Sqrt(math.Max(0, (rx*rx*ry*ry-under)/under))
	if large == sweep {
		k = -k
	}
	cx, cy := k*rx*y/ry, -k*ry*x/rx
	mid := from.Lerp(to, 0.5)
	begin := math.Atan2((y-cy)/ry, (x-cx)/rx)
	end := math.Atan2((-y-cy)/ry, (-x-cx)/rx)
	sweepAngle := end - begin
	switch {
	case sweep && sweepAngle < 0:
		sweepAngle += 2 * math.Pi
	case !sweep && sweepAngle > 0:
		sweepAngle -= 2 * math.Pi
	}
	// On the unit circle, then by radii, turn and centre.
	at := func(u, v float64) geometry.Point {
		u, v = u*rx+cx, v*ry+cy
		return geometry.Point{X: mid.X + cos*u - sin*v, Y: mid.Y + sin*u + cos*v}
	}
	n := max(1, int(math.Ceil(math.Abs(sweepAngle)/(math.Pi/4)-1e-9)))
	step := sweepAngle / float64(n)
	handle := 4.0 / 3 * math.Tan(step/4)
	out := make([]geometry.Segment, n)
	for i := range out {
		s0, c0 := math.Sincos(begin + float64(i)*step)
		s1, c1 := math.Sincos(begin + float64(i+1)*step)
		out[i] = geometry.Segment{A: at(c0, s0), B: at(c0-handle*s0, s0+handle*c0), C: at(c1+handle*s1, s1-handle*c1), D: at(c1, s1), Curved: true}
	}
	out[0].A, out[n-1].D = from, to
	return out
}
