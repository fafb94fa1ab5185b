package pattern_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

const inch = 25.4

// one is a garment of one piece with straight edges a, b, c, ... between corners.
func one(corner ...geometry.Point) pattern.Garment {
	p := pattern.Piece{ID: "p", Name: "Panel", Knots: corners(corner...)}
	for i := range corner {
		id := string(rune('a' + i))
		p.Edges = append(p.Edges, pattern.Edge{ID: id, Name: id, Knot: i, OldAllowance: none()})
	}
	return pattern.Garment{Format: pattern.Format, Name: "Smock", Pieces: []pattern.Piece{p}}
}

func square(side float64) pattern.Garment {
	return one(pt(0, 0), pt(side, 0), pt(side, side), pt(0, side))
}

func drafted(t testing.TB, g pattern.Garment) pattern.Drafted {
	t.Helper()
	d, err := pattern.Draft(g, 0, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func codes(findings []geometry.Finding) string {
	var out []string
	for _, f := range findings {
		out = append(out, f.Code)
	}
	return strings.Join(out, " ")
}

func size(p geometry.Path) (w, h float64) {
	lo, hi := p.Flatten(0.01).Bounds()
	return hi.X - lo.X, hi.Y - lo.Y
}

// near reports whether two lengths agree within 0.01 mm, the goal for cut lines.
func near(a, b float64) bool { return math.Abs(a-b) <= 0.01 }

// An old allowance is taken off before a new one is added: 200 mm with 15 mm old
// and 10 mm new all round is 170 mm sewn and 190 mm cut.
func TestNothingIsAddedTwice(t *testing.T) {
	for _, c := range []struct {
		name         string
		means        pattern.Meaning
		old          *pattern.OldAllowance
		finish       *pattern.Finish
		sewn, cut    float64
		wantFindings string
	}{
		{"keep what is not known", pattern.MeansCutEdge, nil, nil, 200, 200, ""},
		{"keep a known one", "", length(15), nil, 170, 200, ""},
		{"new for old", "", length(15), seam(10), 170, 190, ""},
		{"wider than the old", "", length(6), seam(10), 188, 208, ""},
		{"worn to the stitch line", "", none(), seam(10), 200, 220, ""},
		{"bound", "", length(15), &pattern.Finish{Kind: pattern.FinishBound}, 170, 170, ""},
		{"faced", "", length(15), &pattern.Finish{Kind: pattern.FinishFaced, AllowanceMM: 6}, 170, 182, ""},
		{"stitch line traced", pattern.MeansStitchLine, nil, seam(10), 200, 220, ""},
		{"stitch line traced, the old allowance means nothing", pattern.MeansStitchLine, length(15), seam(10), 200, 220, ""},
		{"asked for", "", nil, seam(10), 200, 200, strings.TrimSpace(strings.Repeat(pattern.CodeOldUnknown+" ", 4))},
		{"said to be unknown", "", &pattern.OldAllowance{Is: pattern.OldUnknown}, seam(10), 200, 200, strings.TrimSpace(strings.Repeat(pattern.CodeOldUnknown+" ", 4))},
	} {
		g := square(200)
		g.Pieces[0].OutlineMeans = c.means
		for i := range g.Pieces[0].Edges {
			g.Pieces[0].Edges[i].OldAllowance, g.Pieces[0].Edges[i].Finish = c.old, c.finish
		}
		d := drafted(t, g)
		sewn, _ := size(d.StitchLine)
		cut, cutH := size(d.CutLine)
		if !near(sewn, c.sewn) || !near(cut, c.cut) || !near(cutH, c.cut) {
			t.Errorf("%s: %.3f mm sewn, %.3f mm cut; want %g and %g", c.name, sewn, cut, c.sewn, c.cut)
		}
		if got := codes(d.Findings); got != c.wantFindings {
			t.Errorf("%s: findings %q; want %q", c.name, got, c.wantFindings)
		}
		for _, e := range d.Edges {
			if !near(e.LengthMM, c.sewn) {
				t.Errorf("%s: edge %s is %.3f mm long; want %g", c.name, e.ID, e.LengthMM, c.sewn)
			}
		}
	}
}

// An allowance that changes along its edge: 20 mm at the beginning, 10 at the end,
// and a notch in the middle lies 15 mm out.
func TestLinearAllowance(t *testing.T) {
	g := withEdge(square(200), 0, none(), &pattern.Finish{Kind: pattern.FinishSeam, AllowanceMM: 20, EndMM: 10})
	g.Pieces[0].Marks = []pattern.Mark{{ID: "n", Kind: pattern.MarkNotch, Edge: "a", At: 0.5}}
	d := drafted(t, g)
	ring := d.CutLine.Flatten(0.01)
	for x, width := range map[float64]float64{1: 19.95, 100: 15, 199: 10.05} {
		if gap := distance(ring, pt(x, -width)); gap > 0.01 {
			t.Errorf("at %g mm the cut line is %.3f mm off %g mm", x, gap, width)
		}
	}
	if !near(d.Marks[0].At.Y, -15) || d.Edges[0].StartMM != 20 || d.Edges[0].EndMM != 10 {
		t.Errorf("notch at %v, widths %g and %g", d.Marks[0].At, d.Edges[0].StartMM, d.Edges[0].EndMM)
	}
}

// Kept edges come back to the traced edge, and edges keep their names, whatever
// mixture of old allowances and finishes is chosen.
func TestEdgesKeepTheirPlaces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bulge := rapid.Float64Range(-60, 60).Draw(t, "bulge")
		g := one(pt(0, 0), pt(300, 0), pt(280, 400), pt(20, 420))
		out, in := pt(330, 130+bulge), pt(300+bulge, 300)
		g.Pieces[0].Knots[1].Out, g.Pieces[0].Knots[2].In = &out, &in
		old := make([]float64, 4)
		for i := range old {
			e := &g.Pieces[0].Edges[i]
			if old[i] = rapid.SampledFrom([]float64{0, 6, 15, 40}).Draw(t, "old"); old[i] > 0 {
				e.OldAllowance = length(old[i])
			}
			if rapid.Bool().Draw(t, "seam") {
				e.Finish = seam(rapid.SampledFrom([]float64{5, 12, 25}).Draw(t, "new"))
			}
		}
		d, err := pattern.Draft(g, 0, pattern.Options{})
		if err != nil {
			t.Fatal(err)
		}
		ring, cut := d.StitchLine.Flatten(0.005), d.CutLine.Flatten(0.005)
		for i, e := range g.Pieces[0].Edges {
			// The middle of each traced edge is known; there the distances can be told.
			s := g.Pieces[0].Knots.Segment(i)
			mid, dir := s.At(0.5), s.Deriv(0.5).Unit()
			outwards := geometry.Vec{X: dir.Y, Y: -dir.X}
			onStitch := mid.Add(outwards.Scale(-old[i]))
			if gap := distance(ring, onStitch); gap > 0.02 {
				t.Fatalf("edge %s: the stitch line is %.3f mm off %g mm inside", e.ID, gap, old[i])
			}
			width := old[i]
			if e.Finish != nil {
				width = e.Finish.AllowanceMM
			}
			if gap := distance(cut, onStitch.Add(outwards.Scale(width))); gap > 0.03 {
				t.Fatalf("edge %s: the cut line is %.3f mm off %g mm outside the stitch line", e.ID, gap, width)
			}
			if at := d.StitchLine[d.Edges[i].Knot].At; at.Dist(s.A) > 90 {
				t.Fatalf("edge %s begins at %v, far from %v", e.ID, at, s.A)
			}
		}
		if d.StitchLine.Area() > d.CutLine.Area()+1e-6 {
			t.Fatal("the cut line does not enclose the stitch line")
		}
	})
}

