package sheet

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
)

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func straight(points ...geometry.Point) geometry.Path {
	p := make(geometry.Path, len(points))
	for i, q := range points {
		p[i] = geometry.Knot{At: q, Corner: true}
	}
	return p
}

func rectangle(w, h float64) Piece {
	return Piece{Name: "Rectangle", Outline: straight(at(0, 0), at(w, 0), at(w, h), at(0, h))}
}

// The published sizes in mm: ISO 216 for A4 and A3; 8.5 x 11 and 11 x 17 in of
// exactly 25.4 mm.
func TestPaperSizes(t *testing.T) {
	for _, c := range []struct {
		paper         Paper
		width, height float64
	}{{A4, 210, 297}, {A3, 297, 420}, {Letter, 215.9, 279.4}, {Tabloid, 279.4, 431.8}} {
		if math.Abs(c.paper.Width-c.width) > 1e-9 || math.Abs(c.paper.Height-c.height) > 1e-9 {
			t.Errorf("%s is %g x %g mm, want %g x %g", c.paper.Label, c.paper.Width, c.paper.Height, c.width, c.height)
		}
		if got, err := PaperNamed(" " + c.paper.Label + " "); err != nil || got != c.paper {
			t.Errorf("PaperNamed(%q) = %v, %v", c.paper.Label, got, err)
		}
	}
	if _, err := PaperNamed("a7"); err == nil {
		t.Error("there is no a7, but it was found")
	}
}

// What "fit to page" does to a print, computed independently with 25 digits: a
// 100 mm square on the wrong paper measures this many mm.
func TestFitToPageShowsInTheSquare(t *testing.T) {
	for _, c := range []struct {
		name          string
		page          Paper
		width, height float64 // of what the printer fills
		want          float64
	}{
		{"A4 on Letter", A4, Letter.Width, Letter.Height, 94.0741},
		{"Letter on A4", Letter, A4.Width, A4.Height, 97.2673},
		{"Letter into margins of 6.35 mm", Letter, Letter.Width - 12.7, Letter.Height - 12.7, 94.1176},
		{"A4 into margins of 4 mm", A4, A4.Width - 8, A4.Height - 8, 96.1905},
		{"A4 into margins of 6.35 mm", A4, A4.Width - 12.7, A4.Height - 12.7, 93.9524},
	} {
		got := squareMM * math.Min(c.width/c.page.Width, c.height/c.page.Height)
		if math.Abs(got-c.want) > 5e-5 {
			t.Errorf("%s: %.4f mm, want %.4f", c.name, got, c.want)
		}
		if squareMM-got < 2.5 {
			t.Errorf("%s: %.2f mm could be overlooked", c.name, got)
		}
	}
}

// Counts computed by hand for windows of 190 x 277 mm (A4 less 10 mm margins)
// and 195.9 x 259.4 mm (Letter).
func TestTileCounts(t *testing.T) {
	for _, c := range []struct {
		name                            string
		length, window, overlap, counts float64
	}{
		{"600 across A4, no overlap", 600, 190, 0, 4},
		{"1000 up A4, no overlap", 1000, 277, 0, 4},
		{"600 across A4", 600, 190, 10, 4},
		{"1000 up A4", 1000, 277, 10, 4},
		{"800 across A4", 800, 190, 10, 5},
		{"600 across Letter", 600, 195.9, 10, 4},
		{"1000 up Letter", 1000, 259.4, 10, 4},
		{"just one", 190, 190, 10, 1},
		{"just two", 370, 190, 10, 2},
		{"hardly three", 370.1, 190, 10, 3},
		{"next to nothing", 0, 190, 10, 1},
	} {
		if got := count(c.length, c.window, c.overlap); got != int(c.counts) {
			t.Errorf("%s: %d tiles, want %g", c.name, got, c.counts)
		}
	}
	for _, c := range []struct {
		width, height float64
		paper         Paper
		want          int
	}{{600, 1000, A4, 16}, {800, 1000, A4, 20}, {600, 1000, Letter, 16}} {
		g, err := tileUp([]Piece{rectangle(c.width, c.height)}, c.paper, 10)
		if err != nil || len(g.tiles) != c.want {
			t.Errorf("%g x %g on %s: %d tiles (%v), want %d", c.width, c.height, c.paper.Label, len(g.tiles), err, c.want)
		}
	}
}

