package sheet_test

import (
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/sheet"
)

// The sides of both test squares of page one and the two bars of every page,
// measured at 600 dpi.
func TestSquaresAndBarsAreTrue(t *testing.T) {
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		file := exporttest.File(t, pdf(t, sheet.Options{Paper: paper}, sleeve()))
		pages := exporttest.Render(t, file, 1, 2, 600, paper.Height)
		cover := pages[0]
		// Down a column through both squares, off their words: four level lines,
		// and across each square two upright ones.
		const x = 13 + 6.5 // between the word at the side and the contents
		level := lines(cover, pt(x, 20), pt(x, 265))
		var sides []float64
		for i := range level {
			for _, b := range level[i+1:] {
				if d := b - level[i]; math.Abs(d-100) < 0.3 || math.Abs(d-101.6) < 0.3 {
					sides = append(sides, d)
					row := 20 + (level[i]+b)/2 - 30 // below the middle, off its words
					upright := lines(cover, pt(11, row), pt(13+110, row))
					sides = append(sides, upright[len(upright)-1]-upright[0])
				}
			}
		}
		if len(sides) != 4 {
			t.Fatalf("%s: %d sides of squares found: %v", paper.Label, len(sides), sides)
		}
		for i, want := range []float64{101.6, 101.6, 100, 100} {
			if math.Abs(sides[i]-want) > 0.05 {
				t.Errorf("%s: a side of %.3f mm, want %g", paper.Label, sides[i], want)
			}
		}
		t.Logf("%s: sides %.3f", paper.Label, sides)
		for i, page := range pages {
			m := 10.0
			// Just above the line of the bar, through its two end ticks.
			across := lines(page, pt(paper.Width/2-77, m+1.7+0.8), pt(paper.Width/2-73, m+1.7+0.8))
			right := lines(page, pt(paper.Width/2+73, m+1.7+0.8), pt(paper.Width/2+77, m+1.7+0.8))
			low := lines(page, pt(paper.Width-m-1.7-0.8, paper.Height/2-102), pt(paper.Width-m-1.7-0.8, paper.Height/2-98))
			high := lines(page, pt(paper.Width-m-1.7-0.8, paper.Height/2+98), pt(paper.Width-m-1.7-0.8, paper.Height/2+102))
			if len(across) != 1 || len(right) != 1 || len(low) != 1 || len(high) != 1 {
				t.Fatalf("%s, page %d: end ticks %v %v %v %v", paper.Label, i+1, across, right, low, high)
			}
			if got := 150 + right[0] - across[0]; math.Abs(got-150) > 0.05 {
				t.Errorf("%s, page %d: the bar across is %.3f mm", paper.Label, i+1, got)
			}
			if got := 200 + high[0] - low[0]; math.Abs(got-200) > 0.05 {
				t.Errorf("%s, page %d: the bar up is %.3f mm", paper.Label, i+1, got)
			}
		}
	}
}

// lines returns where dark lines cross the way from a to b, as distances from a
// in mm of their centres of ink.
func lines(p exporttest.Page, a, b geometry.Point) []float64 {
	length, u := a.Dist(b), b.Sub(a).Unit()
	step := 0.2 / p.PxPerMM
	var out []float64
	var ink, moment float64
	for s := 0.0; s < length; s += step {
		if d := p.At(a.Add(u.Scale(s))); d > 0.1 {
			ink += d
			moment += d * s
		} else if ink > 0 {
			out = append(out, moment/ink)
			ink, moment = 0, 0
		}
	}
	return out
}

// offset measures by how much the outline on a rendered page lies off its true
// place, when the piece is moved onto the page by move: the worst of the places
// where it is seen well inside the window, and their number.
func offset(p exporttest.Page, piece sheet.Piece, move geometry.Vec, window [2]geometry.Point) (worst float64, seen int) {
	for _, path := range append([]geometry.Path{piece.Outline}, piece.Holes...) {
		for _, s := range path.Segments() {
			if onFold(piece, s) { // drawn as a fold, broken
				continue
			}
			for u := 0.02; u < 1; u += 0.04 {
				at := s.At(u).Add(move)
				if at.X < window[0].X+3 || at.Y < window[0].Y+3 || at.X > window[1].X-3 || at.Y > window[1].Y-3 {
					continue
				}
				// Where other lines are near, the ink within reach is more than the
				// outline's 0.5 mm: not measured.
				off, ok, clean := acrossLine(p, at, s.Deriv(u).Perp())
				if clean {
					seen++
					if !ok {
						off = math.Inf(1)
					}
					worst = math.Max(worst, math.Abs(off))
				}
			}
		}
	}
	return worst, seen
}

// onFold reports whether a side of a half lies on the fold of the cloth.
func onFold(piece sheet.Piece, s geometry.Segment) bool {
	for _, f := range piece.Folds {
		if !f.OnFold {
			continue
		}
		u := f.Points[len(f.Points)-1].Sub(f.Points[0]).Unit()
		if math.Abs(u.Cross(s.A.Sub(f.Points[0])))+math.Abs(u.Cross(s.D.Sub(f.Points[0]))) < 0.2 {
			return true
		}
	}
	return false
}

func acrossLine(p exporttest.Page, at geometry.Point, across geometry.Vec) (off float64, ok, clean bool) {
	const reach = 1.2
	u := across.Unit()
	ink := 0.0
	for s := -reach; s <= reach; s += 0.02 {
		ink += p.At(at.Add(u.Scale(s))) * 0.02
	}
	off, ok = p.Line(at, across, reach)
	return off, ok, ink < 0.55
}

