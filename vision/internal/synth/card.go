package synth

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision/card"
	"secondcut/vision/internal/cv"
)

// Reflectances of a laser print, as linear light.
const (
	paperTone = 0.82
	inkTone   = 0.025
	greyTone  = 0.45
)

// drawnCard is a card made ready for drawing.
type drawnCard struct {
	Card
	cells  [64]bool
	digits []stroke // the number, card frame
	s, c   float64  // sine and cosine of the turn
}

// stroke is a line of the printed number.
type stroke struct{ a, b geometry.Point }

const strokeHalf = 0.35 // half width of the number's strokes, mm

func newCard(c Card) (drawnCard, error) {
	cells, err := cv.TagCells(c.ID)
	d := drawnCard{Card: c, cells: cells, digits: number(c.ID)}
	d.s, d.c = math.Sincos(rad(c.TurnDeg))
	return d, err
}

// local returns the card frame's coordinates of the plane point p.
func (d *drawnCard) local(p geometry.Point) geometry.Point {
	x, y := p.X-d.Centre.X, p.Y-d.Centre.Y
	return geometry.Point{X: d.c*x + d.s*y, Y: -d.s*x + d.c*y}
}

// tone returns the card's reflectance at a point of the card frame; ok is false
// off the card.
func (d *drawnCard) tone(q geometry.Point) (t float64, ok bool) {
	x, y := math.Abs(q.X), math.Abs(q.Y)
	switch half := card.SideMM / 2; {
	case x > half || y > half:
		return 0, false
	case x > half-0.12 || y > half-0.12:
		return greyTone, true
	}
	if x < card.TagMM/2 && y < card.TagMM/2 {
		i := int((q.X + card.TagMM/2) / card.ModuleMM)
		j := int((card.TagMM/2 - q.Y) / card.ModuleMM)
		return ink(!d.cells[min(j, 7)*8+min(i, 7)]), true
	}
	// About a saddle point: black above right of it and below left of it.
	u := q.X - math.Copysign(card.SaddleMM, q.X)
	v := q.Y - math.Copysign(card.SaddleMM, q.Y)
	if math.Abs(u) < card.SquareMM && math.Abs(v) < card.SquareMM {
		return ink(u*v > 0), true
	}
	if q.Y < -26 && q.Y > -34 {
		for _, s := range d.digits {
			if distance(q, s.a, s.b) < strokeHalf {
				return greyTone, true
			}
		}
	}
	return paperTone, true
}

// shadow returns how much of the light at p beside the card is taken by its edge,
// 0..1. Paper that is not quite flat stands a third of a millimetre above the
// surface.
func (d *drawnCard) shadow(p geometry.Point, l *Light, from geometry.Vec) float64 {
	off := func(q geometry.Point) float64 {
		return max(math.Abs(q.X), math.Abs(q.Y)) - card.SideMM/2
	}
	q := d.local(p)
	if off(q) > 30 {
		return 0
	}
	const gap = 0.35
	throw := (gap + d.LiftMM) * max(l.Throw, 0.3)
	soft := 0.3 + 0.3*throw
	toward := d.local(geometry.Point{X: p.X + from.X*throw, Y: p.Y + from.Y*throw})
	touch := 0.2 * math.Exp(-max(off(q), 0)/0.5)
	return max(touch, l.Dark*ramp(-soft, soft, -off(toward)))
}

func ink(black bool) float64 {
	if black {
		return inkTone
	}
	return paperTone
}

// busy reports whether the card's tone may change within r mm of q.
func (d *drawnCard) busy(q geometry.Point, r float64) bool {
	x, y := math.Abs(q.X), math.Abs(q.Y)
	half := card.SideMM / 2
	if x > half+r || y > half+r {
		return false
	}
	if max(x, y) > half-0.12-r {
		return true
	}
	if q.Y < -26+r && q.Y > -34-r && x < 20 {
		return true
	}
	if max(x, y) < card.TagMM/2+r {
		return nearLine(q.X, card.ModuleMM, r) || nearLine(q.Y, card.ModuleMM, r)
	}
	u, v := math.Abs(x-card.SaddleMM), math.Abs(y-card.SaddleMM)
	if u > card.SquareMM+r || v > card.SquareMM+r {
		return false
	}
	return min(u, v) < r || max(u, v) > card.SquareMM-r
}

func nearLine(x, step, r float64) bool {
	return math.Abs(x-step*math.Round(x/step)) < r
}

// segments of a digit on a grid of 2 x 4, from the top round clockwise and the
// bar in the middle.
var (
	segmentEnds = [7][4]float64{{0, 4, 2, 4}, {2, 4, 2, 2}, {2, 2, 2, 0}, {0, 0, 2, 0}, {0, 2, 0, 0}, {0, 4, 0, 2}, {0, 2, 2, 2}}
	digitParts  = [10]string{"012345", "12", "01643", "01236", "1256", "02356", "023456", "012", "0123456", "012356"}
)

// number returns the strokes of the card's number, centred at y = -30.
func number(id int) []stroke {
	text := fmt.Sprint(id)
	const size, step = 1.1, 4.2
	left := -step*float64(len(text)-1)/2 - size
	var out []stroke
	for i, r := range text {
		for _, part := range digitParts[r-'0'] {
			e := segmentEnds[part-'0']
			at := func(x, y float64) geometry.Point {
				return geometry.Point{X: left + step*float64(i) + size*x, Y: -30 + size*(y-2)}
			}
			out = append(out, stroke{at(e[0], e[1]), at(e[2], e[3])})
		}
	}
	return out
}

// distance returns the distance from q to the stretch between a and b.
func distance(q, a, b geometry.Point) float64 {
	ab, aq := b.Sub(a), q.Sub(a)
	t := min(max(aq.Dot(ab)/max(ab.Dot(ab), 1e-12), 0), 1)
	x, y := aq.X-t*ab.X, aq.Y-t*ab.Y
	return math.Sqrt(x*x + y*y)
}
