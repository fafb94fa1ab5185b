package amend_test

import (
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func ref(x, y float64) *geometry.Point { q := pt(x, y); return &q }

// front is half a bodice: fold at the left, neck, shoulder, armhole, side and hem, with
// marks of each sort.
func front() pattern.Piece {
	seam := func() *pattern.Finish { return &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 15} }
	return pattern.Piece{
		ID: "front", Name: "front", OutlineMeans: pattern.MeansStitchLine,
		Knots: geometry.Path{
			{At: pt(0, 0), Corner: true},
			{At: pt(240, 0), Out: ref(250, 120), Corner: true},
			{At: pt(220, 320), In: ref(215, 240), Out: ref(190, 340), Corner: true},
			{At: pt(170, 500), In: ref(165, 430), Corner: true},
			{At: pt(70, 530), Out: ref(65, 480), Corner: true},
			{At: pt(0, 440), In: ref(40, 440), Corner: true},
		},
		Holes: []geometry.Path{{{At: pt(100, 200), Corner: true}, {At: pt(100, 230), Corner: true}, {At: pt(130, 230), Corner: true}}},
		Edges: []pattern.Edge{
			{ID: "hem", Name: "hem", Knot: 0, Finish: &pattern.Finish{Kind: pattern.FinishHem, DepthMM: 20, Turns: 1}},
			{ID: "side", Name: "side", Knot: 1, Finish: seam()},
			{ID: "armhole", Name: "armhole", Knot: 2, Finish: seam()},
			{ID: "shoulder", Name: "shoulder", Knot: 3, Finish: seam()},
			{ID: "neck", Name: "neck", Knot: 4, Finish: seam()},
			{ID: "fold", Name: "fold", Knot: 5, Finish: &pattern.Finish{Kind: pattern.FinishFold}},
		},
		Marks: []pattern.Mark{
			{ID: "grain", Kind: pattern.MarkGrain, Points: []geometry.Point{pt(60, 60), pt(60, 400)}},
			{ID: "low", Kind: pattern.MarkNotch, Edge: "side", At: 0.2},
			{ID: "high", Kind: pattern.MarkNotch, Edge: "side", At: 0.8},
			{ID: "arm", Kind: pattern.MarkNotch, Edge: "armhole", At: 0.5, Count: 2},
			{ID: "pocket", Kind: pattern.MarkDrill, Points: []geometry.Point{pt(120, 380)}},
			{ID: "knee", Kind: pattern.MarkDrill, Points: []geometry.Point{pt(120, 40)}},
		},
	}
}

func mustOpen(t *testing.T, p pattern.Piece, a, b geometry.Point, mm float64, join string) pattern.Piece {
	t.Helper()
	now, findings, err := amend.Open(p, a, b, mm, join)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		if f.Severity != geometry.SeverityInfo {
			t.Errorf("%s: %s", f.Code, f.Message)
		}
	}
	return now
}

func lengths(p pattern.Piece) map[string]float64 {
	out := map[string]float64{}
	for k, e := range p.Edges {
		n := len(p.Knots)
		for i := e.Knot; i != p.Edges[(k+1)%len(p.Edges)].Knot; i = (i + 1) % n {
			out[e.ID] += p.Knots.Segment(i).Length()
		}
	}
	return out
}

func mark(t *testing.T, p pattern.Piece, id string) pattern.Mark {
	t.Helper()
	for _, m := range p.Marks {
		if m.ID == id {
			return m
		}
	}
	t.Fatalf("the mark %q is gone", id)
	return pattern.Mark{}
}

// notchAt returns where a notch lies on the outline.
func notchAt(t *testing.T, p pattern.Piece, id string) geometry.Point {
	t.Helper()
	m := mark(t, p, id)
	d, err := pattern.Draft(pattern.Garment{Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{p}}, 0, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	k := p.Edge(m.Edge)
	n := len(d.StitchLine)
	from, to := d.Edges[k].Knot, d.Edges[(k+1)%len(d.Edges)].Knot
	var whole float64
	for i := from; i != to; i = (i + 1) % n {
		whole += d.StitchLine.Segment(i).Length()
	}
	want := m.At * whole
	for i := from; i != to; i = (i + 1) % n {
		s := d.StitchLine.Segment(i)
		l := s.Length()
		if want <= l {
			lo, hi := 0.0, 1.0
			for range 50 {
				mid := (lo + hi) / 2
				if head, _ := s.Split(mid); head.Length() < want {
					lo = mid
				} else {
					hi = mid
				}
			}
			return s.At(lo)
		}
		want -= l
	}
	return d.StitchLine[to].At
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.6f, want %.6f", what, got, want)
	}
}

