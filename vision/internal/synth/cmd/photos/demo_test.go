package main

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/vision/card"
	"secondcut/vision/internal/synth"
)

// The demo must be easy: every piece and card whole in the photo, no card under
// the cloth.
func TestDemoScenesAreWhole(t *testing.T) {
	for name, scene := range map[string]func() synth.Scene{
		"front": frontScene, "back": backScene, "sleeve": sleeveScene, "pocket": pocketScene,
	} {
		s := scene()
		cloth := s.Pieces[0].Path.Flatten(0.5)
		if cloth.Area() <= 0 {
			t.Errorf("%s: the outline runs clockwise", name)
		}
		points := append(geometry.Polyline{}, cloth...)
		for _, k := range s.Cards {
			frame := geometry.Rigid{Turn: k.TurnDeg * math.Pi / 180, Move: k.Centre}
			const half = card.SideMM / 2
			for i := -4.0; i <= 4; i++ {
				for _, q := range []geometry.Point{{X: i * half / 4, Y: half}, {X: i * half / 4, Y: -half}, {X: half, Y: i * half / 4}, {X: -half, Y: i * half / 4}} {
					p := frame.Apply(q)
					points = append(points, p)
					if cloth.Contains(p) {
						t.Errorf("%s: card %d lies under the cloth", name, k.ID)
					}
				}
			}
		}
		for _, p := range points {
			px, ok := s.Camera.Project(p, 0)
			if !ok || px.X < 20 || px.Y < 20 || px.X > float64(s.Width-20) || px.Y > float64(s.Height-20) {
				t.Errorf("%s: (%.0f, %.0f) mm falls on pixel (%.0f, %.0f), out of the photo or near its rim", name, p.X, p.Y, px.X, px.Y)
				break
			}
		}
	}
}
