package segment

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision/calib"
	"secondcut/vision/card"
)

// What passes for a card that was not read; lengths in mm, lightness and colour
// as ratios of lightness + 16 and as Lab units. Set on drawn scenes and on
// composites of photographed cloth and floors, with cards half covered, in glare
// and out of focus.
const (
	paperLeast   = 0.80 // of the paper's lightness + 16: half the light, about
	paperNearest = 9.0  // of the paper's a and b
	inkMost      = 0.62 // of the paper's lightness + 16
	inkNearest   = 12.0 // of grey in a and b: blur mixes the paper's and the floor's tint in
	paperCells   = 40   // of cards that were read: fewer do not tell the paper's colour
	whitePart    = 1.2  // cells that a card reaches beyond its hull of centres: those that are white in part
	cardSlackMM  = 7.0  // cells, blur and perspective make a card that much larger
	cardLeastMM  = 28.0 // less of a card to be seen cannot be told from a scrap of paper
	inkShare     = 0.05 // of the paper's hull that black print inside it covers: the corners' squares alone take 4.5 %
	inkShareMost = 0.5
	strayMore    = 2 // more than the cards that were read, and all are a pattern of the floor
)

// strayCards finds the cards that were not read (half covered, in glare, out of
// focus), so that their white is not taken for cloth: patches of paper, as white
// as the cards that were read, no larger than a card, with black print inside. It
// returns the hull of each in cells.
func (s *scene) strayCards() []geometry.Polyline {
	white, ok := s.paperWhite()
	if !ok {
		return nil
	}
	paper := make([]bool, len(s.feat))
	for i := range paper {
		paper[i] = s.known[i] == calib.KnownScene && white.paper(&s.feat[i])
	}
	most := card.SideMM + cardSlackMM
	var out []geometry.Polyline
	for _, list := range label(s.width, s.height, paper, true) {
		area := float64(len(list)) * s.mm * s.mm
		if area < cardLeastMM*cardLeastMM/2 || area > most*most {
			continue
		}
		hull := s.hull(list)
		long, short := extent(hull)
		if long*s.mm > most || short*s.mm < cardLeastMM {
			continue
		}
		if s.printed(hull, white) {
			out = append(out, hull)
		}
	}
	cards := label(s.width, s.height, s.isCard(), true)
	if len(out) > len(cards)+strayMore {
		return nil
	}
	return out
}

// isCard marks the cells on cards.
func (s *scene) isCard() []bool {
	out := make([]bool, len(s.known))
	for i, k := range s.known {
		out[i] = k == calib.KnownCard
	}
	return out
}

// paperWhite returns the colour of the paper of the cards that were read: that of
// their lighter half. ok is false when too little of them is seen.
func (s *scene) paperWhite() (w white, ok bool) {
	var all []feature
	for i, k := range s.known {
		if k == calib.KnownCard {
			all = append(all, s.feat[i])
		}
	}
	if len(all) < paperCells {
		return w, false
	}
	slices.SortFunc(all, func(a, b feature) int { return cmp.Compare(b[0], a[0]) })
	m := all[len(all)/4]
	return white{m[0] + 16, m[1], m[2]}, true
}

// white is the colour of paper: lightness + 16, a, b.
type white [3]float32

// paper reports whether f may be that paper, in somewhat more or less light.
func (w white) paper(f *feature) bool {
	k := (f[0] + 16) / w[0]
	return k > paperLeast && abs32(f[1]/k-w[1]) < paperNearest && abs32(f[2]/k-w[2]) < paperNearest
}

// ink reports whether f may be black print on it, blurred into the white.
func (w white) ink(f *feature) bool {
	return (f[0]+16)/w[0] < inkMost && abs32(f[1]) < inkNearest && abs32(f[2]) < inkNearest
}

func abs32(v float32) float32 { return max(v, -v) }

// printed reports whether there is as much black inside the hull of a patch of
// paper as on a card. Black that goes on outside the hull is no print.
func (s *scene) printed(hull geometry.Polyline, w white) bool {
	lo, hi := hull.Bounds()
	x0, y0, x1, y1 := max(0, int(lo.X)-1), max(0, int(lo.Y)-1), min(s.width-1, int(hi.X)+1), min(s.height-1, int(hi.Y)+1)
	width, height := x1-x0+1, y1-y0+1
	black, in := make([]bool, width*height), make([]bool, width*height)
	inside := 0
	for k := range black {
		x, y := x0+k%width, y0+k/width
		black[k] = w.ink(&s.feat[y*s.width+x])
		if in[k] = hull.Contains(geometry.Point{X: float64(x), Y: float64(y)}); in[k] {
			inside++
		}
	}
	ink := 0
	for _, part := range label(width, height, black, true) {
		if !slices.ContainsFunc(part, func(k int32) bool { return !in[k] }) {
			ink += len(part)
		}
	}
	share := float64(ink) / float64(max(inside, 1))
	return share > inkShare && share < inkShareMost
}