func bytesOf(t *testing.T, p pattern.Piece) string {
	t.Helper()
	data, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// Opening a piece along a line adds a strip as long as the line inside it: its area grows
// by that times the width when it is cut, and each part keeps its edges.
func TestOpenCut(t *testing.T) {
	p := front()
	was := bytesOf(t, p)
	now := mustOpen(t, p, pt(0, 250), pt(100, 250), 30, amend.JoinCut)
	side := p.Knots.Flatten(1e-4)
	var right float64
	for i, q := range side { // how far the side lies from the fold at that height
		r := side[(i+1)%len(side)]
		if (q.Y-250)*(r.Y-250) < 0 {
			right = math.Max(right, q.X+(r.X-q.X)*(250-q.Y)/(r.Y-q.Y))
		}
	}
	near(t, "area", now.Knots.Area()-p.Knots.Area(), 30*right, 0.05)
	l0, l1 := lengths(p), lengths(now)
	for _, e := range []string{"hem", "armhole", "shoulder", "neck"} {
		near(t, e, l1[e], l0[e], 1e-6)
	}
	near(t, "side", l1["side"], l0["side"]+30, 1e-6)
	near(t, "fold", l1["fold"], l0["fold"]+30, 1e-6)
	near(t, "a notch below the line", notchAt(t, now, "low").Dist(notchAt(t, p, "low")), 0, 1e-4)
	near(t, "a notch above it", notchAt(t, now, "high").Dist(notchAt(t, p, "high").Add(geometry.Vec{Y: 30})), 0, 1e-4)
	near(t, "a mark above it", mark(t, now, "pocket").Points[0].Y, 410, 0)
	near(t, "a mark below it", mark(t, now, "knee").Points[0].Y, 40, 0)
	near(t, "the grain line", mark(t, now, "grain").Points[1].Y, 430, 0)
	near(t, "the hole", now.Holes[0][0].At.Y, 200, 0)
	if got := mark(t, now, "arm"); got.At != 0.5 {
		t.Errorf("a notch on an edge that only moved hangs at %v", got.At)
	}
	if bytesOf(t, p) != was {
		t.Error("the piece that was changed is another one now")
	}
}

// Drawn out evenly, an edge keeps its knots, a straight one its direction; the part above
// the line moves as a whole.
func TestOpenEven(t *testing.T) {
	p := front()
	now := mustOpen(t, p, pt(0, 250), pt(100, 250), 30, "")
	if len(now.Knots) != len(p.Knots) {
		t.Errorf("%d knots were %d", len(now.Knots), len(p.Knots))
	}
	l0, l1 := lengths(p), lengths(now)
	for _, e := range []string{"hem", "armhole", "shoulder", "neck"} {
		near(t, e, l1[e], l0[e], 1e-9)
	}
	near(t, "fold", l1["fold"], l0["fold"]+30, 1e-9)
	for _, c := range []struct {
		id string
		up float64
	}{{"low", 0}, {"high", 30}} {
		a, b := notchAt(t, p, c.id), notchAt(t, now, c.id)
		near(t, "height of "+c.id, b.Y, a.Y+c.up, 1e-4)
	}
}

// Lengthened and shortened by as much along the same line, in either way of drawing, at
// any turn, a piece is what it was: knots, lengths, area and marks.
func TestOpenAndShut(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	for i := range 200 {
		p := front()
		if i%2 == 1 {
			p = p.Turned(rng.Float64() * 2 * math.Pi)
		}
		lo, hi := p.Knots.Flatten(1).Bounds()
		mid := lo.Lerp(hi, 0.3+0.4*rng.Float64())
		dir := rng.Float64() * 2 * math.Pi
		a, b := mid, mid.Add(geometry.Vec{X: 50 * math.Cos(dir), Y: 50 * math.Sin(dir)})
		join := []string{amend.JoinEven, amend.JoinCut}[rng.IntN(2)]
		mm := 5 + 40*rng.Float64()
		open, _, err := amend.Open(p, a, b, mm, join)
		if err != nil {
			t.Fatal(i, err)
		}
		if open.Knots.Area() <= p.Knots.Area() {
			t.Errorf("%d: an opened piece is smaller", i)
		}
		shut, findings, err := amend.Open(open, a, b, -mm, join)
		if err != nil {
			t.Fatal(i, err)
		}
		if len(shut.Knots) != len(p.Knots) {
			t.Errorf("%d (%s, %.0f°): %d knots were %d; %v", i, join, dir*180/math.Pi, len(shut.Knots), len(p.Knots), findings)
			continue
		}
		near(t, "area", shut.Knots.Area(), p.Knots.Area(), 0.01)
		for j, k := range p.Knots {
			if d := k.At.Dist(shut.Knots[j].At); d > 1e-4 {
				t.Errorf("%d (%s): knot %d is off by %.6f mm", i, join, j, d)
			}
		}
		for j, e := range p.Edges {
			if shut.Edges[j].ID != e.ID || shut.Edges[j].Knot != e.Knot {
				t.Errorf("%d: edge %d is %v, was %v", i, j, shut.Edges[j], e)
			}
		}
		for j, m := range p.Marks {
			n := shut.Marks[j]
			if n.Detached != "" || math.Abs(n.At-m.At) > 1e-5 {
				t.Errorf("%d (%s): the mark %+v was %+v", i, join, n, m)
			}
			for x, q := range m.Points {
				if n.Points[x].Dist(q) > 1e-4 {
					t.Errorf("%d: %s lies at %v, was at %v", i, m.ID, n.Points[x], q)
				}
			}
		}
	}
}

// What lay on a strip that is taken out is kept, detached and reported.
func TestTakenOut(t *testing.T) {
	p := front()
	p.Marks = append(p.Marks, pattern.Mark{ID: "gone", Kind: pattern.MarkDrill, Points: []geometry.Point{pt(50, 260)}},
		pattern.Mark{ID: "notch", Kind: pattern.MarkNotch, Edge: "side", At: 0.8})
	y := notchAt(t, p, "notch").Y
	now, findings, err := amend.Open(p, pt(0, y-10), pt(10, y-10), -40, "")
	if err != nil {
		t.Fatal(err)
	}
	if m := mark(t, now, "gone"); m.Detached == "" && math.Abs(y-265) < 20 {
		t.Errorf("%+v, %v", m, findings)
	}
	if m := mark(t, now, "notch"); m.Detached == "" || m.Edge != "side" {
		t.Errorf("%+v, %v", m, findings)
	}
	if !slices.ContainsFunc(findings, func(f geometry.Finding) bool { return f.Code == pattern.CodeDetached }) {
		t.Error("nobody was told")
	}
	for _, c := range []struct {
		a, b geometry.Point
		mm   float64
		want error
	}{
		{pt(0, 900), pt(10, 900), 20, amend.ErrLine},
		{pt(0, 400), pt(10, 400), -200, amend.ErrMuch},
		{pt(0, 400), pt(0, 400), 20, amend.ErrLine},
		{pt(0, 400), pt(10, 400), 0, amend.ErrOp},
		{pt(0, 400), pt(10, 400), 5000, amend.ErrOp},
		{pt(0, 400), pt(10, 400), math.NaN(), amend.ErrOp},
	} {
		if _, _, err := amend.Open(p, c.a, c.b, c.mm, ""); !errors.Is(err, c.want) {
			t.Errorf("%v by %g: %v", c.a, c.mm, err)
		}
	}
}

// A piece of two legs is lengthened on both.
func TestOpenTwoLegs(t *testing.T) {
	p := pattern.Piece{ID: "u", Name: "u", Knots: geometry.Path{}}
	for _, q := range []geometry.Point{pt(0, 0), pt(100, 0), pt(100, 200), pt(200, 200), pt(200, 0), pt(300, 0), pt(300, 300), pt(0, 300)} {
		p.Knots = append(p.Knots, geometry.Knot{At: q, Corner: true})
	}
	p.Edges = pattern.NewEdges(p.Knots)
	for _, join := range []string{amend.JoinEven, amend.JoinCut} {
		now := mustOpen(t, p, pt(0, 100), pt(10, 100), 50, join)
		near(t, "area", now.Knots.Area(), p.Knots.Area()+2*100*50, 1e-6)
		back := mustOpen(t, now, pt(0, 100), pt(10, 100), -50, join)
		if bytesOf(t, back) != bytesOf(t, p) {
			t.Errorf("%s: not the piece that it was:\n%s\n%s", join, bytesOf(t, back), bytesOf(t, p))
		}
	}
}

// A cut opened at one end about a hinge at the other adds the triangle between: half the
// product of both arms and the sine of the angle.
func TestSpread(t *testing.T) {
	p := front()
	a, b := pt(120, 0), pt(120, 515)
	now, _, err := amend.Spread(p, a, b, 40)
	if err != nil {
		t.Fatal(err)
	}
	hinge := pt(120, 515) // on the shoulder from (170, 500) to (70, 530)
	arm := hinge.Dist(a)
	angle := 2 * math.Asin(20/arm)
	near(t, "area", now.Knots.Area()-p.Knots.Area(), arm*arm*math.Sin(angle)/2, 0.01)
	l0, l1 := lengths(p), lengths(now)
	near(t, "hem", l1["hem"], l0["hem"]+40, 1e-3)
	for _, e := range []string{"side", "armhole", "neck", "fold"} {
		near(t, e, l1[e], l0[e], 1e-6)
	}
	near(t, "shoulder", l1["shoulder"], l0["shoulder"], 1e-3)
	back, _, err := amend.Spread(now, a, b, -40)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area afterwards", back.Knots.Area(), p.Knots.Area(), 0.01)
	if len(back.Knots) != len(p.Knots) {
		t.Errorf("%d knots were %d", len(back.Knots), len(p.Knots))
	}
	for e, l := range lengths(back) {
		near(t, e+" afterwards", l, l0[e], 1e-3)
	}
	for i, m := range p.Marks {
		near(t, m.ID, back.Marks[i].At, m.At, 1e-5)
	}
}

// A dart is a mark: the outline stays, and its edge is sewn shorter by its width. Closed
// into the hem, the hem opens by the width times the ratio of the distances from the tip.
func TestDart(t *testing.T) {
	p := front()
	now, _, err := amend.AddDart(p, pt(240, 160), pt(120, 160), 25)
	if err != nil {
		t.Fatal(err)
	}
	if now.Knots.Area() != p.Knots.Area() {
		t.Error("the outline is another one")
	}
	m := mark(t, now, "dart-1")
	if m.Edge != "side" || m.WidthMM != 25 || len(p.Marks) == len(now.Marks) {
		t.Errorf("%+v", m)
	}
	g := pattern.Garment{
		Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{now, front()},
		SeamPairs: []pattern.SeamPair{{ID: "s", Name: "side", A: []pattern.Run{{Piece: "front", Edge: "side"}}, B: []pattern.Run{{Piece: "back", Edge: "side"}}}},
	}
	g.Pieces[1].ID = "back"
	report, err := pattern.Check(g)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the seam", report.Seams[0].OffMM, -25, 1e-6)

	shut, _, err := amend.CloseDart(now, "dart-1", pt(120, 0))
	if err != nil {
		t.Fatal(err)
	}
	l0, l1 := lengths(p), lengths(shut)
	tip, mouth := pt(120, 160), 0.0
	d, err := pattern.Draft(pattern.Garment{Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{now}}, 0, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range d.Marks {
		if k.Kind == pattern.MarkDart {
			u, v := k.Lines[0][0].Sub(tip), k.Lines[0][2].Sub(tip)
			mouth = math.Abs(math.Atan2(u.Cross(v), u.Dot(v)))
			// Where the legs differ, a step as long is left.
			near(t, "side", l1["side"], l0["side"]-25+math.Abs(u.Len()-v.Len()), 1e-3)
		}
	}
	near(t, "hem", l1["hem"], l0["hem"]+2*160*math.Sin(mouth/2), 1e-3)
	if slices.ContainsFunc(shut.Marks, func(m pattern.Mark) bool { return m.Kind == pattern.MarkDart }) {
		t.Error("the closed dart is still there")
	}
	if _, _, err := amend.AddDart(p, pt(240, 5), pt(120, 250), 25); !errors.Is(err, amend.ErrMuch) {
		t.Errorf("a dart over the corner: %v", err)
	}
	if _, _, err := amend.AddDart(p, pt(240, 160), pt(320, 250), 25); !errors.Is(err, amend.ErrLine) {
		t.Errorf("a tip outside: %v", err)
	}
}

// A mirror image has the same lengths and area; mirrored again, the piece is the same to
// the byte.
func TestMirror(t *testing.T) {
	p := front()
	p.Knots = p.Knots.Map(func(q geometry.Point) geometry.Point { return q })
	a, b := pt(120, 0), pt(120, 500)
	now, findings, err := amend.Mirror(p, a, b)
	if err != nil || len(findings) != 1 {
		t.Fatal(findings, err)
	}
	near(t, "area", now.Knots.Area(), p.Knots.Area(), 1e-6)
	l0, l1 := lengths(p), lengths(now)
	for e := range l0 {
		near(t, e, l1[e], l0[e], 1e-9)
	}
	q, r := notchAt(t, p, "low"), notchAt(t, now, "low")
	near(t, "notch", r.X, 240-q.X, 1e-4)
	near(t, "notch", r.Y, q.Y, 1e-4)
	back, _, err := amend.Mirror(now, a, b)
	if err != nil {
		t.Fatal(err)
	}
	for i := range back.Marks { // 1 - (1 - x) is x but for the last digit
		back.Marks[i].At = math.Round(back.Marks[i].At*1e12) / 1e12
	}
	if bytesOf(t, back) != bytesOf(t, p) {
		t.Errorf("not the piece that it was:\n%s\n%s", bytesOf(t, back), bytesOf(t, p))
	}
}

// A symmetric piece is its own mirror image, whichever half was kept; the mean of a piece
// that leans lies between its halves.
func TestSymmetric(t *testing.T) {
	p := pattern.Piece{ID: "back", Name: "back", Knots: geometry.Path{
		{At: pt(0, 0), Corner: true},
		{At: pt(200, 0), Out: ref(210, 100), Corner: true},
		{At: pt(190, 300), In: ref(195, 200), Corner: true},
		{At: pt(120, 320), Out: ref(120, 290), Corner: true},
		{At: pt(80, 322), In: ref(80, 290), Corner: true},
		{At: pt(14, 306), Out: ref(4, 200), Corner: true},
	}}
	p.Edges = pattern.NewEdges(p.Knots)
	for _, keep := range []amend.Keep{amend.KeepLeft, amend.KeepRight, amend.KeepMean} {
		now, findings, err := amend.Symmetric(p, pt(100, 0), pt(100, 300), keep)
		if err != nil {
			t.Fatal(keep, err)
		}
		if len(now.Edges) != len(p.Edges) || len(now.LostEdges) > 0 {
			t.Errorf("%s: edges %v, lost %v, %v", keep, now.Edges, now.LostEdges, findings)
		}
		ring := now.Knots.Flatten(0.01)
		for _, q := range ring {
			r := pt(200-q.X, q.Y)
			if d := distance(now.Knots, r); d > 0.05 {
				t.Errorf("%s: the image of %v is off by %.3f mm", keep, q, d)
				break
			}
		}
		if keep == amend.KeepMean {
			near(t, "area", now.Knots.Area(), p.Knots.Area(), 60)
			continue
		}
		half := 1.0
		if keep == amend.KeepLeft { // of a line that runs up
			half = -1
		}
		for _, q := range p.Knots {
			if (q.At.X-100)*half > 1 {
				near(t, string(keep), distance(now.Knots, q.At), 0, 1e-6)
			}
		}
	}
	if _, _, err := amend.Symmetric(p, pt(-50, 0), pt(-50, 300), ""); !errors.Is(err, amend.ErrLine) {
		t.Errorf("beside the piece: %v", err)
	}
}

// distance returns how far a point lies from a ring.
func distance(ring geometry.Path, q geometry.Point) float64 {
	best := math.Inf(1)
	pts := ring.Flatten(0.005)
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		d := b.Sub(a)
		t := math.Min(math.Max(q.Sub(a).Dot(d)/math.Max(d.Dot(d), 1e-12), 0), 1)
		best = math.Min(best, q.Dist(a.Lerp(b, t)))
	}
	return best
}

// A piece is turned to its grain line, and is then as large as before.
func TestToGrain(t *testing.T) {
	p := front().Turned(0.3)
	now, _, err := amend.ToGrain(p)
	if err != nil {
		t.Fatal(err)
	}
	m := mark(t, now, "grain")
	near(t, "the grain", m.Points[0].X, m.Points[1].X, 0.01)
	near(t, "area", now.Knots.Area(), p.Knots.Area(), 1e-6)
	p.Marks = nil
	if _, _, err := amend.ToGrain(p); !errors.Is(err, amend.ErrOp) {
		t.Errorf("without a grain line: %v", err)
	}
}

// A trembling quarter of an ellipse comes back nearer to the ellipse than it was, within
// the distance that was given, and with a small part of its change of curvature; straight
// stays straight.
func TestFair(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	var knots geometry.Path
	const n = 40
	for i := range n + 1 {
		a := math.Pi / 2 * float64(i) / n
		k := geometry.Knot{At: pt(300*math.Cos(a)+0.5*rng.NormFloat64(), 100*math.Sin(a)+0.5*rng.NormFloat64())}
		k.Corner = i == 0 || i == n
		if k.Corner {
			k.At = pt(300*math.Cos(a), 100*math.Sin(a))
		}
		knots = append(knots, k)
	}
	knots = append(knots, geometry.Knot{At: pt(0, 0), Corner: true})
	p := pattern.Piece{ID: "p", Name: "p", Knots: knots}
	p.Edges = pattern.NewEdges(knots)
	var before float64
	for _, k := range p.Knots[:n] {
		before = math.Max(before, distance(ellipse(), k.At))
	}
	for _, within := range []float64{before, 2, 3} {
		now, findings, err := amend.Fair(p, 0, n, within)
		if err != nil || len(findings) > 0 {
			t.Fatal(findings, err)
		}
		to := now.Edges[now.Edge(p.Edges[1].ID)].Knot
		var far, truth float64
		for i := range to {
			s := now.Knots.Segment(i)
			for k := range 5 {
				q := s.At(float64(k) / 5)
				far = math.Max(far, distance(p.Knots, q))
				truth = math.Max(truth, distance(ellipse(), q))
			}
		}
		if far > within+0.1 || within == before && truth > before/1.2 {
			t.Errorf("within %g mm: %.2f mm from what was there, %.2f from the ellipse, which was %.2f away", within, far, truth, before)
		}
		if was, is := curvatureChange(p.Knots, n), curvatureChange(now.Knots, to); is > was/30 {
			t.Errorf("within %g mm: the change of curvature is %.3g, was %.3g", within, is, was)
		}
		near(t, "length", lengths(now)[p.Edges[0].ID], 334.12233051388, 4) // the quarter ellipse, by its elliptic integral
	}
	for _, c := range []struct {
		from, to int
		mm       float64
	}{{0, 0, 1}, {-1, 3, 1}, {0, 99, 1}, {0, 5, 0}, {0, 5, math.NaN()}, {0, 5, 99}} {
		if _, _, err := amend.Fair(p, c.from, c.to, c.mm); !errors.Is(err, amend.ErrOp) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// ellipse is the shape of which the trembling line was drawn, as many short lines.
func ellipse() geometry.Path {
	var out geometry.Path
	for i := range 500 {
		a := math.Pi / 2 * float64(i) / 499
		out = append(out, geometry.Knot{At: pt(300*math.Cos(a), 100*math.Sin(a))})
	}
	return append(out, geometry.Knot{At: pt(0, 0)})
}

// curvatureChange sums the squares of the differences of the turns of a line at even
// steps, by which fairness is judged.
func curvatureChange(ring geometry.Path, to int) float64 {
	var pts []geometry.Point
	for i := range to {
		s := ring.Segment(i)
		n := max(int(s.Length()/4), 1)
		for k := range n {
			pts = append(pts, s.At(float64(k)/float64(n)))
		}
	}
	var turns []float64
	for i := 1; i+1 < len(pts); i++ {
		u, v := pts[i].Sub(pts[i-1]), pts[i+1].Sub(pts[i])
		turns = append(turns, math.Atan2(u.Cross(v), u.Dot(v))/u.Len())
	}
	var sum float64
	for i := 1; i < len(turns); i++ {
		sum += math.Pow(turns[i]-turns[i-1], 2)
	}
	return sum
}

// A seam is made to agree by both sides or one, with an end that moves or a depth that
// changes.
func TestMatch(t *testing.T) {
	for _, c := range []struct {
		who  amend.Who
		edge string
		flat bool
	}{{amend.WhoBoth, "side", false}, {amend.WhoA, "side", false}, {amend.WhoB, "side", false}, {amend.WhoBoth, "neck", true}, {amend.WhoA, "neck", true}} {
		back, _, err := amend.Lengthen(front(), c.edge, 6, amend.MovesEnd)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "longer", lengths(back)[c.edge], lengths(front())[c.edge]+6, 1e-6)
		back.ID = "back"
		g := pattern.Garment{
			Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{front(), back},
			SeamPairs: []pattern.SeamPair{{ID: "s", Name: "side", EaseMM: 1, A: []pattern.Run{{Piece: "back", Edge: c.edge}}, B: []pattern.Run{{Piece: "front", Edge: c.edge}}}},
		}
		now, err := amend.Match(g, "s", c.who, c.flat)
		if err != nil {
			t.Fatal(c, err)
		}
		a, b := lengths(now.Pieces[1])[c.edge], lengths(now.Pieces[0])[c.edge]
		near(t, "ease", a-b, 1, 0.01)
		if was := lengths(front())[c.edge]; c.who == amend.WhoA && b != was || c.who == amend.WhoBoth && math.Abs(b-was-2.5) > 0.02 {
			t.Errorf("%+v: %.3f mm and %.3f mm, were %.3f and 6 mm more", c, a, b, was)
		}
		if c.flat && now.Pieces[0].Knots[5].At != g.Pieces[0].Knots[5].At {
			t.Errorf("%+v: an end moved", c)
		}
	}
}

// Whatever is asked for, the answer is a valid piece or an error of this package, and the
// piece that was given stays what it was.
func FuzzOp(f *testing.F) {
	for _, s := range []string{
		`{"kind":"open","line_mm":[[0,250],[10,250]],"mm":20}`, `{"kind":"open","line_mm":[[0,250],[10,250]],"mm":-20,"join":"cut"}`,
		`{"kind":"spread","line_mm":[[120,0],[120,500]],"mm":30}`, `{"kind":"dart","at_mm":[240,160],"tip_mm":[120,200],"mm":20}`,
		`{"kind":"close-dart","mark":"d","at_mm":[120,0]}`, `{"kind":"mirror"}`, `{"kind":"symmetric","line_mm":[[120,0],[120,500]],"keep":"left"}`,
		`{"kind":"grain"}`, `{"kind":"fair","edge":"side","mm":2}`, `{"kind":"fair","from_knot":1,"to_knot":4,"mm":2}`, `{"kind":"length","edge":"neck","mm":-9,"moves":"neither"}`,
		`{"kind":"open","line_mm":[[0,0],[0,1]],"mm":20}`, `{"kind":"open","line_mm":[[240,0],[220,320]],"mm":-9}`,
	} {
		f.Add([]byte(s))
	}
	p := front()
	d, _, err := amend.AddDart(p, pt(240, 160), pt(120, 250), 25)
	if err != nil {
		f.Fatal(err)
	}
	d.Marks[len(d.Marks)-1].ID = "d"
	was, _ := json.Marshal(d)
	f.Fuzz(func(t *testing.T, data []byte) {
		op, err := amend.ReadOp(data)
		if err != nil {
			if !errors.Is(err, amend.ErrOp) {
				t.Fatal(err)
			}
			return
		}
		now, _, err := amend.Apply(d, op)
		if err == nil {
			err = now.Validate()
		} else if errors.Is(err, amend.ErrOp) || errors.Is(err, amend.ErrLine) || errors.Is(err, amend.ErrMuch) {
			err = nil
		}
		if err != nil {
			t.Fatalf("%s: %v", data, err)
		}
		if is, _ := json.Marshal(d); string(is) != string(was) {
			t.Fatalf("%s changed the piece that it was given", data)
		}
	})
}
