package interchange

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func TestNotchesOfMarks(t *testing.T) {
	for _, c := range []struct {
		shape pattern.NotchShape
		line  []geometry.Point
		want  Notch
	}{
		{pattern.NotchSlit, []geometry.Point{at(10, 0), at(10, 5)}, Notch{At: at(10, 0), Turn: math.Pi / 2, DepthMM: 5}},
		{pattern.NotchV, []geometry.Point{at(8, 0), at(10, 5), at(12, 0)}, Notch{At: at(10, 0), Turn: math.Pi / 2, DepthMM: 5, Shape: NotchV}},
	} {
		m := pattern.PlacedMark{Kind: pattern.MarkNotch, Shape: c.shape, Lines: [][]geometry.Point{c.line}}
		if got := notches(m); len(got) != 1 || got[0] != c.want {
			t.Errorf("%s: %+v, want %+v", c.shape, got, c.want)
		}
	}
}
