package calib

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// pointOut returns the clicks on a reference of some kind that lies at place and
// has size times its meant size: four corners, or with edges two points on each
// straight edge of a card with round corners.
func (s scene) pointOut(rng *rand.Rand, kind string, place geometry.Rigid, size, click float64, edges bool) Reference {
	r := Reference{Kind: kind}
	sh, err := r.shape()
	if err != nil {
		panic(err)
	}
	see := func(p geometry.Point) {
		px, _ := s.camera.Project(place.Apply(geometry.Point{X: p.X * size, Y: p.Y * size}), sh.thickness)
		r.Points = append(r.Points, vision.Pixel{X: px.X + click*rng.NormFloat64(), Y: px.Y + click*rng.NormFloat64()})
	}
	c := sh.outline()
	for i, p := range c {
		if !edges {
			see(p)
			continue
		}
		see(p.Lerp(c[(i+1)%4], 0.1))
		see(p.Lerp(c[(i+1)%4], 0.9))
	}
	return r
}

// Clicked things give a scale that is as wrong as it says, and say that it is
// rough.
func TestReferencesGiveARoughScale(t *testing.T) {
	for _, kind := range []string{"bank-card", "a4", "letter"} {
		rng := rand.New(rand.NewPCG(31, 7))
		var true2, stated2 float64
		const trials = 60
		for trial := range trials {
			s := newScene(rng, 700, 1, scatter{focal: sigmaHint, k1: sigmaK1, k2: sigmaK2, p: sigmaP, mid: sigmaMid})
			sh, _ := Reference{Kind: kind}.shape()
			tol := sh.tolerance[0] / sh.width
			size := 1 + tol*(2*rng.Float64()-1)
			place := geometry.Rigid{Turn: rng.Float64() * 7, Move: geometry.Point{X: 30 * rng.NormFloat64(), Y: 30 * rng.NormFloat64()}}
			ref := s.pointOut(rng, kind, place, size, 2, kind == "bank-card" && trial%2 == 0)
			if trial%3 == 0 {
				slices.Reverse(ref.Points)
			}
			c, findings, err := Solve(&s.photo, nil, Options{ThicknessMM: -1, References: []Reference{ref}})
			if err != nil {
				t.Fatal(err)
			}
			if !has(findings, "rough-scale") || has(findings, "one-card") || c.PrintUncertaintyPct != 0 || c.Cards == nil || len(c.Cards) != 0 {
				t.Fatalf("%v, print %.2f %%, cards %v", findings, c.PrintUncertaintyPct, c.Cards)
			}
			e := lengthError(s, c)
			l := s.piece[0].Dist(s.piece[24])
			a, _ := s.camera.Project(s.piece[0], 0)
			b, _ := s.camera.Project(s.piece[24], 0)
			p, _ := c.ToPlane(a)
			q, _ := c.ToPlane(b)
			sigma := c.LengthSigma(p, q) / l
			true2, stated2 = true2+e*e/trials, stated2+sigma*sigma/trials
			if c.ScaleUncertaintyPct < 0.05 || math.Abs(e) > 5*sigma {
				t.Errorf("%s: off by %.2f %%, stated %.2f", kind, 100*e, 100*sigma)
			}
		}
		honest := math.Sqrt(stated2 / true2)
		t.Logf("%s: true %.2f %%, stated %.2f %%", kind, 100*math.Sqrt(true2), 100*math.Sqrt(stated2))
		// Sixty trials tell a standard deviation to a tenth.
		if honest < 0.75 || honest > 1.8 {
			t.Errorf("%s: stated over true is %.2f", kind, honest)
		}
	}
}

func TestReferencesBesideCardsCountForLittle(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	s, dets := usual(rng)
	place := geometry.Rigid{Turn: 0.3, Move: geometry.Point{X: 20, Y: 10}}
	good := s.pointOut(rng, "a4", place, 1.002, 2, false)
	c, findings, err := Solve(&s.photo, dets, Options{References: []Reference{good}})
	if err != nil || math.Abs(lengthError(s, c)) > 0.0005 || !has(findings, "rough-scale") || has(findings, "reference-off") {
		t.Errorf("%v, %v, length off by %.3f %%", err, findings, 100*lengthError(s, c))
	}
	if c.PrintUncertaintyPct < 0.4 || !c.Cards[5].Used {
		t.Errorf("%+v", c)
	}
	// A sheet of another size, called A4.
	wrong := s.pointOut(rng, "a4", place, 1.06, 2, false)
	c, findings, err = Solve(&s.photo, dets, Options{References: []Reference{wrong}})
	if err != nil || math.Abs(lengthError(s, c)) > 0.0005 || !has(findings, "reference-off") {
		t.Errorf("%v, %v, length off by %.3f %%", err, findings, 100*lengthError(s, c))
	}
	for _, r := range c.Cards {
		if !r.Used {
			t.Errorf("card %d was left out for a wrong reference", r.ID)
		}
	}
	// One card alone gains from a sheet of paper at its side.
	one, _, _ := Solve(&s.photo, dets[:1], Options{})
	two, _, err := Solve(&s.photo, dets[:1], Options{References: []Reference{good}})
	if err != nil || two.ScaleUncertaintyPct > one.ScaleUncertaintyPct {
		t.Errorf("%v: %.2f %% with the sheet, %.2f %% without", err, two.ScaleUncertaintyPct, one.ScaleUncertaintyPct)
	}
}

