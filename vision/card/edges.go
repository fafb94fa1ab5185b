package card

import (
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/internal/cv"
)

// grey returns the luminance at a whole pixel, which must lie in the photo
// (weights of ITU-R BT.601 in 1/256).
func grey(p *vision.Photo, x, y int) float64 {
	b := p.BGR[3*(y*p.Width+x):]
	return float64(29*int(b[0])+150*int(b[1])+77*int(b[2])) / 256
}

// greyAt returns the luminance between pixels, bilinear; ok is false outside the
// photo.
func greyAt(p *vision.Photo, q vision.Pixel) (v float64, ok bool) {
	if !(q.X >= 0 && q.Y >= 0 && q.X < float64(p.Width-1) && q.Y < float64(p.Height-1)) {
		return 0, false
	}
	x, y := int(q.X), int(q.Y)
	fx, fy := q.X-float64(x), q.Y-float64(y)
	top := grey(p, x, y)*(1-fx) + grey(p, x+1, y)*fx
	low := grey(p, x, y+1)*(1-fx) + grey(p, x+1, y+1)*fx
	return top*(1-fy) + low*fy, true
}

// refineTag measures the four outer edges of the tag that h predicts, fits a
// line to each, and returns the corners where they meet.
func refineTag(p *vision.Photo, h *Homography) ([]vision.Pixel, bool) {
	var lines [4]line
	for side := range lines {
		pts := edgePoints(p, h, TagCorner(side), TagCorner((side+1)%4))
		l, ok := fitLine(pts)
		if !ok {
			return nil, false
		}
		lines[side] = l
	}
	corners := make([]vision.Pixel, 4)
	for i := range corners {
		c, ok := lines[(i+3)%4].meet(lines[i])
		if !ok || length(sub(c, h.Apply(TagCorner(i)))) > maxCornerMove(h) {
			return nil, false
		}
		corners[i] = c
	}
	return corners, true
}

// maxCornerMove is how far in pixels a corner may move: half a module, beyond
// which some other edge was followed.
func maxCornerMove(h *Homography) float64 {
	a, u := h.axes(geometry.Point{})
	return ModuleMM / 2 * max(length(a), length(u))
}

func sub(a, b vision.Pixel) vision.Pixel { return vision.Pixel{X: a.X - b.X, Y: a.Y - b.Y} }

// edgePoints returns points on the black-to-white edge between two neighbouring
// tag corners, kept a module away from both.
func edgePoints(p *vision.Photo, h *Homography, a, b geometry.Point) []vision.Pixel {
	const count = 24
	along := b.Sub(a).Unit()
	out := along.Perp() // the corners run clockwise in the card frame
	var pts []vision.Pixel
	for i := range count {
		t := ModuleMM + (TagMM-2*ModuleMM)*float64(i)/(count-1)
		q := a.Add(along.Scale(t))
		if e, ok := crossing(p, h.Apply(q), h.Apply(q.Add(out))); ok {
			pts = append(pts, e)
		}
	}
	return pts
}

// crossing returns where the profile through q, from the black inside towards
// the white outside (away from q by one mm), reaches half of its step. The
// profile covers 3 mm each way, at least 3 px.
func crossing(p *vision.Photo, q, away vision.Pixel) (vision.Pixel, bool) {
	d := sub(away, q)
	perMM := length(d)
	if perMM == 0 {
		return q, false
	}
	d = vision.Pixel{X: d.X / perMM, Y: d.Y / perMM}
	const half = 16
	pace := max(3*perMM, 3) / half
	var v [2*half + 1]float64
	for i := range v {
		s := float64(i-half) * pace
		var ok bool
		if v[i], ok = greyAt(p, vision.Pixel{X: q.X + s*d.X, Y: q.Y + s*d.Y}); !ok {
			return q, false
		}
	}
	// The steepest rise tells which of several edges is meant; the levels are
	// those at a distance from it.
	best, rise := 0, 0.0
	for i := 2; i < len(v)-2; i++ {
		if r := v[i+2] - v[i-2]; r > rise {
			best, rise = i, r
		}
	}
	if rise < 10 {
		return q, false
	}
	dark, light := slices.Min(v[max(0, best-8):best+1]), slices.Max(v[best:min(len(v), best+9)])
	mid := (dark + light) / 2
	for k := range half {
		for _, i := range [2]int{best + k, best - k - 1} {
			if i >= 0 && i+1 < len(v) && v[i] <= mid && v[i+1] > mid {
				s := (float64(i-half) + (mid-v[i])/(v[i+1]-v[i])) * pace
				return vision.Pixel{X: q.X + s*d.X, Y: q.Y + s*d.Y}, true
			}
		}
	}
	return q, false
}

