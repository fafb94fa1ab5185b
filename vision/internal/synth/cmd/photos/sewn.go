package main

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision/internal/synth"
)

// sewnScene is a rectangle with a row of needle holes 10 mm inside its lower edge,
// every 2.6 mm.
func sewnScene() synth.Scene {
	const wide, high, inset, pitch = 200.0, 140.0, 10.0, 2.6
	weave := synth.Weave(synth.Colour{0.2, 0.25, 0.5}, 0.5, 0.3, 4)
	pen := synth.NewPen(geometry.Point{X: -wide / 2, Y: -high / 2})
	pen.Line(geometry.Point{X: wide / 2, Y: -high / 2})
	pen.Line(geometry.Point{X: wide / 2, Y: high / 2})
	pen.Line(geometry.Point{X: -wide / 2, Y: high / 2})
	s := synth.Scene{
		Width: 2000, Height: 1500, ThicknessMM: 0.6, Noise: 1, Seed: 3, Quality: 85,
		Camera:  synth.LookDown(2000, 1500, 1500, synth.View{Distance: 330, TiltDeg: 6, TowardDeg: 40}),
		Surface: synth.Paper(synth.Colour{0.5, 0.45, 0.4}, 5),
		Pieces: []synth.Piece{{Name: "sewn", Path: pen.Close(), Cloth: func(p geometry.Point) synth.Colour {
			x, y := p.X-pitch*math.Round(p.X/pitch), p.Y+high/2-inset
			k := 1 - 0.6*math.Exp(-(x*x+y*y)/(2*0.28*0.28))
			c := weave(p)
			return synth.Colour{c[0] * k, c[1] * k, c[2] * k}
		}}},
		Notes: "needle holes 10 mm inside the lower edge, 2.6 mm apart",
	}
	for i, at := range []geometry.Point{{X: -160, Y: -100}, {X: 160, Y: -100}, {X: 160, Y: 100}, {X: -160, Y: 100}} {
		s.Cards = append(s.Cards, synth.Card{ID: 20 + i, Centre: at, TurnDeg: 10 * float64(i)})
	}
	return s
}
