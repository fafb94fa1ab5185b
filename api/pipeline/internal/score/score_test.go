package score

import (
	"math"
	"testing"

	"secondcut/geometry"
)

// panel is a lopsided shape without symmetry.
func panel() Outline {
	o := Outline{Ring: geometry.Polyline{{X: 0, Y: 0}, {X: 300, Y: 0}, {X: 280, Y: 200}, {X: 120, Y: 240}, {X: 20, Y: 170}}}
	o.Corners = append(o.Corners, o.Ring...)
	return o
}

func TestCompareIgnoresTheFrame(t *testing.T) {
	truth := panel()
	got := truth.mapped(pose{turn: 2.1, scale: 1, move: geometry.Point{X: 500, Y: -90}})
	r := Compare(truth, got)
	if r.Max > 1e-3 || math.Abs(r.ScalePct) > 1e-4 || r.Found != 5 || r.False != 0 {
		t.Errorf("a moved copy scores %+v", r)
	}
}

func TestCompareSeesScale(t *testing.T) {
	truth := panel()
	got := truth.mapped(pose{turn: -0.4, scale: 1.004})
	if r := Compare(truth, got); math.Abs(r.ScalePct-0.4) > 1e-3 || r.Max < 0.2 || r.Max > 1 {
		t.Errorf("0.4 %% too large scores %+v", r)
	}
}

func TestCompareSeesABump(t *testing.T) {
	truth, got := panel(), panel()
	bump := geometry.Polyline{{X: 140, Y: 0}, {X: 145, Y: -3}, {X: 150, Y: 0}}
	got.Ring = append(append(geometry.Polyline{got.Ring[0]}, bump...), got.Ring[1:]...)
	got.Corners = append(got.Corners, bump[1], geometry.Point{X: 150, Y: 100})
	r := Compare(truth, got)
	if math.Abs(r.Max-3) > 0.1 || r.P50 > 0.05 || r.False != 2 {
		t.Errorf("a bump of 3 mm and a corner in the middle score %+v", r)
	}
}

func TestPair(t *testing.T) {
	small := panel().mapped(pose{scale: 0.5})
	tiny := panel().mapped(pose{scale: 0.1})
	if got := Pair([]Outline{panel(), small}, []Outline{tiny, small, panel()}); got[0] != 2 || got[1] != 1 {
		t.Errorf("pairs %v", got)
	}
	if got := Pair([]Outline{panel(), small}, []Outline{panel()}); got[0] != 0 || got[1] != -1 {
		t.Errorf("pairs %v with one missing", got)
	}
}