func distance(ring geometry.Polyline, q geometry.Point) float64 {
	best := math.Inf(1)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		d := b.Sub(a)
		f := math.Min(math.Max(q.Sub(a).Dot(d)/math.Max(d.Dot(d), 1e-12), 0), 1)
		best = math.Min(best, q.Dist(a.Lerp(b, f)))
	}
	return best
}

// The ends of a hem mirror the garment above the fold. Both sides tilted by a; the
// raw edge of a hem of depth h is as wide as the garment at height h (computed
// independently with 25 digits).
func TestHemEndsMirrorTheGarment(t *testing.T) {
	for _, c := range []struct {
		name                 string
		width, tilt, h, want float64
	}{
		{"tapered leg", 180, 5, 40, 186.9991},
		{"tapered leg, narrow hem", 180, 5, 25, 184.3744},
		{"wide leg", 250, 8, 50, 264.0541},
		{"flared skirt", 600, -10, 30, 589.4204},
		{"flared skirt, deep hem", 600, -10, 50, 582.3673},
	} {
		grow := 400 * math.Tan(c.tilt*math.Pi/180)
		g := one(pt(0, 0), pt(c.width, 0), pt(c.width+grow, 400), pt(-grow, 400))
		g.Pieces[0].Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishHem, DepthMM: c.h, Turns: 1}
		d := drafted(t, g)
		lo, _ := d.CutLine.Flatten(0.01).Bounds()
		var left, right float64
		for _, k := range d.CutLine {
			if near(k.At.Y, lo.Y) {
				left, right = math.Min(left, k.At.X-c.width/2), math.Max(right, k.At.X-c.width/2)
			}
		}
		if got := right - left; !near(lo.Y, -c.h) || math.Abs(got-c.want) > 0.01 {
			t.Errorf("%s: cut edge %.4f mm wide at %.3f; want %.4f", c.name, got, lo.Y, c.want)
		}
		if len(d.FoldLines) != 1 || d.FoldLines[0].Edge != "a" || d.FoldLines[0].OutMM != 0 {
			t.Errorf("%s: fold lines %v; want one at the edge", c.name, d.FoldLines)
		}
	}
}