// hull returns the convex hull of cells' centres, counter-clockwise in a frame
// whose y runs down as theirs (monotone chain: Andrew, Another efficient algorithm
// for convex hulls in two dimensions, 1979). Cells come row by row or not.
func (s *scene) hull(list []int32) geometry.Polyline {
	pts := make(geometry.Polyline, len(list))
	for k, i := range list {
		pts[k] = geometry.Point{X: float64(int(i) % s.width), Y: float64(int(i) / s.width)}
	}
	slices.SortFunc(pts, func(a, b geometry.Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	half := func(pts geometry.Polyline) (out geometry.Polyline) {
		for _, p := range pts {
			for n := len(out); n > 1 && out[n-1].Sub(out[n-2]).Cross(p.Sub(out[n-2])) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(pts)
	slices.Reverse(pts)
	return append(lower, half(pts)...)
}

// extent returns the sides of the smallest rectangle round a hull of cells'
// centres, the cells themselves counted in; one side lies along an edge of the
// hull (Freeman and Shapira 1975).
func extent(hull geometry.Polyline) (long, short float64) {
	best := math.Inf(1)
	for i, a := range hull {
		u := hull[(i+1)%len(hull)].Sub(a).Unit()
		n := u.Perp()
		var lo, hi geometry.Point
		for k, p := range hull {
			x, y := p.Sub(a).Dot(u), p.Sub(a).Dot(n)
			if k == 0 {
				lo, hi = geometry.Point{X: x, Y: y}, geometry.Point{X: x, Y: y}
			}
			lo, hi = geometry.Point{X: min(lo.X, x), Y: min(lo.Y, y)}, geometry.Point{X: max(hi.X, x), Y: max(hi.Y, y)}
		}
		w, h := hi.X-lo.X+1, hi.Y-lo.Y+1
		if w*h < best {
			best, long, short = w*h, max(w, h), min(w, h)
		}
	}
	return long, short
}

// maskStray marks the cards that were not read as cards, in the cells and in a
// copy of what is known of the plane image, and keeps where they lie.
func (f *find) maskStray() {
	hulls := f.scene.strayCards()
	if len(hulls) == 0 {
		return
	}
	pl, s := *f.pl, f.scene
	pl.Known = slices.Clone(pl.Known)
	f.pl = &pl
	for _, hull := range hulls {
		lo, hi := hull.Bounds()
		var sum geometry.Vec
		for _, p := range hull {
			sum = sum.Add(geometry.Vec(p))
		}
		mid := geometry.Point(sum.Scale(1 / float64(len(hull))))
		wide := make(geometry.Polyline, len(hull))
		for i, p := range hull {
			wide[i] = p.Add(p.Sub(mid).Unit().Scale(whitePart))
		}
		for y := max(0, int(lo.Y)-2); y <= min(s.height-1, int(hi.Y)+2); y++ {
			for x := max(0, int(lo.X)-2); x <= min(s.width-1, int(hi.X)+2); x++ {
				if i := y*s.width + x; s.known[i] == calib.KnownScene && wide.Contains(geometry.Point{X: float64(x), Y: float64(y)}) {
					s.known[i] = calib.KnownCard
					f.coverCell(x, y)
				}
			}
		}
		side := float64(s.side)
		f.stray = append(f.stray, pl.At((mid.X+0.5)*side-0.5, (mid.Y+0.5)*side-0.5))
	}
}

// coverCell marks the pixels of a cell as card.
func (f *find) coverCell(x, y int) {
	side := f.scene.side
	for v := y * side; v < min((y+1)*side, f.pl.Height); v++ {
		row := f.pl.Known[v*f.pl.Width:][:f.pl.Width]
		for u := x * side; u < min((x+1)*side, f.pl.Width); u++ {
			if row[u] == calib.KnownScene {
				row[u] = calib.KnownCard
			}
		}
	}
}

// strayFindings tells of the cards that were not read.
func (f *find) strayFindings() []geometry.Finding {
	var out []geometry.Finding
	for _, at := range f.stray {
		out = append(out, geometry.Finding{
			Code: "unread-card", Severity: geometry.SeverityInfo,
			Message: "A scale card that could not be read lies here.",
			Remedy:  "Lay it flat and whole in view, out of glare, or take it away. If it is cloth after all, paint over it as cloth.",
			Where:   &at,
		})
	}
	return out
}