// The paper lies on its side where that takes fewer sheets: 270 x 150 mm fits on
// one A4 then, 800 x 1000 takes 3 x 6 instead of 5 x 4 (computed by hand).
func TestPaperOnItsSide(t *testing.T) {
	for _, c := range []struct {
		width, height float64
		tiles         int
		onSide        bool
	}{{270, 150, 1, true}, {150, 270, 1, false}, {800, 1000, 18, true}, {600, 1000, 16, false}} {
		groups, err := arrange([]Piece{rectangle(c.width, c.height)}, A4, 10)
		if err != nil || len(groups) != 1 {
			t.Fatal(len(groups), err)
		}
		if g := groups[0]; len(g.tiles) != c.tiles || (g.paper.Width > g.paper.Height) != c.onSide {
			t.Errorf("%g x %g: %d tiles of %g x %g mm", c.width, c.height, len(g.tiles), g.paper.Width, g.paper.Height)
		}
	}
}

// blob draws a star-shaped piece with random radii.
func blob(t *rapid.T) Piece {
	n := rapid.IntRange(5, 14).Draw(t, "knots")
	points := make([]geometry.Point, n)
	for i := range points {
		r := rapid.Float64Range(30, 600).Draw(t, "radius")
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		points[i] = at(r*c, r*s)
	}
	return Piece{Name: "Blob", Outline: straight(points...)}
}

// Every bit of a piece lies on a printed tile, every printed tile has a bit of
// it, and neighbours show the same joins with the same numbers.
func TestTilesCoverThePiece(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		piece := blob(t)
		g, err := tileUp([]Piece{piece}, A4, 10)
		if err != nil {
			t.Fatal(err)
		}
		rings := piece.rings()
		lo, hi := piece.bounds()
		used := map[tile]bool{}
		see := func(q geometry.Point) {
			covered := false
			for _, at := range g.tiles {
				core := g.core(at)
				if in := around(q, 0, 0).inside(core); in >= -1e-9 {
					covered, used[at] = true, true
				}
			}
			if !covered {
				t.Fatalf("%v lies on no tile", q)
			}
		}
		for _, s := range piece.Outline.Segments() {
			for u := 0.0; u <= 1; u += 1.0 / 2048 {
				see(s.At(u))
			}
		}
		for i := range 60 {
			for j := range 60 {
				q := at(lo.X+(hi.X-lo.X)*float64(i)/59, lo.Y+(hi.Y-lo.Y)*float64(j)/59)
				if within(rings, q) {
					see(q)
				}
			}
		}
		for _, at := range g.tiles {
			if !used[at] {
				t.Errorf("tile %s is blank", g.name(at))
			}
			checkJoins(t, g, at)
		}
	})
}

// checkJoins compares the joins of a tile with those of its neighbours and holds
// the diamonds inside both windows.
func checkJoins(t *rapid.T, g tiled, at tile) {
	for _, j := range g.joins(at) {
		var match *join
		for _, other := range g.tiles {
			if g.name(other) != j.other {
				continue
			}
			for _, k := range g.joins(other) {
				if k.other == g.name(at) {
					match = &k
				}
			}
		}
		if match == nil {
			t.Fatalf("%s joins %s, which does not join it", g.name(at), j.other)
		}
		if match.number != j.number || match.over == j.over || match.within != j.within.Scale(-1) {
			t.Errorf("%s and %s disagree on their join: %+v, %+v", g.name(at), j.other, j, *match)
		}
		for i, c := range j.diamonds() {
			if c.Dist(match.diamonds()[i]) > 1e-9 {
				t.Errorf("%s and %s have their diamonds at %v and %v", g.name(at), j.other, c, match.diamonds()[i])
			}
			if in := around(c, 2*diamondMM, 2*diamondMM).inside(g.window(at)); in < 0.4 {
				t.Errorf("%s: a diamond stands %.2f mm from the edge of the window", g.name(at), in)
			}
		}
	}
}

// An L leaves the tiles in its corner out.
func TestBlankTilesAreLeftOut(t *testing.T) {
	l := Piece{Name: "L", Outline: straight(at(0, 0), at(700, 0), at(700, 100), at(100, 100), at(100, 1000), at(0, 1000))}
	g, err := tileUp([]Piece{l}, A4, 10)
	if err != nil {
		t.Fatal(err)
	}
	if g.cols != 4 || g.rows != 4 || len(g.tiles) != 7 || g.blank != 9 {
		t.Errorf("%d of %d x %d tiles printed, %d left out; want 7 of 4 x 4", len(g.tiles), g.cols, g.rows, g.blank)
	}
}

