package calib

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// What is worth a word about a piece. From experience with edges, not from a
// standard: an edge is found to about a fifth of a pixel, and cloth varies by
// less than half a millimetre.
const (
	minPxPerMM    = 2.0  // below it a fifth of a pixel is a tenth of a millimetre
	warnSightDeg  = 50.0 // a fold 1 mm high moves an edge by 1.2 mm
	warnPointMM   = 0.25 // standard uncertainty of an outline point by the calibration
	oneSideDeg    = 200  // of the directions from the piece, free of cards
	burntLevel    = 250  // of 255, in all three colours: nothing is told apart above it
	burntShare    = 0.04 // of the outline
	burntAsideMM  = 3.0  // where cloth and surface are looked at, from the edge
	outlineStepMM = 5.0
	onCardMM      = 4.0 // by which an outline may reach over a card: doubt of edge and place
)

// PieceFindings says what makes the outline of a piece less sure than it could
// be, each with its remedy: too few pixels, seen from too far to the side, cards
// on one side only or none near an end, cloth that lies on a card and so not flat,
// edges in burnt-out light. Waves in the cloth beside that are not looked for: one
// photo shows them as shading, which prints and shadows have as well. outline is
// closed, in plane millimetres; p is the photo that was solved, and may be nil,
// when light is not judged.
func (c *Calibration) PieceFindings(p *vision.Photo, outline geometry.Polyline) (out []geometry.Finding) {
	pts := spaced(outline, outlineStepMM)
	if len(pts) < 3 {
		return nil
	}
	out = append(out, c.coarseFinding(pts)...)
	out = append(out, c.sideFinding(pts)...)
	out = append(out, c.Coverage(pts)...)
	out = append(out, c.onCardFinding(pts)...)
	if p != nil && p.Width == c.Width && p.Height == c.Height && len(p.BGR) == 3*p.Width*p.Height {
		out = append(out, c.burntFinding(p, pts)...)
	}
	return out
}

// spaced returns points of a closed line about step mm apart.
func spaced(line geometry.Polyline, step float64) (out geometry.Polyline) {
	for i, a := range line {
		b := line[(i+1)%len(line)]
		for n, k := max(1, int(a.Dist(b)/step)), 0; k < n; k++ {
			out = append(out, a.Lerp(b, float64(k)/float64(n)))
		}
	}
	return out
}

// extreme returns the point at which value is least.
func extreme(pts geometry.Polyline, value func(geometry.Point) float64) (at geometry.Point, least float64) {
	least = math.Inf(1)
	for _, p := range pts {
		if v := value(p); v < least {
			at, least = p, v
		}
	}
	return at, least
}

func (c *Calibration) coarseFinding(pts geometry.Polyline) []geometry.Finding {
	at, least := extreme(pts, c.PxPerMM)
	if least >= minPxPerMM {
		return nil
	}
	return []geometry.Finding{{
		Code: "coarse", Severity: geometry.SeverityWarning, Where: &at, Amount: least, Limit: minPxPerMM,
		Message: fmt.Sprintf("The photo shows only %.1f pixels to the millimetre at the piece's %s; 2 or more follow an edge well.", least, end(pts, at)),
		Remedy:  "Go closer so that cloth and cards fill the picture, use the camera's full size, and do not send the photo through a messenger that shrinks it.",
	}}
}

func (c *Calibration) sideFinding(pts geometry.Polyline) []geometry.Finding {
	at, steep := extreme(pts, func(p geometry.Point) float64 { return -c.ObliqueDeg(p) })
	if -steep <= warnSightDeg {
		return nil
	}
	return []geometry.Finding{{
		Code: "piece-oblique", Severity: geometry.SeverityWarning, Where: &at, Amount: -steep, Limit: warnSightDeg,
		Message: fmt.Sprintf("The piece's %s is seen %.0f degrees from straight above: a fold 1 mm high would shift its edge by %.1f mm there.", end(pts, at), -steep, math.Tan(-steep*math.Pi/180)),
		Remedy:  "Hold the phone higher and right above the middle of the piece.",
	}}
}

// onCardFinding says where the outline runs over a scale card: there the cloth does
// not lie on the surface.
func (c *Calibration) onCardFinding(pts geometry.Polyline) (out []geometry.Finding) {
	for _, k := range c.Cards {
		frame := place(k).Inverse()
		at, depth := extreme(pts, func(p geometry.Point) float64 {
			q := frame.Apply(p)
			return max(math.Abs(q.X), math.Abs(q.Y)) - card.SideMM/2
		})
		if k.Centre == (geometry.Point{}) && !k.Used || -depth < onCardMM {
			continue
		}
		out = append(out, geometry.Finding{
			Code: "cloth-not-flat", Severity: geometry.SeverityInfo, Where: &at, Amount: -depth, Limit: onCardMM,
			Message: fmt.Sprintf("The piece's %s lies %.0f mm over card %d, so that the cloth is not flat there.", end(pts, at), -depth, k.ID),
			Remedy:  "Draw the card out from under the cloth and press the cloth flat with your hands, from the middle outward.",
		})
	}
	return out
}

