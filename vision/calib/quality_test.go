package calib

import (
	"bytes"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// solvedScene returns a calibration of six cards round a piece and the piece's
// outline in the calibration's own plane.
func solvedScene(t *testing.T, keep func(d card.Detection) bool) (*Calibration, geometry.Polyline) {
	t.Helper()
	s, dets := usual(rand.New(rand.NewPCG(5, 8)))
	dets = slices.DeleteFunc(dets, func(d card.Detection) bool { return !keep(d) })
	c, _, err := Solve(&s.photo, dets, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var outline geometry.Polyline
	for _, p := range s.piece {
		p.Y *= 0.8 // clear of the cards
		px, _ := s.camera.Project(p, 0.6)
		q, _ := c.ToPlane(px)
		outline = append(outline, q)
	}
	return c, outline
}

func find(findings []geometry.Finding, code string) *geometry.Finding {
	for i := range findings {
		if findings[i].Code == code && findings[i].Message != "" && findings[i].Remedy != "" {
			return &findings[i]
		}
	}
	return nil
}

func TestAGoodPhotoOfAPieceNeedsNoWord(t *testing.T) {
	c, outline := solvedScene(t, func(card.Detection) bool { return true })
	grey := &vision.Photo{Width: 4000, Height: 3000, BGR: bytes.Repeat([]byte{200}, 36e6)}
	if found := c.PieceFindings(grey, outline); len(found) != 0 {
		t.Errorf("%v", found)
	}
	if found := c.PieceFindings(nil, nil); found != nil {
		t.Errorf("no outline gave %v", found)
	}
}

// Cards at one end only: the advice has to name the other end.
func TestCardsOnOneSideOfThePiece(t *testing.T) {
	for _, right := range []bool{false, true} {
		c, outline := solvedScene(t, func(d card.Detection) bool {
			return d.Tag[0].At.X > 2500 == right && math.Abs(d.Tag[0].At.X-2000) > 700
		})
		f := find(c.PieceFindings(nil, outline), "cards-one-side")
		want := map[bool]string{false: "right", true: "left"}[right]
		if f == nil || f.Where == nil || !strings.Contains(f.Remedy, want) {
			t.Errorf("cards on the right %v: %+v", right, f)
		}
	}
}

func TestACardFarFromAnEndIsSaid(t *testing.T) {
	c, outline := solvedScene(t, func(d card.Detection) bool { return d.ID == 0 })
	f := find(c.Coverage(outline), "cards-far")
	if f == nil || !strings.Contains(f.Remedy, " of the piece") || f.Amount < f.Limit {
		t.Errorf("%+v", f)
	}
}

// Cloth that reaches over a card is said to be not flat there, and cloth that only
// touches one is not.
func TestClothOnACardIsSaid(t *testing.T) {
	c, outline := solvedScene(t, func(card.Detection) bool { return true })
	k := c.Cards[2]
	for over, said := range map[float64]bool{-1: false, 1: false, 9: true} {
		moved := slices.Clone(outline)
		nearest, _ := extreme(moved, k.Centre.Dist)
		for i, p := range moved {
			if p == nearest {
				// Into the card, square to its left side.
				moved[i] = place(k).Apply(geometry.Point{X: -card.SideMM/2 + over, Y: 3})
			}
		}
		f := find(c.onCardFinding(moved), "cloth-not-flat")
		if (f != nil) != said || said && (math.Abs(f.Amount-over) > 1e-6 || !strings.Contains(f.Message, "card 2")) {
			t.Errorf("%.0f mm over the card: %+v", over, f)
		}
	}
}

func TestTooFewPixelsAreSaid(t *testing.T) {
	c := &Calibration{Camera: vision.Camera{F: 700, Cx: 500, Cy: 400, R: [9]float64{1, 0, 0, 0, -1, 0, 0, 0, -1}, T: [3]float64{0, 0, 1000}}, Width: 1000, Height: 800}
	square := geometry.Polyline{{X: -200, Y: -200}, {X: 200, Y: -200}, {X: 200, Y: 200}, {X: -200, Y: 200}}
	f := find(c.PieceFindings(nil, square), "coarse")
	if f == nil || math.Abs(f.Amount-0.7) > 0.01 {
		t.Errorf("0.7 px/mm gave %+v", f)
	}
	c.Camera.F = 2100
	if f := find(c.PieceFindings(nil, square), "coarse"); f != nil {
		t.Errorf("2.1 px/mm gave %+v", f)
	}
}

func TestAPieceSeenFromTheSideIsSaid(t *testing.T) {
	s, co := math.Sincos(0.9)
	c := &Calibration{Camera: vision.Camera{F: 3000, Cx: 2000, Cy: 1500, R: [9]float64{1, 0, 0, 0, -co, s, 0, -s, -co}, T: [3]float64{0, 0, 900}}, Width: 4000, Height: 3000}
	far := geometry.Polyline{{X: -100, Y: -50}, {X: 100, Y: -50}, {X: 100, Y: 150}, {X: -100, Y: 150}}
	f := find(c.PieceFindings(nil, far), "piece-oblique")
	if f == nil || math.Abs(f.Amount-c.ObliqueDeg(*f.Where)) > 1e-9 || f.Amount < 0.9*180/math.Pi {
		t.Errorf("%+v", f)
	}
}

func TestBurntOutEdgesAreSaid(t *testing.T) {
	c, outline := solvedScene(t, func(card.Detection) bool { return true })
	p := &vision.Photo{Width: 4000, Height: 3000, BGR: bytes.Repeat([]byte{200}, 36e6)}
	// The right third of the photo is white.
	for y := range p.Height {
		for i := 3 * (y*p.Width + 2700); i < 3*(y+1)*p.Width; i++ {
			p.BGR[i] = 255
		}
	}
	f := find(c.PieceFindings(p, outline), "glare")
	if f == nil || f.Amount < 15 || f.Amount > 60 {
		t.Fatalf("%+v", f)
	}
	if px, _ := c.ToImage(*f.Where); px.X < 2650 {
		t.Errorf("glare is said to be at %v", px)
	}
}

func TestTiltAndBlurAndUnevenCardsAreSaid(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	s, _ := usual(rng)
	s.camera.R = rotation([3]float64{math.Pi - 0.75, 0, 0})
	_, findings, err := Solve(&s.photo, s.detections(rng, 0.05), Options{})
	if f := find(findings, "oblique"); err != nil || f == nil || math.Abs(f.Amount-43) > 1 {
		t.Errorf("%v, %v", err, findings)
	}
	s, dets := usual(rng)
	for i := range dets {
		dets[i].BlurPx = 5
	}
	if _, findings, err = Solve(&s.photo, dets, Options{}); err != nil || find(findings, "blurred") == nil {
		t.Errorf("%v, %v", err, findings)
	}
	if _, findings, err = Solve(&s.photo, s.seen(rng, 2, 0.05), Options{}); err != nil || find(findings, "cards-uneven") == nil {
		t.Errorf("%v, %v", err, findings)
	}
}
