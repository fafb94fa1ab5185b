package main

import (
	"path/filepath"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/synth"
)

// Size of the demo photos: 8 megapixels, as a phone takes them by default.
const (
	demoWidth  = 3264
	demoHeight = 2448
)

// manifest says what the demo is made of.
type manifest struct {
	Garment  string        `json:"garment"`
	Photos   []demoPhoto   `json:"photos"`
	Patterns []demoPattern `json:"patterns"`
}

type demoPhoto struct {
	File  string `json:"file"`
	Name  string `json:"name"`
	Face  string `json:"face"` // the side of the cloth that faces up
	scene func() synth.Scene
}

// demoPattern is a garment file, relative to the folder.
type demoPattern struct {
	File string `json:"file"`
	Name string `json:"name"`
}

func writeDemo(dir string) error {
	m := manifest{Garment: "Lamplighter's smock", Photos: []demoPhoto{
		{"front.jpg", "Front", "right", frontScene},
		{"back.jpg", "Back", "wrong", backScene},
		{"sleeve.jpg", "Sleeve", "right", sleeveScene},
		{"pocket.jpg", "Patch pocket", "right", pocketScene},
	}, Patterns: []demoPattern{{"../garments/lamplighter-smock.json", "Lamplighter's smock, with its finishes"}}}
	for _, p := range m.Photos {
		name := p.File[:len(p.File)-len(".jpg")]
		if err := write(dir, name, p.scene()); err != nil {
			return err
		}
	}
	return writeJSON(filepath.Join(dir, "demo.json"), m)
}

// room is what the photos share: the boards of a loft, daylight from a window at
// the left.
func room(seed uint64) synth.Scene {
	light, dark := synth.SRGB(201, 176, 142), synth.SRGB(150, 116, 80)
	return synth.Scene{
		Width: demoWidth, Height: demoHeight, Seed: seed, ThicknessMM: 0.6, Quality: 90,
		BlurPx: 0.75, Noise: 0.9,
		Surface: synth.Boards(light, dark, 138, 41).Turned(4),
		Light: synth.Light{
			Slope: geometry.Vec{X: -0.35, Y: 0.12}, Vignette: 0.16,
			FromDeg: 160, Throw: 1.1, Soft: 1.1, Dark: 0.3,
		},
	}
}

// The smock is of an indigo linen; the pocket of the same, less faded.
func linen(seed uint64) synth.Paint {
	return synth.Weave(synth.SRGB(66, 84, 116), 0.62, 0.6, seed)
}

// phone is a lens of 26 mm on film with a little barrel distortion.
func phone(v synth.View) vision.Camera {
	c := synth.LookDown(demoWidth, demoHeight, demoWidth*26/36.0, v)
	c.K1, c.K2, c.P1 = -0.035, 0.012, 0.0002
	return c
}

func cardAt(id int, x, y, turn float64) synth.Card {
	return synth.Card{ID: id, Centre: at(x, y), TurnDeg: turn}
}

func frontScene() synth.Scene {
	s := room(11)
	piece := synth.Piece{
		Name: "Front", Path: smockFront(),
		Cloth: synth.Creased(linen(12),
			synth.Crease{At: at(40, 30), TurnDeg: 92, Width: 2.2, Depth: 0.1},
			synth.Crease{At: at(0, 6), TurnDeg: 1.5, Width: 3, Depth: 0.08}),
		Edge: synth.Edge{LossMM: 0.5, Threads: 0.03, ThreadMM: 7, Seed: 13},
	}
	s.Pieces = []synth.Piece{piece.Place(91, at(310, 4))}
	s.Cards = []synth.Card{
		cardAt(0, 370, 340, 95), cardAt(1, 30, 322, 78), cardAt(2, -330, 262, 110),
		cardAt(3, -345, -240, 88), cardAt(4, 20, -318, 71), cardAt(5, 358, -328, 101),
	}
	s.Camera = phone(synth.View{Target: at(0, 2), Distance: 800, TiltDeg: 7, TowardDeg: 100, TurnDeg: 1})
	return s
}

func backScene() synth.Scene {
	s := room(21)
	s.Surface = synth.Boards(synth.SRGB(201, 176, 142), synth.SRGB(150, 116, 80), 138, 47).Turned(-5)
	piece := synth.Piece{
		Name: "Back", Path: smockBack(),
		Cloth: synth.Creased(synth.Weave(synth.SRGB(78, 95, 124), 0.62, 0.6, 22),
			synth.Crease{At: at(-30, 0), TurnDeg: 87, Width: 2.6, Depth: 0.09},
			synth.Crease{At: at(160, 0), TurnDeg: 95, Width: 5, Depth: 0.05},
			synth.Crease{At: at(0, -14), TurnDeg: -2, Width: 2.4, Depth: 0.08}),
		Edge: synth.Edge{LossMM: 0.6, Threads: 0.04, ThreadMM: 9, Seed: 23},
	}
	s.Pieces = []synth.Piece{piece.Place(88, at(322, -10))}
	s.Cards = []synth.Card{
		cardAt(0, 352, 330, 84), cardAt(1, 40, 330, 102), cardAt(2, -356, 262, 92),
		cardAt(3, -352, -262, 75), cardAt(4, 0, -322, 97), cardAt(5, 372, -344, 90),
	}
	s.Camera = phone(synth.View{Target: at(4, -4), Distance: 785, TiltDeg: 10, TowardDeg: 80, TurnDeg: -2})
	return s
}

func sleeveScene() synth.Scene {
	s := room(31)
	piece := synth.Piece{
		Name: "Sleeve", Path: smockSleeve(),
		Cloth: synth.Creased(linen(32),
			synth.Crease{At: at(0, -6), TurnDeg: 3, Width: 2.4, Depth: 0.1},
			synth.Crease{At: at(150, 0), TurnDeg: 94, Width: 2, Depth: 0.12}),
		Edge: synth.Edge{LossMM: 0.4, Threads: 0.03, ThreadMM: 6, Seed: 33},
	}
	s.Pieces = []synth.Piece{piece.Place(94, at(224, -8))}
	s.Cards = []synth.Card{
		cardAt(0, 282, 190, 97), cardAt(1, 10, 228, 80), cardAt(2, -268, 196, 88),
		cardAt(3, -262, -206, 104), cardAt(4, 60, -266, 92), cardAt(5, 292, -222, 85),
	}
	s.Camera = phone(synth.View{Target: at(2, -14), Distance: 650, TiltDeg: 12, TowardDeg: 95, TurnDeg: 2})
	return s
}

func pocketScene() synth.Scene {
	s := room(41)
	s.Light.Slope = geometry.Vec{X: -0.5, Y: 0.2}
	piece := synth.Piece{
		Name: "Patch pocket", Path: smockPocket(), Cloth: synth.Weave(synth.SRGB(52, 70, 106), 0.62, 0.6, 42),
		Edge: synth.Edge{LossMM: 0.7, Threads: 0.06, ThreadMM: 8, Seed: 43},
	}
	s.Pieces = []synth.Piece{piece.Place(3, at(4, -100))}
	s.Cards = []synth.Card{
		cardAt(0, -150, 74, 6), cardAt(1, 156, 78, -12), cardAt(2, -152, -84, -4), cardAt(3, 158, -88, 10),
	}
	s.Camera = phone(synth.View{Target: at(2, -2), Distance: 335, TiltDeg: 9, TowardDeg: 70, TurnDeg: 1})
	return s
}
