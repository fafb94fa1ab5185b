package segment

import (
	"secondcut/vision/calib"
	"secondcut/vision/segment/internal/cut"
)

// Weights and reaches of the second division, set on the same photos as those of
// the first.
const (
	bandCells    = 2    // cells on either side of the first edge that are divided again
	localMM      = 20   // reach of the looks learned on the spot
	localWeight  = 0.35 // of the log ratio of the local looks; neighbours are not independent
	localCap     = 4
	cellWeight   = 0.7 // of what the cells said
	fineEdge     = 3.0 // of an edge along one pixel where the picture is plain
	localLeast   = 40  // pixels that a local look must rest on
	localNoise   = 3.0 // least variance of a local look, Lab units squared
	paperOnPixel = 0.5 // weight of what a card's pixel looks like
)

// refiner divides a band along the first edge pixel by pixel.
type refiner struct {
	*find
	sure  []int8 // cells: +1 cloth, -1 not cloth, 0 in the band
	looks [2][]look
	mask  []bool // pixels
	hard  []int8 // strokes, pixels
}

// refine returns which pixels of the plane image are cloth, and keeps the local
// looks for judging.
func (f *find) refine(opt Options) *refiner {
	s := f.scene
	r := &refiner{find: f, mask: make([]bool, len(f.pl.Known))}
	r.sure = s.sure(f.cells)
	both(func() { r.looks[0] = r.learnLooks(1) }, func() { r.looks[1] = r.learnLooks(-1) })
	if len(opt.Strokes) > 0 {
		r.hard = make([]int8, len(r.mask))
		for _, st := range opt.Strokes {
			st.cover(f.pl, 1, f.pl.Width, f.pl.Height, func(i int, v int8) { r.hard[i] = v })
		}
	}
	r.divide()
	return r
}

// sure tells cells far from the edge from those in the band.
func (s *scene) sure(cloth []bool) []int8 {
	v, all := make([]float32, len(cloth)), make([]float32, len(cloth))
	for i, c := range cloth {
		if s.known[i] != calib.KnownNot {
			all[i] = 1
			if c {
				v[i] = 1
			}
		}
	}
	v, all = boxSum(v, s.width, s.height, bandCells), boxSum(all, s.width, s.height, bandCells)
	out := make([]int8, len(v))
	for i := range v {
		switch {
		case v[i] < 0.5:
			out[i] = -1
		case v[i] > all[i]-0.5:
			out[i] = 1
		}
	}
	return out
}

// nearBand marks the cells within reach of the band.
func (s *scene) nearBand(sure []int8, reach int) []bool {
	v := make([]float32, len(sure))
	for i, c := range sure {
		if c == 0 {
			v[i] = 1
		}
	}
	v = boxSum(v, s.width, s.height, reach)
	out := make([]bool, len(v))
	for i := range v {
		out[i] = v[i] > 0.5
	}
	return out
}

// addPixels calls add for every second pixel of a cell.
func (r *refiner) addPixels(cell int, add func(lab)) {
	s, pl := r.scene, r.pl
	x0, y0 := cell%s.width*s.side, cell/s.width*s.side
	for y := y0; y < min(y0+s.side, pl.Height); y++ {
		for x := x0 + (y & 1); x < min(x0+s.side, pl.Width); x += 2 {
			i := y*pl.Width + x
			if pl.Known[i] == calib.KnownScene {
				add(r.tables.fromBGR(pl.BGR[3*i : 3*i+3]))
			}
		}
	}
}

// pixelOdds returns the log odds that pixel i in cell c is cloth.
func (r *refiner) pixelOdds(i, c int, colour lab) float32 {
	if r.hard != nil && r.hard[i] != 0 {
		return sureSeed * float32(r.hard[i])
	}
	s := r.scene
	v := cellWeight * limit(r.cellOdds(i), 4)
	if r.pl.Known[i] == calib.KnownCard {
		k := s.light[c]
		f := feature{(colour[0]+16)/k - 16, colour[1] / k, colour[2] / k}
		return v + paperOnPixel*(limit(r.models.onCard(&f), 3)-cardBias)
	}
	in, out := &r.looks[0][c], &r.looks[1][c]
	if in.n > 0 && out.n > 0 {
		v += localWeight * limit(in.logDensity(colour)-out.logDensity(colour), localCap)
	}
	return v
}