// line is a line through at with unit direction dir.
type line struct{ at, dir vision.Pixel }

// fitLine fits a line by total least squares, twice: the second time without
// the points that lie far off the first.
func fitLine(pts []vision.Pixel) (l line, ok bool) {
	for range 2 {
		if len(pts) < 8 {
			return l, false
		}
		l = principal(pts)
		off := make([]float64, len(pts))
		for i, q := range pts {
			off[i] = l.off(q)
		}
		sorted := slices.Clone(off)
		slices.Sort(sorted)
		limit := max(0.1, 3*sorted[len(sorted)/2])
		var keep []vision.Pixel
		for i, q := range pts {
			if off[i] <= limit {
				keep = append(keep, q)
			}
		}
		pts = keep
	}
	return l, true
}

// principal returns the line of least squared distances to pts.
func principal(pts []vision.Pixel) line {
	var m vision.Pixel
	for _, q := range pts {
		m.X, m.Y = m.X+q.X/float64(len(pts)), m.Y+q.Y/float64(len(pts))
	}
	var xx, xy, yy float64
	for _, q := range pts {
		d := sub(q, m)
		xx, xy, yy = xx+d.X*d.X, xy+d.X*d.Y, yy+d.Y*d.Y
	}
	s, c := math.Sincos(math.Atan2(2*xy, xx-yy) / 2)
	return line{m, vision.Pixel{X: c, Y: s}}
}

// off returns the distance of q from the line.
func (l line) off(q vision.Pixel) float64 {
	d := sub(q, l.at)
	return math.Abs(d.X*l.dir.Y - d.Y*l.dir.X)
}

// meet returns where two lines cross.
func (l line) meet(m line) (vision.Pixel, bool) {
	det := l.dir.X*m.dir.Y - l.dir.Y*m.dir.X
	if math.Abs(det) < 0.1 {
		return vision.Pixel{}, false
	}
	d := sub(m.at, l.at)
	t := (d.X*m.dir.Y - d.Y*m.dir.X) / det
	return vision.Pixel{X: l.at.X + t*l.dir.X, Y: l.at.Y + t*l.dir.Y}, true
}

// levels are the grey levels of the white paper and of the black print of a tag.
type levels struct{ white, black float64 }

// tagLevels returns the levels round the tag's edge: the medians of points half
// a module outside and half a module inside it.
func tagLevels(p *vision.Photo, h *Homography) (l levels) {
	var white, black []float64
	for side := range 4 {
		a, b := TagCorner(side), TagCorner((side+1)%4)
		along := b.Sub(a).Unit()
		for i := range 8 {
			q := a.Add(along.Scale(TagMM * (float64(i) + 0.5) / 8))
			if v, ok := greyAt(p, h.Apply(q.Add(along.Perp().Scale(ModuleMM/2)))); ok {
				white = append(white, v)
			}
			if v, ok := greyAt(p, h.Apply(q.Add(along.Perp().Scale(-ModuleMM/2)))); ok {
				black = append(black, v)
			}
		}
	}
	if len(white) == 0 || len(black) == 0 {
		return l
	}
	slices.Sort(white)
	slices.Sort(black)
	return levels{white[len(white)/2], black[len(black)/2]}
}

// wrongCells returns how many of the tag's 64 modules do not have the shade that
// the printed tag has.
func wrongCells(p *vision.Photo, h *Homography, id int, l levels) (wrong int) {
	cells, err := cv.TagCells(id)
	if err != nil {
		return len(cells)
	}
	for i, white := range cells {
		at := geometry.Point{
			X: (float64(i%8)+0.5)*ModuleMM - TagMM/2,
			Y: TagMM/2 - (float64(i/8)+0.5)*ModuleMM,
		}
		v, ok := greyAt(p, h.Apply(at))
		if !ok || (v > (l.white+l.black)/2) != white {
			wrong++
		}
	}
	return wrong
}
