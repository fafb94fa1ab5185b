package segment

import (
	"context"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision/calib"
	"secondcut/vision/segment/prior"
)

// find is the work of [Cloth] in one place: what is known so far.
type find struct {
	pl     *calib.Plane
	tables *labTables
	scene  *scene
	odds   odds
	seeds  []int8           // +1 cloth, -1 surface by a stroke, 0 neither
	frame  []bool           // cells by the frame
	outer  []bool           // cells by the frame or round a card: mostly surface
	paper  *mixture         // what cards look like
	stray  []geometry.Point // where cards lie that were not read, plane mm
	models models
	cells  []bool // the first division
}

func newFind(pl *calib.Plane, opt Options) (*find, error) {
	n := pl.Width * pl.Height
	if pl.Width < 8 || pl.Height < 8 || len(pl.BGR) != 3*n || len(pl.Known) != n || !(pl.PxPerMM > 0) {
		return nil, fmt.Errorf("segment: the plane image of %d x %d pixels cannot be used", pl.Width, pl.Height)
	}
	f := &find{pl: pl, tables: newLabTables()}
	if opt.NoPrior {
		f.look(opt)
		f.guessByPlace()
		return f, nil
	}
	var g *prior.Guess
	var err error
	both(func() { g, err = prior.Run(pl.BGR, seen(pl), pl.Width, pl.Height) }, func() { f.look(opt) })
	if err == nil && len(f.stray) > 0 { // it must not see those cards either
		g, err = prior.Run(pl.BGR, seen(f.pl), pl.Width, pl.Height)
	}
	if err != nil {
		return nil, fmt.Errorf("segment: %w", err)
	}
	f.guess(g)
	return f, nil
}

// look fills in all that needs no guess.
func (f *find) look(opt Options) {
	f.scene = newScene(f.pl, f.tables)
	f.maskStray()
	c := len(f.scene.feat)
	f.odds = odds{make([]float32, c), make([]float32, c), make([]float32, c)}
	f.frame = f.scene.within(frameMM, func(k byte) bool { return k == calib.KnownNot }, true)
	f.outer = f.scene.within(2*frameMM, func(k byte) bool { return k == calib.KnownNot }, true)
	f.seeds = f.scene.paint(f.pl, opt.Strokes)
}

// seen marks the pixels that show neither a card nor nothing.
func seen(pl *calib.Plane) []bool {
	out := make([]bool, len(pl.Known))
	for i, k := range pl.Known {
		out[i] = k == calib.KnownScene
	}
	return out
}

// guess fills in the learned guess.
func (f *find) guess(g *prior.Guess) {
	s := f.scene
	half := float64(s.side-1) / 2
	for i := range s.feat {
		if s.known[i] == calib.KnownScene {
			v := g.At(float64(i%s.width*s.side)+half, float64(i/s.width*s.side)+half)
			f.odds.guess[i] = limit(float32(v), guessCap)
		}
	}
}

// guessByPlace is the guess of one who has not looked: cloth lies in the middle.
func (f *find) guessByPlace() {
	s := f.scene
	for i := range s.feat {
		if s.known[i] == calib.KnownScene {
			x := float32(i%s.width)/float32(s.width)*2 - 1
			y := float32(i/s.width)/float32(s.height)*2 - 1
			f.odds.guess[i] = 1 - 2.5*max(x*x, y*y)
		}
	}
}

// learnAndDivide alternates between learning both sides' looks and dividing.
func (f *find) learnAndDivide(ctx context.Context) error {
	s := f.scene
	f.paper = s.learnPaper()
	novel := s.novel(&f.odds, f.outer)
	for i, is := range novel {
		if is {
			f.odds.guess[i] = max(f.odds.guess[i], novelGuess)
		}
	}
	surface, cloth := s.first(&f.odds, f.outer, novel)
	for pass := range guessWeights {
		if pass == 1 {
			s.flatten(surface)
		}
		if !f.learnOnce(pass, surface, cloth) {
			return nil // what the pass before found stands
		}
		surface, cloth = s.trustFrom(f.cells, &f.odds)
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	if f.reconsider() {
		surface, cloth = s.trustFrom(f.cells, &f.odds)
		f.learnOnce(len(guessWeights)-1, surface, cloth)
	}
	return ctx.Err()
}

// learnOnce learns both sides' looks from the trust in each cell and divides by them;
// false when there is too little of a side to learn from.
func (f *find) learnOnce(pass int, surface, cloth []float32) bool {
	s := f.scene
	m := models{paper: f.paper}
	both(func() { m.cloth = learn(s.pick(cloth, f.seeds, 1), strayCloth) },
		func() { m.surface = learn(s.pick(surface, f.seeds, -1), straySurface) })
	if m.cloth == nil || m.surface == nil {
		return false
	}
	f.models = m
	s.weigh(&f.odds, &f.models, guessWeights[pass], f.frame, f.seeds)
	f.cells = f.partition(pass)
	return true
}

// partition divides the cells: by the cheapest cut, in the first pass, which only
// serves learning, by each cell's own odds.
func (f *find) partition(pass int) []bool {
	if pass > 0 {
		return f.scene.divide(&f.odds)
	}
	cloth := make([]bool, len(f.odds.all))
	for i, v := range f.odds.all {
		cloth[i] = v > 0 && f.scene.known[i] != calib.KnownNot
	}
	return cloth
}

// within marks the cells that lie less than mm from a cell of the given kind
// (and, with rim, from the image's rim).
func (s *scene) within(mm float64, kind func(byte) bool, rim bool) []bool {
	r := max(1, int(math.Round(mm/s.mm)))
	v := make([]float32, len(s.known))
	for i, k := range s.known {
		if kind(k) {
			v[i] = 1
		}
	}
	sum := boxSum(v, s.width, s.height, r)
	out := make([]bool, len(v))
	for i := range out {
		x, y := i%s.width, i/s.width
		out[i] = sum[i] > 0 || rim && (x < r || y < r || x >= s.width-r || y >= s.height-r)
	}
	return out
}

// paint marks the cells that strokes cover; the later stroke wins.
func (s *scene) paint(pl *calib.Plane, strokes []Stroke) []int8 {
	seeds := make([]int8, len(s.known))
	for _, st := range strokes {
		st.cover(pl, float64(s.side), s.width, s.height, func(i int, v int8) { seeds[i] = v })
	}
	return seeds
}

// Region is one piece of cloth.
type Region struct {
	// Outer is the piece's outline, Holes what is open inside it.
	Outer Contour
	Holes []Contour
}

// Contour is a closed ring in plane mm, counter-clockwise for an outline and
// clockwise for a hole, its points about 1 mm apart and right to 1 to 3 mm.
type Contour struct {
	Points geometry.Polyline
	// Doubt says for each point how little the witnesses agree there: 0 none,
	// 1 could be anywhere.
	Doubt []float64
	// Why says for each point what the largest doubt is about; "" where there is
	// none worth saying.
	Why []string
}
