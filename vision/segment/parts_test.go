package segment

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/vision/calib"
)

// Values of the primaries from the definition of sRGB (IEC 61966-2-1) and CIE
// L*a*b* under D65, as found in any table of them.
func TestLabOfKnownColours(t *testing.T) {
	tables := newLabTables()
	for _, c := range []struct {
		bgr  []byte
		want lab
	}{
		{[]byte{255, 255, 255}, lab{100, 0, 0}},
		{[]byte{0, 0, 0}, lab{0, 0, 0}},
		{[]byte{0, 0, 255}, lab{53.24, 80.09, 67.20}},
		{[]byte{0, 255, 0}, lab{87.73, -86.18, 83.18}},
		{[]byte{255, 0, 0}, lab{32.30, 79.19, -107.86}},
		{[]byte{119, 119, 119}, lab{50.03, 0, 0}},
	} {
		got := tables.fromBGR(c.bgr)
		if math.Sqrt(float64(distance2(got, c.want))) > 0.15 {
			t.Errorf("%v is %v, want %v", c.bgr, got, c.want)
		}
	}
}

func TestBoxSumAndWindowMin(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for range 50 {
		w, h, reach := 1+r.IntN(9), 1+r.IntN(9), r.IntN(4)
		v := make([]float32, w*h)
		for i := range v {
			v[i] = float32(r.IntN(100))
		}
		sum, least := boxSum(v, w, h, reach), windowMin(v, w, h, reach)
		for i := range v {
			var s float32
			m := float32(math.MaxFloat32)
			for j := range v {
				if max(abs(i%w-j%w), abs(i/w-j/w)) <= reach {
					s, m = s+v[j], min(m, v[j])
				}
			}
			if s != sum[i] || m != least[i] {
				t.Fatalf("%dx%d reach %d at %d: sum %v least %v, want %v and %v", w, h, reach, i, sum[i], least[i], s, m)
			}
		}
	}
}

func TestGrowShrinkAndLabel(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 50 {
		w, h, reach := 1+r.IntN(12), 1+r.IntN(12), 1+r.IntN(3)
		mask := make([]bool, w*h)
		for i := range mask {
			mask[i] = r.IntN(3) > 0
		}
		more, less := grow(mask, w, h, reach), shrink(mask, w, h, reach)
		for i := range mask {
			any, every := false, true
			for j := range mask {
				if max(abs(i%w-j%w), abs(i/w-j/w)) <= reach {
					any, every = any || mask[j], every && mask[j]
				}
			}
			if any != more[i] || every != less[i] {
				t.Fatalf("%dx%d reach %d at %d: grown %v shrunk %v", w, h, reach, i, more[i], less[i])
			}
		}
		checkLabel(t, mask, w, h)
	}
}

// checkLabel asks that neighbours share a part and that parts cover the mask
// once.
func checkLabel(t *testing.T, mask []bool, w, h int) {
	t.Helper()
	of := make([]int, len(mask))
	for k, part := range label(w, h, mask, true) {
		for _, i := range part {
			if of[i] != 0 || !mask[i] {
				t.Fatal("a pixel is in two parts, or in one it does not belong to")
			}
			of[i] = k + 1
		}
	}
	for i := range mask {
		if mask[i] && of[i] == 0 {
			t.Fatal("a pixel is in no part")
		}
		if i%w+1 < w && mask[i] && mask[i+1] && of[i] != of[i+1] || i+w < len(mask) && mask[i] && mask[i+w] && of[i] != of[i+w] {
			t.Fatal("neighbours are in different parts")
		}
	}
}

// The density of a mixture learned from one normal cloud is that cloud's.
func TestMixtureLearnsACloud(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 3))
	var samples []sample
	for range 6000 {
		var f feature
		for d := range f {
			f[d] = 40 + 5*float32(r.NormFloat64())
		}
		f[1] += f[0] / 2
		samples = append(samples, sample{f, 1})
	}
	m := learn(samples, straySurface)
	at := func(l, a float32) float32 { f := feature{l, a, 40, 40, 40}; return m.logDensity(&f) }
	centre := at(40, 60)
	if !(centre > at(50, 65) && at(50, 65) > at(60, 70)) {
		t.Error("density does not fall from the centre")
	}
	if at(50, 65) < at(50, 55)+1 {
		t.Error("the slant of the cloud was not learned")
	}
	if v := at(-500, 0); v != straySurface {
		t.Errorf("far away the density is %v, want the floor", v)
	}
	if learn(nil, 0) != nil {
		t.Error("a mixture was learned from nothing")
	}
}

// A disc drawn in pixels comes back as a ring of its area, to half a pixel.
func TestRingsOfADiscWithAHole(t *testing.T) {
	pl := &calib.Plane{Width: 200, Height: 160, PxPerMM: 2, Origin: geometry.Point{X: -3, Y: 90}}
	var pixels []int32
	for i := range 200 * 160 {
		x, y := float64(i%200)-100, float64(i/200)-80
		if d := math.Hypot(x, y); d < 60 && d > 20 {
			pixels = append(pixels, int32(i))
		}
	}
	rings := newField(pixels, 200).rings(pl)
	if len(rings) != 2 {
		t.Fatalf("%d rings, want 2", len(rings))
	}
	slices.SortFunc(rings, func(a, b geometry.Polyline) int { return int(b.Area() - a.Area()) })
	centre := pl.At(100, 80)
	for k, want := range []float64{30, -10} {
		for _, p := range resample(rings[k], 1) {
			if math.Abs(p.Dist(centre)-math.Abs(want)) > 0.25 {
				t.Fatalf("%v lies %.2f mm from the centre, want %.0f", p, p.Dist(centre), math.Abs(want))
			}
		}
		if a := rings[k].Area(); a*want < 0 || math.Abs(math.Abs(a)-math.Pi*want*want) > 0.02*math.Pi*want*want {
			t.Errorf("area %.1f, radius should be %.0f", a, want)
		}
	}
}

func TestResampleIsEven(t *testing.T) {
	ring := resample(box(0, 0, 40, 30), 1)
	for i, p := range ring {
		if l := p.Dist(ring[(i+1)%len(ring)]); l > 1.01 || l < 0.7 {
			t.Errorf("step of %.2f mm", l)
		}
	}
	if len(ring) != 140 {
		t.Errorf("%d points, want 140", len(ring))
	}
}

// A patch unlike the rim is noticed although the guess is sure of floor; grain,
// and the same floor in shade, are not.
func TestNovelPatchIsNoticed(t *testing.T) {
	d := newDrawing(480, 360, wood, 10, 4)
	patch := box(180, 120, 260, 220)
	d.cloth(patch, all(bgr{120, 190, 110}))
	d.light(func(x, _ int) float64 {
		if x > 300 && x < 380 {
			return 0.65
		}
		return 1
	})
	f, err := newFind(d.pl, Options{NoPrior: true})
	if err != nil {
		t.Fatal(err)
	}
	for i := range f.odds.guess {
		f.odds.guess[i] = -guessCap
	}
	s, right, wrong := f.scene, 0, 0
	for i, is := range s.novel(&f.odds, f.outer) {
		p := d.pl.At(float64(i%s.width*s.side), float64(i/s.width*s.side))
		if is && patch.Contains(p) {
			right++
		} else if is {
			wrong++
		}
	}
	area := 80 * 100 / (s.side * s.side)
	if right < area/2 || wrong > area/20 {
		t.Errorf("of %d cells of the patch %d are noticed, and %d of the floor", area, right, wrong)
	}
}