// A hem turned up on a full circle is too long by 4 pi h, whatever the radius
// (computed): why circular hems are narrow.
func TestCircleHemExcess(t *testing.T) {
	for _, c := range []struct{ r, h, want float64 }{{300, 6, 75.398}, {300, 13, 163.363}, {700, 25, 314.159}, {500, 50, 628.319}} {
		g := circle(c.r)
		g.Pieces[0].Edges[0].Finish = &pattern.Finish{Kind: pattern.FinishHem, DepthMM: c.h, Turns: 1}
		d := drafted(t, g)
		found := false
		for _, f := range d.Findings {
			if f.Code == "fold-length" {
				found = true
				// Cubic circles are 2.7e-4 too wide and 1.4e-4 too long.
				if math.Abs(f.Amount-c.want) > 0.5 {
					t.Errorf("r %g, h %g: %.3f mm too long; want %.3f", c.r, c.h, f.Amount, c.want)
				}
			}
		}
		if !found {
			t.Errorf("r %g, h %g: findings %v; want one on the length", c.r, c.h, d.Findings)
		}
	}
}

func circle(r float64) pattern.Garment {
	const k = 0.552284749831
	knot := func(x, y, dx, dy float64) geometry.Knot {
		in, out := pt(r*(x-k*dx), r*(y-k*dy)), pt(r*(x+k*dx), r*(y+k*dy))
		return geometry.Knot{At: pt(r*x, r*y), In: &in, Out: &out}
	}
	path := geometry.Path{knot(1, 0, 0, 1), knot(0, 1, -1, 0), knot(-1, 0, 0, -1), knot(0, -1, 1, 0)}
	return pattern.Garment{Format: pattern.Format, Name: "Smock", Pieces: []pattern.Piece{{
		ID: "p", Name: "Skirt", Knots: path, Edges: []pattern.Edge{{ID: "a", Name: "hem", OldAllowance: none()}},
	}}}
}