// A tile that lies whole inside a piece is printed; one that lies whole inside
// a hole is not.
func TestInsideAndHoles(t *testing.T) {
	full := rectangle(560, 820)
	g, err := tileUp([]Piece{full}, A4, 10)
	if err != nil {
		t.Fatal(err)
	}
	frame := full
	frame.Holes = []geometry.Path{straight(at(60, 60), at(60, 760), at(500, 760), at(500, 60))}
	h, err := tileUp([]Piece{frame}, A4, 10)
	if err != nil {
		t.Fatal(err)
	}
	if n := g.cols * g.rows; len(g.tiles) != n || len(h.tiles) >= n {
		t.Errorf("%d tiles for the whole, %d for the frame, of %d", len(g.tiles), len(h.tiles), n)
	}
}

func TestTileNames(t *testing.T) {
	for n, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA"} {
		if got := letters(n); got != want {
			t.Errorf("row %d is %s, want %s", n, got, want)
		}
	}
	groups, err := arrange([]Piece{rectangle(300, 300), rectangle(50, 50), rectangle(60, 60)}, A4, 10)
	if err != nil || len(groups) != 2 {
		t.Fatalf("%d groups (%v), want 2: small pieces share a sheet", len(groups), err)
	}
	if got := groups[1].name(groups[1].tiles[0]); got != "C1" {
		t.Errorf("the second group begins with %s, want C1", got)
	}
}

// Pieces that share a sheet lie apart from each other and inside it.
func TestShelves(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pieces []Piece
		for range rapid.IntRange(1, 12).Draw(t, "pieces") {
			pieces = append(pieces, rectangle(rapid.Float64Range(5, 180).Draw(t, "w"), rapid.Float64Range(5, 270).Draw(t, "h")))
		}
		n := 0
		for _, sheet := range shelves(pieces, 188, 275) {
			all := boundsOf(sheet)
			if all.width() > 188+1e-9 || all.height() > 275+1e-9 {
				t.Errorf("a sheet of %g x %g mm", all.width(), all.height())
			}
			for i, p := range sheet {
				n++
				for _, q := range sheet[:i] {
					if d := boundsOf([]Piece{p}).gap(boundsOf([]Piece{q})); d < gapMM-1e-9 {
						t.Errorf("pieces lie %g mm apart", d)
					}
				}
			}
		}
		if n != len(pieces) {
			t.Errorf("%d of %d pieces were laid", n, len(pieces))
		}
	})
}

// A stretch is followed in the direction of the knots, over the first knot too.
func TestUnsureStretches(t *testing.T) {
	p := rectangle(100, 100)
	p.Holes = []geometry.Path{straight(at(40, 40), at(40, 60), at(60, 60), at(60, 40))}
	for _, c := range []struct {
		name     string
		from, to geometry.Point
		length   float64
	}{
		{"on one side", at(10, 0), at(30, 0), 20},
		{"round a corner", at(90, 0), at(100, 10), 20},
		{"over the first knot", at(0, 10), at(10, 0), 20},
		{"nearly all round", at(30, 0), at(10, 0), 380},
		{"beside the line", at(10, 1), at(30, -1), math.Hypot(20, 2)},
		{"on the hole", at(40, 50), at(50, 60), 20},
		{"knot to knot", at(100, 0), at(0, 100), 200},
	} {
		p.Unsure = []geometry.Stretch{{From: c.from, To: c.to}}
		lines := p.unsureLines()
		if len(lines) != 1 {
			t.Fatalf("%s: %d lines", c.name, len(lines))
		}
		length := 0.0
		for i := 1; i < len(lines[0]); i++ {
			length += lines[0][i].Dist(lines[0][i-1])
		}
		if math.Abs(length-c.length) > 0.1 {
			t.Errorf("%s: %.2f mm long, want %g", c.name, length, c.length)
		}
	}
}

// The grain arrow stays inside the piece and off its label, along the grain.
func TestGrainLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := blob(t)
		deg := rapid.Float64Range(0, 180).Draw(t, "grain")
		p.GrainDeg = &deg
		l := newLabel(p, nil)
		a, b, ok := p.grainLine(l.box, nil)
		if !ok {
			return
		}
		s, c := math.Sincos(deg * math.Pi / 180)
		if cross := b.Sub(a).Unit().Cross(geometry.Vec{X: c, Y: s}); math.Abs(cross) > 1e-9 {
			t.Errorf("the arrow does not run along the grain")
		}
		for u := 0.0; u <= 1; u += 0.01 {
			q := a.Lerp(b, u)
			if !within(p.rings(), q) || around(q, 0, 0).gap(l.box) < 0 {
				t.Fatalf("the arrow leaves the piece or runs through the label at %v", q)
			}
		}
	})
}