// The outline of a tile stands true to 0.05 mm at 600 dpi.
func TestOutlineIsTrue(t *testing.T) {
	piece := sleeve()
	piece.Unsure = nil // a grey band would blur the measuring
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		placed, sheets, _, err := sheet.Lay(title, []sheet.Piece{piece}, sheet.Options{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		file := exporttest.File(t, pdf(t, sheet.Options{Paper: paper, Tiles: []string{"A1"}}, piece))
		page := exporttest.Render(t, file, 1, 1, 600, sheets[0].Height)[0]
		worst, seen := offset(page, placed[0], sheets[0].Move, sheets[0].Window)
		if !(worst <= 0.05) || seen < 20 {
			t.Errorf("%s: outline %.3f mm off, seen in %d places", paper.Label, worst, seen)
		}
		t.Logf("%s: outline at most %.4f mm off in %d places", paper.Label, worst, seen)
	}
}

// The tiles, put together by nothing but what is printed on them (join lines and
// diamonds, measured in the rendering), show the piece true to 0.1 mm.
func TestTilesJoinToThePiece(t *testing.T) {
	piece := sleeve()
	piece.Unsure = nil
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		worst, seen := joined(t, []sheet.Piece{piece}, sheet.Options{Paper: paper}, 400)
		if !(worst <= 0.1) || seen < 100 {
			t.Errorf("%s: the joined outline is %.3f mm off, seen in %d places", paper.Label, worst, seen)
		}
		t.Logf("%s: joined outline at most %.4f mm off in %d places", paper.Label, worst, seen)
	}
}

// joined renders all tiles, lays each on those before it as a person would, by the
// diamonds, and returns by how much the outlines are off then, at worst, and in
// how many places they were seen.
func joined(t *testing.T, pieces []sheet.Piece, opt sheet.Options, dpi int) (worst float64, seen int) {
	t.Helper()
	placed, sheets, meetings, err := sheet.Lay(title, pieces, opt)
	if err != nil {
		t.Fatal(err)
	}
	pages := exporttest.Render(t, exporttest.File(t, pdf(t, opt, pieces...)), 2, len(sheets)+1, dpi, sheets[0].Height)
	// The move that takes a place among the laid pieces to each page: known for the
	// first of each group that is joined, measured for the others.
	moves := make([]*geometry.Vec, len(sheets))
	for i := range sheets {
		if moves[i] == nil {
			moves[i] = &sheets[i].Move
		}
		for range sheets { // until all that hang on it are laid
			for _, m := range meetings {
				a, b, atA, atB := m.A, m.B, m.AtA, m.AtB
				if moves[a] == nil {
					a, b, atA, atB = b, a, atB, atA
				}
				if moves[a] == nil || moves[b] != nil {
					continue
				}
				find := flat
				if m.Upright {
					find = upright
				}
				var sum geometry.Vec
				n := 0.0
				for k := range atA {
					onA, okA := find(pages[a], atA[k])
					onB, okB := find(pages[b], atB[k])
					if okA && okB {
						sum, n = sum.Add(onB.Sub(onA)), n+1
					}
				}
				if n == 0 {
					continue // the piece's own lines run through both: over another join
				}
				move := moves[a].Add(sum.Scale(1 / n))
				moves[b] = &move
			}
		}
	}
	for i, page := range pages {
		if moves[i] == nil {
			t.Fatalf("%s has no diamond to be laid by", sheets[i].Name)
		}
		for _, k := range sheets[i].Shows {
			w, n := offset(page, placed[k], *moves[i], sheets[i].Window)
			worst, seen = math.Max(worst, w), seen+n
		}
	}
	return worst, seen
}

// upright measures the middle of a diamond on an upright join line near c: the
// line across, and half way between the diamond's two edges 3.4 mm beside it. It
// returns false where other lines run through the diamond.
func upright(p exporttest.Page, c geometry.Point) (geometry.Point, bool) {
	x, okX := near(p, pt(c.X, c.Y+10), geometry.Vec{X: 1})
	y, okY := beside(p, c, geometry.Vec{Y: 1})
	return pt(c.X+x, c.Y+y), okX && okY
}

// flat does the same on a level join line.
func flat(p exporttest.Page, c geometry.Point) (geometry.Point, bool) {
	x, okX := beside(p, c, geometry.Vec{X: 1})
	y, okY := near(p, pt(c.X+8, c.Y), geometry.Vec{Y: 1})
	return pt(c.X+x, c.Y+y), okX && okY
}

func near(p exporttest.Page, at geometry.Point, across geometry.Vec) (float64, bool) {
	// A broken line has gaps of 2 mm: look at a few places along it.
	for s := 0.0; s < 6; s++ {
		q := at.Add(across.Perp().Scale(s * 0.7))
		if found := lines(p, q.Add(across.Scale(-1)), q.Add(across)); len(found) == 1 {
			return found[0] - 1, true
		}
	}
	return 0, false
}

func beside(p exporttest.Page, c geometry.Point, along geometry.Vec) (float64, bool) {
	side := along.Perp().Scale(3.4)
	found := lines(p, c.Add(side).Add(along.Scale(-2.6)), c.Add(side).Add(along.Scale(2.6)))
	if len(found) != 2 {
		return 0, false
	}
	return (found[0]+found[1])/2 - 2.6, true
}