// A notch stays 3 mm clear of the stitch line: holes are left by deeper ones.
func TestNotchDepth(t *testing.T) {
	for _, c := range []struct{ wish, allowance, want float64 }{
		{5, 15, 5}, {5, 8, 5}, {5, 6.35, 3.35}, {5, 3, 0}, {5, 0, 0}, {10, 10, 7},
	} {
		if got := pattern.NotchDepth(c.wish, c.allowance); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%g mm in %g mm: %g, want %g", c.wish, c.allowance, got, c.want)
		}
	}
	for _, c := range []struct {
		allowance, depth, tipY float64
		outward                bool
		finding                string
	}{
		{15, 5, -10, false, ""}, {6.35, 3.35, -3, false, pattern.CodeNotchDepth}, {3, 3, -6, false, pattern.CodeNotchDepth}, {10, 5, -15, true, ""},
	} {
		g := square(200)
		g.Pieces[0].Edges[0].Finish = seam(c.allowance)
		g.Pieces[0].Marks = []pattern.Mark{{ID: "n", Kind: pattern.MarkNotch, Edge: "a", At: 0.25, Outward: c.outward}}
		d := drafted(t, g)
		m := d.Marks[0]
		if !near(m.DepthMM, c.depth) || !near(m.At.X, 50) || !near(m.At.Y, -c.allowance) || !near(m.Lines[0][1].Y, c.tipY) || codes(d.Findings) != c.finding {
			t.Errorf("allowance %g: %+v, findings %q", c.allowance, m, codes(d.Findings))
		}
	}
}

func TestMarksArePlaced(t *testing.T) {
	g := full(t)
	g.Pieces[0].Edges[0].OldAllowance = none()
	g.Pieces[0].Edges[0].Finish = nil
	d := drafted(t, g)
	// The snips lie at one end only: the edge beside the other has no allowance.
	lines := map[string]int{"g1": 1, "g2": 1, "g3": 1, "n1": 4, "n2": 1, "s1": 2, "d1": 2, "b1": 3, "l1": 2, "f1": 1, "i1": 1, "i2": 1, "t1": 0, "k1": 4}
	ring := d.CutLine.Flatten(0.1)
	for _, m := range d.Marks {
		want, ok := lines[m.ID]
		if !ok || len(m.Lines) != want {
			t.Errorf("%s: %d lines, want %d", m.ID, len(m.Lines), want)
		}
		delete(lines, m.ID)
		if m.Kind == pattern.MarkSnip {
			for _, l := range m.Lines {
				if !(l[0].Dist(l[1]) <= 7+1e-6) || distance(ring, l[0]) > 0.1 || !ring.Contains(l[1]) {
					t.Errorf("snip %v does not cut in from the cut line", l)
				}
			}
		}
	}
	if len(lines) > 0 {
		t.Errorf("not drawn: %v", lines)
	}
	if !strings.Contains(codes(d.Findings), pattern.CodeDetached) {
		t.Errorf("findings %q; want the detached mark", codes(d.Findings))
	}
	if d.GrainDeg == nil || *d.GrainDeg != 90 {
		t.Errorf("grain %v, want 90", d.GrainDeg)
	}
}

// Marks survive a new outline; one whose edge is gone is kept and reported, and
// comes back with its edge.
func TestRefitKeepsMarks(t *testing.T) {
	g := square(200)
	p := g.Pieces[0]
	p.Edges[1].Finish = seam(12)
	p.Marks = []pattern.Mark{{ID: "n", Kind: pattern.MarkNotch, Edge: "b", At: 0.5}, {ID: "d", Kind: pattern.MarkDrill, Points: points(pt(9, 9))}, {ID: "m", Kind: pattern.MarkNotch, Edge: "d", At: 0.5}}
	knots := corners(pt(0, 0), pt(210, 0), pt(190, 220))
	side := p.Edges[1]
	side.Name = "side"
	q, findings, err := p.Refit(knots, []pattern.Edge{{ID: "a", Name: "hem", Knot: 0}, side, {ID: "c", Name: "top", Knot: 2}})
	if err != nil || len(q.Marks) != 3 || q.Marks[2].Detached == "" || codes(findings) != pattern.CodeDetached {
		t.Fatalf("marks %v, findings %v, error %v", q.Marks, findings, err)
	}
	if q.Edges[1].Name != "side" || p.Marks[2].Detached != "" {
		t.Error("the new name is not taken, or the old piece was changed")
	}
	g.Pieces[0] = q
	d := drafted(t, g)
	if len(d.Marks) != 2 || !near(d.Marks[0].At.Dist(knots[1].At.Lerp(knots[2].At, 0.5)), 12) {
		t.Errorf("marks %+v; want the notch 12 mm outside the middle of the new edge, and the hole", d.Marks)
	}
	back, findings, err := q.Refit(p.Knots, p.Edges)
	if err != nil || len(findings) > 0 || back.Marks[2].Detached != "" {
		t.Errorf("marks %v, findings %v, error %v; want the notch back on its edge", back.Marks, findings, err)
	}
}