func TestReferencesThatMakeNoSense(t *testing.T) {
	s, _ := usual(rand.New(rand.NewPCG(6, 3)))
	px := func(xy ...float64) (out []vision.Pixel) {
		for i := 0; i < len(xy); i += 2 {
			out = append(out, vision.Pixel{X: xy[i], Y: xy[i+1]})
		}
		return out
	}
	for _, k := range []struct {
		r    Reference
		want string
	}{
		{Reference{Kind: "coin", Points: px(1, 1, 2, 2, 3, 3, 4, 4)}, "choose bank-card, a4 or letter"},
		{Reference{Kind: "a4", Points: px(100, 100, 900, 100, 900, 700)}, "four corners"},
		{Reference{Kind: "bank-card", Points: px(100, 100, 900, 100, 900, 700)}, "eight points"},
		{Reference{Kind: "a4", Points: px(100, 100, 9000, 100, 900, 700, 100, 700)}, "outside the photo"},
		{Reference{Kind: "a4", Points: px(100, 100, 900, 700, 900, 100, 100, 700)}, "in order"},
		{Reference{Kind: "a4", Points: px(100, 100, 900, 100, 900, 700, 300, 150)}, "in order"},
		{Reference{Kind: "a4", Points: px(100, 100, 110, 100, 110, 107, 100, 107)}, "too small"},
		{Reference{Kind: "bank-card", Points: px(1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1)}, "in order"},
		{Reference{Kind: "a4", Points: px(math.NaN(), 100, 900, 100, 900, 700, 100, 700)}, "outside the photo"},
	} {
		var refusal *vision.Refusal
		_, _, err := Solve(&s.photo, nil, Options{References: []Reference{k.r}})
		if err == nil || errors.As(err, &refusal) || !strings.Contains(err.Error(), k.want) {
			t.Errorf("%+v: %v, want %q", k.r, err, k.want)
		}
	}
}

// Corners as carried-on edges: exact for exact points, and unsure by as much as
// points that stray say.
func TestEdgesMeetInCorners(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	a, b, c, d := vision.Pixel{X: 100, Y: 10}, vision.Pixel{X: 20, Y: 10}, vision.Pixel{X: 0, Y: 30}, vision.Pixel{X: 5, Y: 90}
	k, ok := meet(a, b, c, d, 1)
	// The second line is x = (y - 30) / 12.
	if !ok || math.Hypot(k.px.X+20.0/12, k.px.Y-10) > 1e-9 {
		t.Fatalf("%+v", k)
	}
	var sum float64
	const n = 4000
	for range n {
		q := [4]vision.Pixel{a, b, c, d}
		for i := range q {
			q[i].X, q[i].Y = q[i].X+0.1*rng.NormFloat64(), q[i].Y+0.1*rng.NormFloat64()
		}
		m, _ := meet(q[0], q[1], q[2], q[3], 0.1)
		sum += (math.Pow(m.px.X-k.px.X, 2) + math.Pow(m.px.Y-k.px.Y, 2)) / 2
	}
	if got := math.Sqrt(sum / n); math.Abs(got/(0.1*k.sigma)-1) > 0.1 {
		t.Errorf("corners stray by %.4f px, stated %.4f", got, 0.1*k.sigma)
	}
}

func TestPointedOutThingsAreNoCloth(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	s, _ := usual(rng)
	place := geometry.Rigid{Turn: 0.3, Move: geometry.Point{X: 20, Y: 10}}
	c, _, err := Solve(&s.photo, nil, Options{References: []Reference{s.pointOut(rng, "a4", place, 1, 1, false)}})
	if err != nil {
		t.Fatal(err)
	}
	px, _ := s.camera.Project(place.Move, 0)
	p, _ := c.ToPlane(px)
	pl := &Plane{Width: 400, Height: 400, PxPerMM: 1, Origin: p.Add(geometry.Vec{X: -200, Y: 200}), Known: slices.Repeat([]byte{KnownScene}, 160000)}
	c.markCards(pl)
	covered := 0
	for _, k := range pl.Known {
		if k == KnownCard {
			covered++
		}
	}
	if pl.Known[200*400+200] != KnownCard || math.Abs(float64(covered)-305*218) > 0.03*305*218 {
		t.Errorf("%d mm2 of an A4 sheet are masked", covered)
	}
}

func FuzzParseReference(f *testing.F) {
	for _, s := range []string{"a4:1,2,3,4,5,6,7,8", "bank-card:1,2,3,4,5,6,7,8,9,10,11,12,13,14,15,16", "letter:", ":", "a4:1e400,NaN", "coin:1,2"} {
		f.Add(s)
	}
	p := &vision.Photo{Width: 4000, Height: 3000}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := ParseReference(s)
		if err != nil {
			if err.Error() == "" {
				t.Error("no reason given")
			}
			return
		}
		if k, err := r.target(p); err == nil && len(k.points) != 4 {
			t.Errorf("%q has %d corners", s, len(k.points))
		}
		// Whatever was read can be solved or refused, without an end of NaN.
		if c, _, err := Solve(p, []card.Detection{}, Options{References: []Reference{r}}); err == nil && math.IsNaN(c.Camera.F+c.ScaleUncertaintyPct) {
			t.Errorf("%q gives %+v", s, c)
		}
	})
}
