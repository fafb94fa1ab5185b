package stitches_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/internal/synth"
	"secondcut/vision/stitches"
)

const (
	wideMM, highMM = 190.0, 130.0
	width, height  = 1200, 900
)

// panel is a rectangle about the origin.
func panel() geometry.Path {
	pen := synth.NewPen(geometry.Point{X: -wideMM / 2, Y: -highMM / 2})
	pen.Line(geometry.Point{X: wideMM / 2, Y: -highMM / 2})
	pen.Line(geometry.Point{X: wideMM / 2, Y: highMM / 2})
	pen.Line(geometry.Point{X: -wideMM / 2, Y: highMM / 2})
	return pen.Close()
}

// punched returns the cloth with a row of needle holes along the panel's lower
// edge, and a shorter one, over its right half only, along the upper edge.
func punched(base synth.Paint, inset, spacing, dark float64) synth.Paint {
	return func(p geometry.Point) synth.Colour {
		c := base(p)
		up := p.Y + highMM/2 - inset
		if p.Y > 0 {
			up = highMM/2 - inset - p.Y
		}
		x := p.X - spacing*math.Round(p.X/spacing)
		if p.Y > 0 && p.X < 0 || math.Abs(p.X) > wideMM/2-6 {
			return c
		}
		k := 1 - dark*math.Exp(-(x*x+up*up)/(2*0.28*0.28))
		return synth.Colour{c[0] * k, c[1] * k, c[2] * k}
	}
}

// draw photographs the panel at about 5 px/mm.
func draw(t testing.TB, r *rand.Rand, paint synth.Paint) (*vision.Photo, *calib.Calibration, geometry.Path) {
	t.Helper()
	turn := between(r, 0, 360)
	cam := synth.LookDown(width, height, 3000, synth.View{
		Distance: 600, TiltDeg: between(r, 0, 20), TowardDeg: between(r, 0, 360), TurnDeg: between(r, -8, 8),
	})
	piece := synth.Piece{Path: panel(), Cloth: paint, Edge: synth.Edge{LossMM: 0.4, Threads: 0.05, ThreadMM: 4, Seed: r.Uint64()}}
	if turn > 180 {
		piece = piece.Place(180, geometry.Point{})
		piece.Cloth = piece.Cloth.Turned(180)
	}
	photo, err := synth.Render(synth.Scene{
		Width: width, Height: height, Camera: cam, Surface: synth.Plain(synth.Colour{0.6, 0.6, 0.6}), Seed: r.Uint64(),
		BlurPx: between(r, 0.5, 1.1), Noise: between(r, 0.6, 2), Pieces: []synth.Piece{piece},
	})
	if err != nil {
		t.Fatal(err)
	}
	data, err := vision.EncodeJPEG(photo, 88)
	if err != nil {
		t.Fatal(err)
	}
	if photo, err = vision.Decode(t.Context(), data, vision.Limits{}); err != nil {
		t.Fatal(err)
	}
	return photo, &calib.Calibration{Camera: cam, Width: width, Height: height}, piece.Path
}

