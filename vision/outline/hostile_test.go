package outline

import (
	"context"
	"errors"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
)

func TestDegenerateInputs(t *testing.T) {
	cloth, dist := disc(40)
	photo := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft}.draw(view4, side4, 21)
	nan := geometry.Point{X: math.NaN(), Y: 1}
	good := rough(dist, 1, 22)
	for _, c := range []struct {
		name    string
		contour geometry.Polyline
		wrong   bool
	}{
		{"none", nil, true},
		{"one point", geometry.Polyline{{X: 1, Y: 1}}, true},
		{"tiny", geometry.Polyline{{X: 0, Y: 0}, {X: 1, Y: 0}, {X: 0, Y: 1}}, true},
		{"all NaN", geometry.Polyline{nan, nan, nan, nan}, true},
		{"huge", geometry.Polyline{{X: -1e9, Y: 0}, {X: 1e9, Y: 0}, {X: 0, Y: 1e9}}, true},
		{"some NaN", append(geometry.Polyline{nan, nan}, good...), false},
		{"flat", geometry.Polyline{{X: -30, Y: 0}, {X: 30, Y: 0}}, true},
		{"back and forth", geometry.Polyline{{X: -30, Y: 0}, {X: 30, Y: 0}, {X: 0, Y: 0}}, false},
		{"outside the photo", geometry.Polyline{{X: 300, Y: 0}, {X: 400, Y: 0}, {X: 350, Y: 90}}, false},
		{"partly outside", geometry.Polyline{{X: 0, Y: 0}, {X: 100, Y: 0}, {X: 0, Y: 90}}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			samples, err := trace(context.Background(), photo, view4, nil, c.contour, nil, Options{})
			if c.wrong != errors.Is(err, ErrContour) || !c.wrong && err != nil {
				t.Fatalf("error %v", err)
			}
			for _, s := range samples {
				if !s.At.IsFinite() || !(s.SigmaMM > 0) || math.IsInf(s.SigmaMM, 0) {
					t.Fatalf("sample %+v", s)
				}
			}
		})
	}
}

func TestPlacesThePhotoDoesNotShowAreWeak(t *testing.T) {
	cloth, dist := disc(80) // the photo shows 60 mm to either side
	photo := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft}.draw(view4, side4, 23)
	hidden := 0
	for _, s := range follow(t, photo, rough(dist, 1, 24)) {
		if math.Max(math.Abs(s.At.X), math.Abs(s.At.Y)) > 61 {
			hidden++
			if !s.Weak {
				t.Fatalf("%v is outside the photo and not weak", s.At)
			}
		}
	}
	if hidden == 0 {
		t.Error("no sample outside the photo")
	}
}

func TestCancelled(t *testing.T) {
	_, dist := disc(40)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	photo := &vision.Photo{Width: 4, Height: 4, BGR: make([]byte, 48)}
	if _, err := trace(ctx, photo, view4, nil, rough(dist, 1, 25), nil, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v, want that of the context", err)
	}
}

func FuzzTrace(f *testing.F) {
	cloth, _ := disc(20)
	view := above{scale: 2, half: 59.5}
	photo := scene{cloth: cloth, inside: plain(120, 70, 50), ground: plain(150, 170, 190), blurPx: 1, blurIn: soft, noise: 5}.draw(view, 120, 26)
	f.Add([]byte{10, 10, 200, 10, 200, 200, 10, 200})
	f.Add([]byte{0, 0, 255, 255, 0, 255, 255, 0, 128, 128})
	f.Fuzz(func(t *testing.T, b []byte) {
		var ring geometry.Polyline
		for i := 0; i+1 < len(b) && i < 64; i += 2 {
			ring = append(ring, geometry.Point{X: float64(b[i]) - 128, Y: float64(b[i+1]) - 128})
		}
		samples, err := trace(context.Background(), photo, view, nil, ring, nil, Options{})
		if err != nil && !errors.Is(err, ErrContour) {
			t.Fatal(err)
		}
		for _, s := range samples {
			if !s.At.IsFinite() || !(s.SigmaMM > 0) {
				t.Fatalf("sample %+v", s)
			}
		}
	})
}

func BenchmarkTrace(b *testing.B) {
	cloth, dist := disc(42)
	photo := scene{cloth: cloth, inside: stripes, ground: plain(70, 110, 150), blurPx: 1, blurIn: soft, noise: 2}.draw(view4, side4, 27)
	contour := rough(dist, 2, 28)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := trace(context.Background(), photo, view4, nil, contour, nil, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
