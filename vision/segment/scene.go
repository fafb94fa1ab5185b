package segment

import (
	"math"

	"secondcut/vision/calib"
	"secondcut/vision/segment/internal/cut"
)

// dims is the number of features of a cell: L, a, b, fine texture, coarse
// texture.
const dims = 5

type feature [dims]float32

// scene is the plane image in square cells, row by row from the top.
type scene struct {
	width, height int
	side          int     // pixels to a cell's side
	mm            float64 // cell side in mm
	known         []byte  // calib.KnownNot, KnownScene or KnownCard
	feat          []feature
	light         []float32 // brightness of the light, 1 on average; see flatten
	cells         *cellGraph
}

// cellGraph is the cells as a graph, made by the first division and used by all.
type cellGraph struct {
	graph *cut.Graph
	node  []int32
}

// of returns the graph of the cells of s that are seen, and the node of each cell.
func (c *cellGraph) of(s *scene) (*cut.Graph, []int32) {
	if c.graph == nil {
		c.graph, c.node = cut.New(s.width, s.height, func(i int) bool { return s.known[i] != calib.KnownNot })
	}
	return c.graph, c.node
}

// cells is the number of cells along the longer side that is aimed at: enough
// for a cuff of 40 mm in a photo of 1.2 m, few enough for a fast cut.
const cells = 280

// newScene averages the plane image into cells and measures their texture.
func newScene(pl *calib.Plane, tables *labTables) *scene {
	side := max(1, int(math.Round(float64(max(pl.Width, pl.Height))/cells)))
	s := &scene{
		width: (pl.Width + side - 1) / side, height: (pl.Height + side - 1) / side,
		side: side, mm: float64(side) / pl.PxPerMM, cells: &cellGraph{},
	}
	n := s.width * s.height
	s.known, s.feat, s.light = make([]byte, n), make([]feature, n), make([]float32, n)
	fine := make([]float32, n)
	halves(n, func(from, to int) {
		for i := from; i < to; i++ {
			s.light[i] = 1
			s.known[i], s.feat[i], fine[i] = average(pl, tables, i%s.width*side, i/s.width*side, side)
		}
	})
	s.textures(fine)
	return s
}

// average returns what a cell mostly shows, its mean colour, and the mean step
// of green between neighbouring pixels inside it, in 8-bit levels.
func average(pl *calib.Plane, tables *labTables, x0, y0, side int) (known byte, f feature, step float32) {
	var count [3]int
	var sum [3][3]float32
	var steps [3]int
	for y := y0; y < min(y0+side, pl.Height); y++ {
		for x := x0; x < min(x0+side, pl.Width); x++ {
			i := y*pl.Width + x
			k := pl.Known[i]
			if k > calib.KnownCard {
				k = calib.KnownNot
			}
			count[k]++
			p := pl.BGR[3*i : 3*i+3]
			for c := range 3 {
				sum[k][c] += tables.linear[p[c]]
			}
			if x+1 < pl.Width {
				steps[k] += abs(int(p[1]) - int(pl.BGR[3*i+4]))
			}
			if y+1 < pl.Height {
				steps[k] += abs(int(p[1]) - int(pl.BGR[3*(i+pl.Width)+1]))
			}
		}
	}
	for k := 1; k < 3; k++ {
		if count[k] > count[known] {
			known = byte(k)
		}
	}
	n := float32(count[known])
	c := tables.fromLinear(sum[known][2]/n, sum[known][1]/n, sum[known][0]/n)
	return known, feature{c[0], c[1], c[2]}, float32(steps[known]) / n
}

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}

// textureScale brings the logarithm of texture to about the spread that colour
// has, so that clusters see both.
const textureScale = 6

// textures fills the two texture features: the fine step inside cells, and the
// spread of lightness among cells. Each is the least of the windows that hold
// the cell, so that an edge between two plain areas does not count as texture
// (the idea of Kuwahara's filter, 1976).
func (s *scene) textures(fine []float32) {
	l, l2, w := make([]float32, len(fine)), make([]float32, len(fine)), make([]float32, len(fine))
	for i, f := range s.feat {
		if s.known[i] == calib.KnownScene {
			w[i], l[i], l2[i] = 1, f[0], f[0]*f[0]
		} else {
			fine[i] = 0
		}
	}
	box := func(v []float32, r int) []float32 { return boxSum(v, s.width, s.height, r) }
	n1, a1 := box(w, 1), box(fine, 1)
	n2, m2, q2 := box(w, 2), box(l, 2), box(l2, 2)
	for i := range fine {
		a1[i] /= max(n1[i], 1)
		n := max(n2[i], 1)
		m := m2[i] / n
		q2[i] = max(q2[i]/n-m*m, 0)
		if w[i] == 0 {
			a1[i], q2[i] = math.MaxFloat32, math.MaxFloat32
		}
	}
	a1, q2 = windowMin(a1, s.width, s.height, 1), windowMin(q2, s.width, s.height, 2)
	for i := range s.feat {
		if w[i] == 0 {
			continue
		}
		s.feat[i][3] = textureScale * float32(math.Log1p(float64(a1[i])))
		s.feat[i][4] = textureScale * float32(math.Log1p(math.Sqrt(float64(q2[i]))))
	}
}

// boxSum returns the sum of v over the (2r+1)-square round each cell.
func boxSum(v []float32, width, height, r int) []float32 {
	out := make([]float32, len(v))
	boxSumInto(out, make([]float32, len(v)), v, width, height, r)
	return out
}

// boxSumInto is boxSum into out, which may be v itself, with room for the sums
// along rows.
func boxSumInto(out, rows, v []float32, width, height, r int) {
	for y := range height {
		line, to := v[y*width:(y+1)*width], rows[y*width:]
		var sum float32
		for x := -r; x < width; x++ {
			if x+r < width {
				sum += line[x+r]
			}
			if x-r-1 >= 0 {
				sum -= line[x-r-1]
			}
			if x >= 0 {
				to[x] = sum
			}
		}
	}
	sum := make([]float32, width)
	for y := -r; y < height; y++ {
		for x := range width {
			if y+r < height {
				sum[x] += rows[(y+r)*width+x]
			}
			if y-r-1 >= 0 {
				sum[x] -= rows[(y-r-1)*width+x]
			}
			if y >= 0 {
				out[y*width+x] = sum[x]
			}
		}
	}
}

// windowMin returns the least of v in the (2r+1)-square round each cell.
func windowMin(v []float32, width, height, r int) []float32 {
	rows, out := make([]float32, len(v)), make([]float32, len(v))
	for y := range height {
		for x := range width {
			m := v[y*width+x]
			for k := max(0, x-r); k <= min(width-1, x+r); k++ {
				m = min(m, v[y*width+k])
			}
			rows[y*width+x] = m
		}
	}
	for y := range height {
		for x := range width {
			m := rows[y*width+x]
			for k := max(0, y-r); k <= min(height-1, y+r); k++ {
				m = min(m, rows[k*width+x])
			}
			out[y*width+x] = m
		}
	}
	return out
}