// Coverage says where a card is missing for a piece with this outline (closed,
// plane mm): when all cards lie to one side of it, and when the doubt of the
// calibration is large at one of its ends.
func (c *Calibration) Coverage(outline geometry.Polyline) []geometry.Finding {
	if len(outline) < 3 {
		return nil
	}
	at, doubt := extreme(outline, func(p geometry.Point) float64 { return -c.PointSigma(p) })
	from, free := c.freeSide(outline)
	switch {
	case free >= oneSideDeg:
		x, y := math.Sincos(from)
		far, _ := extreme(outline, func(p geometry.Point) float64 { return -(p.X*y + p.Y*x) })
		return []geometry.Finding{{
			Code: "cards-one-side", Severity: geometry.SeverityWarning, Where: &far, Amount: free, Limit: oneSideDeg,
			Message: fmt.Sprintf("All scale cards lie to one side of the piece; its %s is measured from afar.", end(outline, far)),
			Remedy:  fmt.Sprintf("Put a card near the %s of the piece, so that cards lie all round it.", end(outline, far)),
		}}
	case -doubt > warnPointMM:
		return []geometry.Finding{{
			Code: "cards-far", Severity: geometry.SeverityWarning, Where: &at, Amount: -2 * doubt, Limit: 2 * warnPointMM,
			Message: fmt.Sprintf("At the piece's %s the camera's place leaves the outline unsure by %.1f mm.", end(outline, at), -2*doubt),
			Remedy:  fmt.Sprintf("Put a card near the %s of the piece.", end(outline, at)),
		}}
	}
	return nil
}

// freeSide returns the widest range of directions, seen from the middle of the
// outline, in which no used card lies: the direction of its middle in radians
// and its width in degrees. Without two cards there is no side to speak of.
func (c *Calibration) freeSide(outline geometry.Polyline) (middle, deg float64) {
	m := mean(outline)
	var dirs []float64
	for _, k := range c.Cards {
		if k.Used {
			dirs = append(dirs, math.Atan2(k.Centre.Y-m.Y, k.Centre.X-m.X))
		}
	}
	if len(dirs) < 2 {
		return 0, 0
	}
	slices.Sort(dirs)
	for i, a := range dirs {
		b := dirs[(i+1)%len(dirs)]
		if i+1 == len(dirs) {
			b += 2 * math.Pi
		}
		if w := (b - a) * 180 / math.Pi; w > deg {
			middle, deg = (a+b)/2, w
		}
	}
	return middle, deg
}

// end names the part of an outline where p lies: "lower left end", "upper side".
func end(outline geometry.Polyline, p geometry.Point) string {
	lo, hi := outline.Bounds()
	third := func(v, a, b float64) int {
		switch t := (v - a) / math.Max(b-a, 1e-9); {
		case t < 1.0/3:
			return 0
		case t > 2.0/3:
			return 2
		}
		return 1
	}
	names := [3][3]string{
		{"lower left end", "lower side", "lower right end"},
		{"left side", "middle", "right side"},
		{"upper left end", "upper side", "upper right end"},
	}
	return names[third(p.Y, lo.Y, hi.Y)][third(p.X, lo.X, hi.X)]
}

// burntFinding looks at both sides of the edge: where cloth and surface are both
// as white as the file can say, there is no edge to be seen.
func (c *Calibration) burntFinding(p *vision.Photo, pts geometry.Polyline) []geometry.Finding {
	burnt := func(q geometry.Point) bool {
		px, ok := c.ToImage(q)
		x, y := int(math.Round(px.X)), int(math.Round(px.Y))
		if !ok || x < 0 || y < 0 || x >= p.Width || y >= p.Height {
			return false
		}
		b := p.BGR[3*(y*p.Width+x):]
		return min(b[0], b[1], b[2]) >= burntLevel
	}
	var at *geometry.Point
	n := 0
	for i, q := range pts {
		across := pts[(i+1)%len(pts)].Sub(q).Unit().Perp().Scale(burntAsideMM)
		if burnt(q.Add(across)) && burnt(q.Add(across.Scale(-1))) {
			if n++; at == nil {
				at = &pts[i]
			}
		}
	}
	share := float64(n) / float64(len(pts))
	if share < burntShare {
		return nil
	}
	return []geometry.Finding{{
		Code: "glare", Severity: geometry.SeverityWarning, Where: at, Amount: 100 * share, Limit: 100 * burntShare,
		Message: fmt.Sprintf("Along %.0f %% of the edge the photo is burnt out: cloth and surface are both pure white.", 100*share),
		Remedy:  "Turn off the flash, keep lamps and sun from shining straight in, tap the cloth on the screen and lower the brightness; a darker surface helps too.",
	}}
}