// cellOdds interpolates the cells' odds at a pixel.
func (r *refiner) cellOdds(i int) float32 {
	s := r.scene
	u := (float32(i%r.pl.Width)+0.5)/float32(s.side) - 0.5
	v := (float32(i/r.pl.Width)+0.5)/float32(s.side) - 0.5
	u, v = min(max(u, 0), float32(s.width)-1.01), min(max(v, 0), float32(s.height)-1.01)
	x, y := int(max(u, 0)), int(max(v, 0))
	fx, fy := u-float32(x), v-float32(y)
	at := func(x, y int) float32 {
		return limit(r.odds.all[min(y, s.height-1)*s.width+min(x, s.width-1)], 2*colourCap)
	}
	a := at(x, y)*(1-fx) + at(x+1, y)*fx
	b := at(x, y+1)*(1-fx) + at(x+1, y+1)*fx
	return a*(1-fy) + b*fy
}

// divide finds the cheapest division of the band; what lies outside is fixed and
// pulls at its neighbours in the band.
func (r *refiner) divide() {
	pl, s := r.pl, r.scene
	cell := func(i int) int { return i/pl.Width/s.side*s.width + i%pl.Width/s.side }
	g, node := cut.New(pl.Width, pl.Height, func(i int) bool {
		c := cell(i)
		r.mask[i] = r.sure[c] > 0 && pl.Known[i] != calib.KnownNot
		return r.sure[c] == 0 && pl.Known[i] != calib.KnownNot
	})
	colours := make([]lab, 0, g.Len())
	for i, k := range node {
		if k >= 0 {
			colours = append(colours, r.tables.fromBGR(pl.BGR[3*i:3*i+3]))
		}
	}
	table := newLinks(fineEdge, r.fineContrast(node, colours))
	for i, k := range node {
		if k < 0 {
			continue
		}
		v := int32(limit(r.pixelOdds(i, cell(i), colours[k]), 1e6) * costUnit)
		for d, o := range cut.Offsets {
			x, y := i%pl.Width+o[0], i/pl.Width+o[1]
			if x < 0 || y < 0 || x >= pl.Width || y >= pl.Height {
				continue
			}
			j := y*pl.Width + x
			if node[j] < 0 {
				v += r.pull(j, d)
			} else if d&1 == 0 {
				d2 := float32(0)
				if pl.Known[i] == pl.Known[j] {
					d2 = distance2(colours[k], colours[node[j]])
				}
				g.SetLink(k, d, table.cost(d2, d))
			}
		}
		g.SetSides(k, max(0, -v), max(0, v))
	}
	g.Solve()
	for i, k := range node {
		if k >= 0 {
			r.mask[i] = g.Source(k)
		}
	}
}

// pull returns what a fixed neighbour adds to a band pixel's cost of being on
// the other side.
func (r *refiner) pull(j, direction int) int32 {
	if r.pl.Known[j] == calib.KnownNot {
		return 0
	}
	v := int32(fineEdge * costUnit)
	if direction >= cut.SouthEast {
		v = v * 7 / 10
	}
	if r.mask[j] {
		return v
	}
	return -v
}

func distance2(a, b lab) float32 {
	l, m, n := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return l*l + m*m + n*n
}

// fineContrast returns the mean squared difference of neighbours in the band.
func (r *refiner) fineContrast(node []int32, colours []lab) float32 {
	var sum float64
	n := 1
	for i := 0; i+r.pl.Width < len(node); i++ {
		if node[i] < 0 {
			continue
		}
		if j := node[i+r.pl.Width]; j >= 0 {
			sum += float64(distance2(colours[node[i]], colours[j]))
			n++
		}
	}
	return float32(sum/float64(n)) + 0.5
}
