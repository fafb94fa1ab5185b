package geometry_test

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"secondcut/geometry"
)

func TestRigidProperties(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 9))
	random := func() geometry.Rigid {
		return geometry.Rigid{Turn: 7 * rnd.NormFloat64(), Move: pt(500*rnd.NormFloat64(), 500*rnd.NormFloat64())}
	}
	for range 500 {
		a, b := random(), random()
		p, q := pt(300*rnd.NormFloat64(), 300*rnd.NormFloat64()), pt(rnd.NormFloat64(), rnd.NormFloat64())
		if d := a.Inverse().Apply(a.Apply(p)).Dist(p); d > 1e-9 {
			t.Fatalf("inverse of %v: off by %v", a, d)
		}
		if d := a.Then(b).Apply(p).Dist(b.Apply(a.Apply(p))); d > 1e-9 {
			t.Fatalf("%v then %v: off by %v", a, b, d)
		}
		if math.Abs(a.Apply(p).Dist(a.Apply(q))-p.Dist(q)) > 1e-9 {
			t.Fatalf("%v changes distances", a)
		}
	}
	// A quarter turn counter-clockwise.
	if got := (geometry.Rigid{Turn: math.Pi / 2}).Apply(pt(1, 0)); got.Dist(pt(0, 1)) > 1e-15 {
		t.Errorf("quarter turn of (1,0): %v", got)
	}
}

func TestVec(t *testing.T) {
	v, w := geometry.Vec{X: 3, Y: 4}, geometry.Vec{X: -4, Y: 3}
	if v.Len() != 5 || v.Perp() != w || v.Dot(w) != 0 || v.Cross(w) != 25 || v.Unit().Len() != 1 {
		t.Error("length, quarter turn or products are wrong")
	}
	if (geometry.Vec{}).Unit() != (geometry.Vec{}) {
		t.Error("the unit of nothing is nothing")
	}
	if pt(1, 2).Lerp(pt(3, 6), 0.25) != pt(1.5, 3) || pt(3, 6).Sub(pt(1, 2)) != (geometry.Vec{X: 2, Y: 4}) {
		t.Error("interpolation or difference is wrong")
	}
}

func TestPointJSON(t *testing.T) {
	for _, c := range []struct {
		in string
		ok bool
	}{
		{"[1,2]", true},
		{"[1.5,-2e3]", true},
		{"[1]", false},
		{"[1,2,3]", false},
		{"[]", false},
		{"null", false},
		{`"1,2"`, false},
		{`{"x":1}`, false},
		{"[1e400,0]", false},
	} {
		p := pt(7, 7)
		err := json.Unmarshal([]byte(c.in), &p)
		if (err == nil) != c.ok {
			t.Errorf("%s: error %v", c.in, err)
		}
		if !c.ok && p != pt(7, 7) {
			t.Errorf("%s changed the point to %v in spite of the error", c.in, p)
		}
	}
	_, err := pt(0, math.Inf(1)).MarshalJSON()
	if !errors.Is(err, geometry.ErrNotFinite) {
		t.Errorf("infinite point: %v", err)
	}
	b, _ := json.Marshal(pt(-0.00001, 1.00006))
	if string(b) != "[0,1.0001]" {
		t.Errorf("%s", b)
	}
}