func TestBadOutlinesAreNamed(t *testing.T) {
	for _, c := range []struct {
		name string
		g    pattern.Garment
		says []string
	}{
		{"3 mm wide", one(pt(0, 0), pt(3, 0), pt(3, 200), pt(0, 200)), []string{"pieces[0].knots", "Panel", "scale"}},
		{"5 m wide", square(5000), []string{"pieces[0].knots", "5.00", "scale"}},
		{"crosses itself", one(pt(0, 0), pt(300, 0), pt(300, 200), pt(100, 250), pt(200, -50), pt(0, 200)), []string{"pieces[0].knots", "itself"}},
		{"crosses itself, with an old allowance", withEdge(one(pt(0, 0), pt(300, 0), pt(300, 200), pt(100, 250), pt(200, -50), pt(0, 200)), 1, length(10), nil), []string{"pieces[0].knots", "itself"}},
		{"old allowance too wide", withEdge(square(50), 0, length(60), nil), []string{"pieces[0]", "old_allowance"}},
	} {
		_, err := pattern.Draft(c.g, 0, pattern.Options{})
		if !errors.Is(err, pattern.ErrDraft) {
			t.Errorf("%s: error %v; want ErrDraft", c.name, err)
			continue
		}
		for _, s := range c.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("%s: error %q does not say %q", c.name, err, s)
			}
		}
	}
}

func withEdge(g pattern.Garment, k int, old *pattern.OldAllowance, f *pattern.Finish) pattern.Garment {
	g.Pieces[0].Edges[k].OldAllowance, g.Pieces[0].Edges[k].Finish = old, f
	return g
}

// 10,000 knots are slow to sew but no reason to fail.
func TestManyKnots(t *testing.T) {
	g := circle(300)
	var path geometry.Path
	for i := range 10000 {
		s, c := math.Sincos(float64(i) / 10000 * 2 * math.Pi)
		path = append(path, geometry.Knot{At: pt(300*c, 300*s)})
	}
	g.Pieces[0].Knots = path
	g.Pieces[0].Edges[0].Finish = seam(15)
	start := time.Now()
	d := drafted(t, g)
	w, _ := size(d.CutLine)
	if math.Abs(w-630) > 0.02 {
		t.Errorf("%g mm wide, want 630", w)
	}
	if took := time.Since(start); took > 20*time.Second {
		t.Errorf("took %v", took)
	}
}

// An outline may begin in the middle of its last edge.
func TestOutlineBeginsInsideAnEdge(t *testing.T) {
	g := one(pt(0, 0), pt(200, 0), pt(200, 300), pt(0, 300))
	p := &g.Pieces[0]
	p.Knots = append(geometry.Path{{At: pt(0, 100)}}, p.Knots...)
	for i, old := range []float64{10, 15, 20, 25} {
		p.Edges[i].Knot = i + 1
		p.Edges[i].OldAllowance, p.Edges[i].Finish = length(old), seam(old/2)
	}
	d := drafted(t, g)
	for i, want := range []float64{200 - 15 - 25, 300 - 10 - 20, 200 - 15 - 25, 300 - 10 - 20} {
		if !near(d.Edges[i].LengthMM, want) {
			t.Errorf("edge %s is %.3f mm long, want %g", d.Edges[i].ID, d.Edges[i].LengthMM, want)
		}
	}
	if w, h := size(d.CutLine); !near(w, 160+7.5+12.5) || !near(h, 270+5+10) {
		t.Errorf("cut %.3f x %.3f mm, want 180 x 285", w, h)
	}
	if at := d.StitchLine[d.Edges[3].Knot].At; at.Dist(pt(25, 280)) > 0.01 {
		t.Errorf("the last edge begins at %v, want (25, 280)", at)
	}
}
