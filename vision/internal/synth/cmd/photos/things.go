package main

import (
	"math"
	"path/filepath"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/synth"
)

// thing is something of known size that lies beside a piece in place of scale cards.
type thing struct {
	kind          string
	at            geometry.Rigid
	width, height float64 // mm
	round         float64 // radius of its corners, mm
	colour        synth.Colour
}

// things are a sheet of A4 (ISO 216) and a card of ISO/IEC 7810 ID-1, whose corners
// have a radius of 3.18 mm (from memory).
var things = []thing{
	{"a4", geometry.Rigid{Turn: 0.06, Move: at(150, 10)}, 210, 297, 0, synth.SRGB(238, 237, 232)},
	{"bank-card", geometry.Rigid{Turn: -0.12, Move: at(-120, -150)}, 85.60, 53.98, 3.18, synth.SRGB(196, 60, 52)},
}

// thingsScene is a patch pocket beside both, and no scale card.
func thingsScene() synth.Scene {
	s := room(51)
	s.Width, s.Height = 1600, 1200
	s.Camera = synth.LookDown(s.Width, s.Height, float64(s.Width)*26/36, synth.View{Target: at(15, -5), Distance: 470, TiltDeg: 11, TowardDeg: 75, TurnDeg: 1})
	floor := s.Surface
	s.Surface = func(p geometry.Point) synth.Colour {
		for _, t := range things {
			if t.covers(p) {
				return t.colour
			}
		}
		return floor(p)
	}
	piece := synth.Piece{
		Name: "Patch pocket", Path: smockPocket(), Cloth: synth.Weave(synth.SRGB(52, 70, 106), 0.62, 0.6, 52),
		Edge: synth.Edge{LossMM: 0.5, Threads: 0.04, ThreadMM: 6, Seed: 53},
	}
	s.Pieces = []synth.Piece{piece.Place(-2, at(-120, -90))}
	s.Notes = "no scale card; a sheet of A4 and a bank card"
	return s
}

// covers reports whether the thing lies on a point of the plane.
func (t thing) covers(p geometry.Point) bool {
	q := t.at.Inverse().Apply(p)
	x, y := math.Abs(q.X)-t.width/2+t.round, math.Abs(q.Y)-t.height/2+t.round
	return x <= t.round && y <= t.round && (x <= 0 || y <= 0 || math.Hypot(x, y) <= t.round)
}

// thingTruth says where a thing appears: its corners, or those that its edges would
// meet in, clockwise from the top left one of its own frame, in pixels.
type thingTruth struct {
	Kind   string       `json:"kind"`
	Points [][2]float64 `json:"points_px"`
}

func (t thing) truth(c vision.Camera) thingTruth {
	out := thingTruth{Kind: t.kind}
	x, y := t.width/2, t.height/2
	for _, q := range []geometry.Point{{X: -x, Y: y}, {X: x, Y: y}, {X: x, Y: -y}, {X: -x, Y: -y}} {
		px, _ := c.Project(t.at.Apply(q), 0)
		out.Points = append(out.Points, [2]float64{math.Round(px.X*100) / 100, math.Round(px.Y*100) / 100})
	}
	return out
}

// writeThings writes the photo, and its truth with where the things are.
func writeThings(dir string) error {
	s := thingsScene()
	if err := write(dir, "things", s); err != nil {
		return err
	}
	truth := struct {
		synth.Truth
		Things []thingTruth `json:"things"`
	}{Truth: s.Truth("things.jpg")}
	for _, t := range things {
		truth.Things = append(truth.Things, t.truth(s.Camera))
	}
	return writeJSON(filepath.Join(dir, "things.json"), truth)
}
