package segment

import "math"

// lab is a colour in CIE 1976 L*a*b* under D65: lightness 0..100, then
// green-red and blue-yellow. Distances of a few units are just visible.
type lab [3]float32

// labTables hold the two curves of the conversion, sampled finely enough for
// 8-bit colours (error below 0.02).
type labTables struct {
	linear [256]float32
	root   [4097]float32
}

func newLabTables() *labTables {
	t := &labTables{}
	for i := range t.linear {
		v := float64(i) / 255
		if v <= 0.04045 {
			t.linear[i] = float32(v / 12.92)
		} else {
			t.linear[i] = float32(math.Pow((v+0.055)/1.055, 2.4))
		}
	}
	for i := range t.root {
		// Spaced by the square, as the curve is steepest at black.
		v := float64(i) / 4096
		v *= v
		if v > 216.0/24389 {
			t.root[i] = float32(math.Cbrt(v))
		} else {
			t.root[i] = float32(v*841/108 + 4.0/29)
		}
	}
	return t
}

// fromLinear converts linear red, green and blue in 0..1 (IEC 61966-2-1
// primaries).
func (t *labTables) fromLinear(r, g, b float32) lab {
	x := t.f((0.4124*r + 0.3576*g + 0.1805*b) / 0.9505)
	y := t.f(0.2126*r + 0.7152*g + 0.0722*b)
	z := t.f((0.0193*r + 0.1192*g + 0.9505*b) / 1.089)
	return lab{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

func (t *labTables) f(v float32) float32 {
	s := float32(math.Sqrt(float64(min(max(v, 0), 1)))) * 4096
	i := min(int(s), 4095)
	return t.root[i] + (t.root[i+1]-t.root[i])*(s-float32(i))
}

// fromBGR converts one 8-bit pixel.
func (t *labTables) fromBGR(p []byte) lab {
	return t.fromLinear(t.linear[p[2]], t.linear[p[1]], t.linear[p[0]])
}
