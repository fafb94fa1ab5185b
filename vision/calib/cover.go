package calib

import (
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// Margins in mm round what is printed, for doubt of the place and paper that
// curls.
const (
	cardMarginMM  = 2.0
	looseMarginMM = 8.0 // round a card that does not lie on the plane
	thingMarginMM = 4.0 // round a reference, whose points were clicked
	sheetMarginMM = 1.0
	sheetFitMM    = 4.0 // cards lie as on the uncut sheet when they fit so well
)

// markCards sets Known to KnownCard where cards lie.
func (c *Calibration) markCards(pl *Plane) {
	for _, k := range c.Cards {
		m := card.SideMM/2 + cardMarginMM
		if !k.Used {
			m = card.SideMM/2 + looseMarginMM
		}
		c.cover(pl, place(k), geometry.Point{X: -m, Y: -m}, geometry.Point{X: m, Y: m})
	}
	for _, t := range c.things {
		x, y := t.shape.width/2+thingMarginMM, t.shape.height/2+thingMarginMM
		c.cover(pl, t.place, geometry.Point{X: -x, Y: -y}, geometry.Point{X: x, Y: y})
	}
	for _, s := range wholeSheets(c.Cards) {
		// The rectangle holds an A4 and a Letter sheet alike: their blocks of
		// cards lie a few mm apart.
		lo := geometry.Point{X: -80 - 27.95 - sheetMarginMM, Y: -120 - 37 - sheetMarginMM}
		hi := geometry.Point{X: 80 + 27.95 + sheetMarginMM, Y: 120 + 20 + sheetMarginMM}
		c.cover(pl, s, lo, hi)
	}
}

// place returns the map from the card frame to the plane.
func place(k vision.CardReport) geometry.Rigid {
	return geometry.Rigid{Turn: k.TurnDeg * math.Pi / 180, Move: k.Centre}
}

// cover marks the rectangle lo..hi of frame at, which lies on the plane itself,
// where it appears at the height of the cloth's face.
func (c *Calibration) cover(pl *Plane, at geometry.Rigid, lo, hi geometry.Point) {
	ring := geometry.Polyline{}
	for _, q := range [4]geometry.Point{lo, {X: hi.X, Y: lo.Y}, hi, {X: lo.X, Y: hi.Y}} {
		px, ok := c.project(at.Apply(q), 0)
		if !ok {
			return
		}
		p, ok := c.ToPlane(px)
		if !ok {
			return
		}
		x, y := pl.Pixel(p)
		ring = append(ring, geometry.Point{X: x, Y: y})
	}
	a, b := ring.Bounds()
	for y := max(0, int(a.Y)); y <= min(pl.Height-1, int(b.Y)+1); y++ {
		for x := max(0, int(a.X)); x <= min(pl.Width-1, int(b.X)+1); x++ {
			at := y*pl.Width + x
			if pl.Known[at] == KnownScene && ring.Contains(geometry.Point{X: float64(x), Y: float64(y)}) {
				pl.Known[at] = KnownCard
			}
		}
	}
}

// sheetPlace returns where card id lies on its sheet, in mm from the middle of
// the block of six cards.
func sheetPlace(id int) geometry.Point {
	return geometry.Point{X: float64(id%6%2)*card.SideMM - 40, Y: 80 - float64(id%6/2)*card.SideMM}
}

// wholeSheets returns the places of sheets that were not cut apart: four cards
// or more that lie as they were printed.
func wholeSheets(cards []vision.CardReport) []geometry.Rigid {
	bySheet := map[int][]vision.CardReport{}
	for _, k := range cards {
		bySheet[k.ID/6] = append(bySheet[k.ID/6], k)
	}
	var found []geometry.Rigid
	for _, k := range cards {
		group := bySheet[k.ID/6]
		if k.ID != group[0].ID || len(group) < 4 {
			continue
		}
		var from, to []geometry.Point
		for _, g := range group {
			from, to = append(from, sheetPlace(g.ID)), append(to, g.Centre)
		}
		fit, rms := rigidFit(from, to)
		turn := math.Remainder(k.TurnDeg*math.Pi/180-fit.Turn, 2*math.Pi)
		if rms < sheetFitMM && math.Abs(turn) < 0.2 {
			found = append(found, fit)
		}
	}
	return found
}

// rigidFit returns the rigid map that takes from onto to with the least squared
// error, and the root mean square of what remains, in mm.
func rigidFit(from, to []geometry.Point) (geometry.Rigid, float64) {
	a, b := mean(from), mean(to)
	var dot, cross float64
	for i := range from {
		u, v := from[i].Sub(a), to[i].Sub(b)
		dot, cross = dot+u.Dot(v), cross+u.Cross(v)
	}
	turn := geometry.Rigid{Turn: math.Atan2(cross, dot)}
	at := turn.Apply(a)
	fit := geometry.Rigid{Turn: turn.Turn, Move: geometry.Point{X: b.X - at.X, Y: b.Y - at.Y}}
	var sum float64
	for i := range from {
		d := fit.Apply(from[i]).Dist(to[i])
		sum += d * d
	}
	return fit, math.Sqrt(sum / float64(len(from)))
}

func mean(pts []geometry.Point) (m geometry.Point) {
	for _, p := range pts {
		m.X, m.Y = m.X+p.X/float64(len(pts)), m.Y+p.Y/float64(len(pts))
	}
	return
}
