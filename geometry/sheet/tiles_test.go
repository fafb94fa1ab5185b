package sheet

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/export"
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

// The published sizes in mm: ISO 216:2007 for the A series; 8.5 x 11 and 11 x 17
// in of exactly 25.4 mm. A1 and A0 are halves and doubles of each other but for
// rounding to a millimetre.
func TestPaperSizes(t *testing.T) {
	for _, c := range []struct {
		paper         Paper
		width, height float64
	}{
		{A4, 210, 297},
		{A3, 297, 420},
		{A2, 420, 594},
		{A1, 594, 841},
		{A0, 841, 1189},
		{Letter, 215.9, 279.4},
		{Tabloid, 279.4, 431.8},
	} {
		if math.Abs(c.paper.Width-c.width) > 1e-9 || math.Abs(c.paper.Height-c.height) > 1e-9 {
			t.Errorf("%s is %g x %g mm, want %g x %g", c.paper.Label, c.paper.Width, c.paper.Height, c.width, c.height)
		}
		if got, err := PaperNamed(" " + c.paper.Label + " "); err != nil || got != c.paper {
			t.Errorf("PaperNamed(%q) = %v, %v", c.paper.Label, got, err)
		}
	}
	for name, width := range map[string]float64{"roll:914": 914, "ROLL:36in": 914.4, "roll:91.4 cm": 914, "roll:610mm": 610} {
		if got, err := PaperNamed(name); err != nil || math.Abs(got.Width-width) > 1e-9 || got.Height != 0 {
			t.Errorf("PaperNamed(%q) = %v, %v, want a roll of %g mm", name, got, err, width)
		}
	}
	for _, name := range []string{"a7", "", "roll", "roll:", "roll:-914", "roll:300", "roll:9 m", "roll:6000", "roll:NaN", "roll:1e9"} {
		if got, err := PaperNamed(name); err == nil {
			t.Errorf("there is no paper %q, but %v was found", name, got)
		}
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
// and 195.9 x 259.4 mm (Letter), overlapping by 10 mm: 1 + ceil((length - window) /
// (window - 10)).
func TestTileCounts(t *testing.T) {
	for _, c := range []struct {
		name           string
		length, window float64
		want           int
	}{
		{"600 across A4", 600, 190, 4},
		{"1000 up A4", 1000, 277, 4},
		{"800 across A4", 800, 190, 5},
		{"600 across Letter", 600, 195.9, 4},
		{"1000 up Letter", 1000, 259.4, 4},
		{"just one", 190, 190, 1},
		{"just two", 370, 190, 2},
		{"hardly three", 370.1, 190, 3},
		{"next to nothing", 0, 190, 1},
	} {
		if first, last := span(0, c.length, c.window); first != 0 || last+1 != c.want {
			t.Errorf("%s: tiles %d to %d, want %d", c.name, first, last, c.want)
		}
	}
	for _, c := range []struct {
		width, height float64
		paper         Paper
		want          int
	}{{600, 1000, A4, 16}, {800, 1000, A4, 20}, {600, 1000, Letter, 16}} {
		if l := upright(c.paper, rectangle(c.width, c.height)); len(l.tiles) != c.want {
			t.Errorf("%g x %g on %s: %d tiles, want %d", c.width, c.height, c.paper.Label, len(l.tiles), c.want)
		}
	}
}

// upright lays one piece into the corner of upright paper.
func upright(paper Paper, p Piece) layout {
	leaf := Options{Paper: paper, MarginMM: 10, PrintScale: [2]float64{1, 1}}.leaf(false)
	b := p.reach().grown(lineRoom)
	p = p.moved(geometry.Point{}.Sub(geometry.Point{X: b.lo.X, Y: b.hi.Y}))
	return newLayout(grid{leaf.inner().width(), leaf.inner().height()}, leaf, []Piece{p}, box{})
}

func arranged(t testing.TB, paper Paper, pieces ...Piece) layout {
	t.Helper()
	opt, err := Options{Paper: paper}.withDefaults()
	if err != nil {
		t.Fatal(err)
	}
	l, err := arrange(pieces, opt, box{})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// Paper or piece are turned where that takes fewer sheets: 270 x 150 mm fits on
// one A4 then, 800 x 1000 takes 3 x 6 instead of 5 x 4 (computed by hand).
func TestTurnedForFewerSheets(t *testing.T) {
	for _, c := range []struct {
		width, height float64
		tiles         int
	}{{270, 150, 1}, {150, 270, 1}, {800, 1000, 18}, {600, 1000, 16}} {
		if l := arranged(t, A4, rectangle(c.width, c.height)); len(l.tiles) != c.tiles {
			t.Errorf("%g x %g: %d tiles, want %d", c.width, c.height, len(l.tiles), c.tiles)
		}
	}
}

// A page on its side is fed the other way: what the printer does along the feed
// acts across it. Windows are as large as what comes out between the margins.
func TestPrinterAcrossAndUp(t *testing.T) {
	opt := Options{Paper: A4, MarginMM: 10, PrintScale: [2]float64{0.99, 1.02}}
	for _, c := range []struct {
		turned        bool
		width, height float64 // of the window
		stretch       geometry.Vec
	}{
		{false, 190 * 0.99, 277 * 1.02, geometry.Vec{X: 1 / 0.99, Y: 1 / 1.02}},
		{true, 277 * 1.02, 190 * 0.99, geometry.Vec{X: 1 / 1.02, Y: 1 / 0.99}},
	} {
		leaf := opt.leaf(c.turned)
		inner := leaf.inner()
		if math.Abs(inner.width()-c.width) > 1e-9 || math.Abs(inner.height()-c.height) > 1e-9 {
			t.Errorf("turned %t: a window of %g x %g mm, want %g x %g", c.turned, inner.width(), inner.height(), c.width, c.height)
		}
		l := newLayout(grid{inner.width(), inner.height()}, leaf, []Piece{rectangle(100, 100).moved(geometry.Vec{X: 5, Y: -150})}, box{})
		page := l.page(tile{}, l.art(), "foot")
		if page.Stretch != c.stretch || (page.Width > page.Height) != c.turned {
			t.Errorf("turned %t: a page of %g x %g mm, stretched by %v", c.turned, page.Width, page.Height, page.Stretch)
		}
		// In the file the window ends at the margins, whatever the printer does.
		w := page.Items[0].(export.Window)
		lo, hi := at(w.Lo.X*page.Stretch.X, w.Lo.Y*page.Stretch.Y), at(w.Hi.X*page.Stretch.X, w.Hi.Y*page.Stretch.Y)
		if lo.Dist(at(10, 10)) > 1e-9 || hi.Dist(at(page.Width-10, page.Height-10)) > 1e-9 {
			t.Errorf("turned %t: the window reaches from %v to %v in the file", c.turned, lo, hi)
		}
	}
}

// checkShown holds that every bit of a piece's outline is drawn on a tile that it
// is still seen on after joining.
func checkShown(t *rapid.T, l layout, piece int) {
	for _, s := range l.laid[piece].Outline.Segments() {
		for u := 0.0; u <= 1; u += 1.0 / 512 {
			q := s.At(u)
			if !slices.ContainsFunc(l.tiles, func(at tile) bool {
				return around(q, 0, 0).inside(l.core(at)) >= -1e-9 && slices.Contains(l.shown(at), piece)
			}) {
				t.Fatalf("piece %d is not to be seen at %v", piece, q)
			}
		}
	}
}

// checkJoins compares the joins of a tile with those of its neighbours and holds
// the diamonds inside both windows.
func checkJoins(t *rapid.T, l layout, at tile) {
	for _, j := range l.joins(at) {
		var match *join
		for _, other := range l.tiles {
			if other.name() != j.other {
				continue
			}
			for _, k := range l.joins(other) {
				if k.other == at.name() {
					match = &k
				}
			}
		}
		if match == nil {
			t.Fatalf("%s joins %s, which does not join it", at.name(), j.other)
		}
		if match.number != j.number || match.over == j.over || match.within != j.within.Scale(-1) {
			t.Errorf("%s and %s disagree on their join: %+v, %+v", at.name(), j.other, j, *match)
		}
		for i, c := range j.diamonds() {
			if c.Dist(match.diamonds()[i]) > 1e-9 {
				t.Errorf("%s and %s have their diamonds at %v and %v", at.name(), j.other, c, match.diamonds()[i])
			}
			if in := around(c, 2*diamondMM, 2*diamondMM).inside(l.window(at)); in < 0.4 {
				t.Errorf("%s: a diamond stands %.2f mm from the edge of the window", at.name(), in)
			}
		}
	}
}

// An L leaves the tiles in its corner out.
func TestBlankTilesAreLeftOut(t *testing.T) {
	l := upright(A4, Piece{Name: "L", Outline: straight(at(0, 0), at(700, 0), at(700, 100), at(100, 100), at(100, 1000), at(0, 1000))})
	if len(l.tiles) != 7 || l.joints() != 6 {
		t.Errorf("%d tiles and %d joins, want 7 of 4 x 4 and 6", len(l.tiles), l.joints())
	}
}

// A tile that lies whole inside a piece is printed; one that lies whole inside
// a hole is not.
func TestInsideAndHoles(t *testing.T) {
	full := rectangle(560, 820)
	frame := full
	frame.Holes = []geometry.Path{straight(at(60, 60), at(60, 760), at(500, 760), at(500, 60))}
	g, h := upright(A4, full), upright(A4, frame)
	if len(g.tiles) != 16 || len(h.tiles) != 15 {
		t.Errorf("%d tiles for the whole, want 16; %d for the frame, want 15", len(g.tiles), len(h.tiles))
	}
}

func TestTileNames(t *testing.T) {
	for n, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA"} {
		if got := letters(n); got != want {
			t.Errorf("row %d is %s, want %s", n, got, want)
		}
	}
	if l := arranged(t, A4, rectangle(50, 50), rectangle(60, 60), rectangle(150, 100)); len(l.tiles) != 1 || l.tiles[0].name() != "A1" {
		t.Errorf("tiles %v, want A1 alone: small pieces share a sheet", l.tiles)
	}
}

// Sheets that no piece joins need no glue.
func TestNoNeedlessJoins(t *testing.T) {
	l := arranged(t, A4, rectangle(180, 265), rectangle(180, 264), rectangle(180, 263))
	if len(l.tiles) != 3 || l.joints() != 0 {
		t.Errorf("%d tiles, %d joins, want 3 and none", len(l.tiles), l.joints())
	}
}

// Packed pieces lie apart, each whole as it was, on no more sheets than piece by
// piece, and within the width of one page where it has one.
func TestPackedPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var pieces []Piece
		alone := 0
		for range rapid.IntRange(1, 8).Draw(t, "pieces") {
			p := rectangle(rapid.Float64Range(5, 500).Draw(t, "w"), rapid.Float64Range(5, 500).Draw(t, "h"))
			pieces = append(pieces, p)
			opt, _ := Options{}.withDefaults()
			l, err := arrange([]Piece{p}, opt, box{})
			if err != nil {
				t.Fatal(err)
			}
			alone += len(l.tiles)
		}
		opt, _ := Options{}.withDefaults()
		l, err := arrange(pieces, opt, box{})
		if err != nil {
			t.Fatal(err)
		}
		if len(l.tiles) > alone {
			t.Errorf("%d sheets, piece by piece only %d", len(l.tiles), alone)
		}
		block := box{at(0, -200), at(300, 0)}
		together, err := together(pieces, 520, block)
		if err != nil {
			t.Fatal(err)
		}
		if all := reachOf(together); all.lo.X < 0 || all.hi.X > 520 || all.hi.Y > 0 {
			t.Errorf("the page reaches from %v to %v", all.lo, all.hi)
		}
		var placed []Piece
		for i, p := range l.laid {
			placed = append(placed, p.Piece)
			checkShown(t, l, i)
		}
		for _, laid := range [][]Piece{placed, together} {
			for i, p := range laid {
				b := p.bounds()
				if d := math.Abs(p.Outline.Area() - pieces[i].Outline.Area()); d > 1e-6 {
					t.Errorf("a piece changed by %g square mm", d)
				}
				if &laid[0] == &together[0] && b.gap(block) < gapMM-1e-9 {
					t.Errorf("a piece lies %g mm from the block", b.gap(block))
				}
				for _, q := range laid[:i] {
					if d := b.gap(q.bounds()); d < gapMM-1e-9 {
						t.Errorf("pieces lie %g mm apart", d)
					}
				}
			}
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
		{"beside the line", at(10, 1), at(30, -1), 20},
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

// The label stays inside the piece and runs along the grain where it can; the
// grain arrow stays inside too and off the label.
func TestLabelAndGrain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := blob(t)
		deg := rapid.Float64Range(0, 180).Draw(t, "grain")
		p.GrainDeg = &deg
		plan := newPlan(p, p.art(), nil)
		rings := p.rings()
		s, c := math.Sincos(deg * math.Pi / 180)
		grain := geometry.Vec{X: c, Y: s}
		for _, it := range plan.label.items() {
			text := it.(export.Text)
			ts, tc := math.Sincos(text.Turn)
			words := geometry.Vec{X: tc, Y: ts}
			along, across := math.Abs(grain.Cross(words)) < 1e-9, math.Abs(grain.Dot(words)) < 1e-9
			if !along && !across && math.Abs(text.Turn-p.longest()) > 1e-9 {
				t.Errorf("the label runs neither along the grain, nor across it, nor along the longest edge")
			}
			for _, q := range textBox(text) {
				if !within(rings, q) {
					t.Errorf("%q leaves the piece at %v", text.Content, q)
				}
			}
		}
		if plan.grain == nil {
			return
		}
		a, b := plan.grain[0], plan.grain[1]
		if cross := b.Sub(a).Unit().Cross(grain); math.Abs(cross) > 1e-9 {
			t.Errorf("the arrow does not run along the grain")
		}
		for u := 0.0; u <= 1; u += 0.01 {
			q := a.Lerp(b, u)
			if !within(rings, q) {
				t.Fatalf("the arrow leaves the piece at %v", q)
			}
			for _, it := range plan.label.items() {
				if geometry.Polyline(textBox(it.(export.Text))).Contains(q) {
					t.Fatalf("the arrow runs through the label at %v", q)
				}
			}
		}
	})
}