func between(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func rows(t testing.TB, photo *vision.Photo, cal *calib.Calibration, path geometry.Path) []vision.StitchRow {
	t.Helper()
	got, err := stitches.Rows(t.Context(), photo, cal, path)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// cloths are drawn cloths of all kinds; the pin dots and pin stripes repeat at
// the length of a stitch.
func cloths(r *rand.Rand, seed uint64) map[string]synth.Paint {
	c := synth.Colour{between(r, 0.08, 0.5), between(r, 0.08, 0.5), between(r, 0.08, 0.5)}
	weave := synth.Weave(c, between(r, 0.4, 0.9), between(r, 0.1, 0.7), seed)
	dark := synth.Colour{0.4, 0.5, 0.6}
	turn := between(r, -3, 3)
	return map[string]synth.Paint{
		"weave":       weave.Turned(turn),
		"turned":      weave.Turned(between(r, 0, 180)),
		"twill":       synth.Twill(c, between(r, 1.5, 3), seed),
		"stripes":     synth.Stripes(weave, dark, between(r, 6, 20), 3).Turned(turn),
		"pin stripes": synth.Stripes(weave, dark, between(r, 2, 4), 1).Turned(turn),
		"checks":      synth.Checks(weave, dark, between(r, 8, 30), 4).Turned(turn),
		"pin checks":  synth.Checks(weave, dark, between(r, 2, 4), 1).Turned(turn),
		"pin dots":    synth.Dots(weave, dark, between(r, 2.5, 4), 0.5).Turned(turn),
		"dots":        synth.Dots(weave, dark, between(r, 6, 20), 1.5).Turned(turn),
	}
}

func TestNoFalseRows(t *testing.T) {
	photos := 2
	if testing.Short() {
		photos = 1
	}
	for i := range photos {
		r := rand.New(rand.NewPCG(uint64(i), 0x57))
		for name, paint := range cloths(r, uint64(i)) {
			photo, cal, path := draw(t, rand.New(rand.NewPCG(uint64(i), 0x58)), paint)
			for _, row := range rows(t, photo, cal, path) {
				t.Errorf("%s %d: a row where there is none: %+v", name, i, row)
			}
		}
	}
}

func TestRowsAreFound(t *testing.T) {
	for i, k := range []struct {
		cloth                string
		inset, spacing, dark float64
		least                int // rows that must be found
	}{
		{"weave", 10, 2.5, 0.6, 2},
		{"turned", 15, 3, 0.6, 2},
		{"twill", 6, 3.1, 0.6, 2},
		// A row beside the rim of a stripe along the edge is kept back.
		{"stripes", 12, 2.8, 0.7, 1},
		{"checks", 9, 2.4, 0.7, 1},
		{"weave", 20, 3.6, -1, 2},
	} {
		r := rand.New(rand.NewPCG(uint64(i), 0x59))
		paint := punched(cloths(r, uint64(i))[k.cloth], k.inset, k.spacing, k.dark)
		photo, cal, path := draw(t, r, paint)
		got := rows(t, photo, cal, path)
		if len(got) < k.least || len(got) > 2 {
			t.Errorf("%s with holes %.1f mm in: %d rows, want %d: %+v", k.cloth, k.inset, len(got), k.least, got)
			continue
		}
		for _, row := range got {
			if math.Abs(row.DistanceMM-k.inset) > 0.3 || math.Abs(row.SpacingMM-k.spacing) > 0.15 {
				t.Errorf("%s: %+v, want %.1f mm in, every %.1f mm", k.cloth, row, k.inset, k.spacing)
			}
			if row.Sure < 0.5 || row.Sure > 1 {
				t.Errorf("%s: certainty %v", k.cloth, row.Sure)
			}
		}
		for _, row := range got {
			want := wideMM // along one edge; half of it along the other
			if (row.From.Y+row.To.Y)*lower(path) < 0 {
				want /= 2
			}
			if l := row.From.Dist(row.To); math.Abs(l-want) > 35 {
				t.Errorf("%s: %+v is %.0f mm long, want about %.0f", k.cloth, row, l, want)
			}
		}
	}
}

// lower is the sign of y of the panel's first edge, which has the long row.
func lower(path geometry.Path) float64 { return path[0].At.Y }

func TestFindingNamesTheDistance(t *testing.T) {
	f := stitches.Finding(vision.StitchRow{DistanceMM: 9.96, To: geometry.Point{X: 10}})
	if !strings.Contains(f.Message, "10.0 mm") || f.Remedy == "" || f.Where == nil || f.Where.X != 5 {
		t.Errorf("%+v", f)
	}
}

func TestOddOutlines(t *testing.T) {
	photo := &vision.Photo{Width: 40, Height: 30, BGR: make([]byte, 3600)}
	cal := &calib.Calibration{Width: 40, Height: 30, Camera: synth.LookDown(40, 30, 100, synth.View{Distance: 300})}
	at := func(x, y float64) geometry.Knot { return geometry.Knot{At: geometry.Point{X: x, Y: y}} }
	for _, path := range []geometry.Path{nil, {at(0, 0)}, {at(0, 0), at(0, 0)}, {at(0, 0), at(50, 0)}, {at(0, 0), at(9e3, 0), at(9e3, 9e3)}} {
		if got := rows(t, photo, cal, path); len(got) > 0 {
			t.Errorf("%v gives %+v", path, got)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := stitches.Rows(ctx, photo, cal, panel()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := stitches.Rows(t.Context(), &vision.Photo{}, cal, panel()); err == nil {
		t.Error("a photo of another size is taken")
	}
}

func BenchmarkRows(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	photo, cal, path := draw(b, r, cloths(r, 1)["weave"])
	for b.Loop() {
		rows(b, photo, cal, path)
	}
}
