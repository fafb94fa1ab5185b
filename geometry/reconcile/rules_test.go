package reconcile

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// cutOutlines returns the garment as cut edges with an old allowance all round.
func cutOutlines(g pattern.Garment, mm float64) pattern.Garment {
	out := g
	out.Pieces = nil
	for _, p := range g.Pieces {
		p.OutlineMeans = pattern.MeansCutEdge
		edges := []pattern.Edge{}
		for _, e := range p.Edges {
			e.OldAllowance = &pattern.OldAllowance{Is: pattern.OldLength, MM: mm}
			edges = append(edges, e)
		}
		p.Edges = edges
		out.Pieces = append(out.Pieces, p)
	}
	return out
}

// What a length and an angle do when one node moves is what measuring them anew finds,
// but for the course between nodes, which is a cubic and counts as a line.
func TestRowsAreDerivatives(t *testing.T) {
	truth, _ := smock(t, shapes[:3])
	g := cutOutlines(doubtOf(truth, nil), 8)
	r, err := Solve(g, nil)
	if err != nil {
		t.Fatal(err)
	}
	s := r.solver
	const h = 0.3 // parallel curves are right to some 0.003 mm
	moved := func(i int, by float64) offs {
		x := make([]float64, s.size)
		x[i] = by
		off, ok := s.measured(x)
		if !ok {
			t.Fatal("not drawn")
		}
		return off
	}
	for i := range s.size {
		x := make([]float64, s.size)
		x[i] = h
		after, before := moved(i, h/2), moved(i, -h/2)
		for k, m := range s.seams {
			want := (after.length[k] - before.length[k]) / h
			if got := m.length.value(x) / h; math.Abs(got-want) > 0.06 {
				t.Errorf("%s by node %d: %.4f, measured %.4f", m.pair.Name, i, got, want)
			}
			for a := range m.angles {
				want := (after.angle[k][a] - before.angle[k][a]) / h
				if got := m.angles[a].value(x) / h; math.Abs(got-want) > 0.002 {
					t.Errorf("%s, angle by node %d: %.5f, measured %.5f", m.pair.Name, i, got, want)
				}
			}
		}
	}
}

func bytesOf(t *testing.T, g pattern.Garment) []byte {
	t.Helper()
	b, err := json.Marshal(g)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Nothing accepted is nothing changed, to the byte; the same garment gives the same
// result; edges and marks stay.
func TestAccept(t *testing.T) {
	truth, pairs := smock(t, shapes)
	g := worn(doubtOf(truth, nil), rand.New(rand.NewPCG(5, 5)))
	g.Pieces[0].Marks = []pattern.Mark{{ID: "n", Kind: pattern.MarkNotch, Edge: "side", At: 0.4}}
	r, err := Solve(g, pairs)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(bytesOf(t, r.Accept(nil)), bytesOf(t, g)) {
		t.Error("accepting nothing changed the garment")
	}
	again, err := Solve(g, pairs)
	if err != nil {
		t.Fatal(err)
	}
	whole := bytesOf(t, r.Accept(all(g)))
	if !bytes.Equal(whole, bytesOf(t, again.Accept(all(g)))) {
		t.Error("the same garment gave another result")
	}
	if bytes.Equal(whole, bytesOf(t, g)) || len(r.Moves) == 0 {
		t.Error("nothing moves")
	}
	only := r.Accept([]EdgeRef{{"front-left", "side"}})
	for k, p := range only.Pieces {
		if p.ID != "front-left" && !bytes.Equal(bytesOf(t, pattern.Garment{Pieces: only.Pieces[k : k+1]}), bytesOf(t, pattern.Garment{Pieces: g.Pieces[k : k+1]})) {
			t.Errorf("%s was not accepted and changed", p.ID)
		}
	}
	p, was := only.Pieces[0], g.Pieces[0]
	if len(p.Marks) != 1 || p.Marks[0].Detached != "" || len(p.Edges) != len(was.Edges) {
		t.Errorf("marks %v, %d edges", p.Marks, len(p.Edges))
	}
	for i, e := range p.Edges { // the side's ends slide along the hem and the armhole
		moved := p.Knots[e.Knot].At.Dist(was.Knots[was.Edges[i].Knot].At) > 1e-9
		if want := e.ID == "side" || e.ID == "armhole"; moved != want {
			t.Errorf("the beginning of %s moved: %v, want %v", e.ID, moved, want)
		}
	}
	// Some of it accepted: what the seams are then is what checking says.
	some := []EdgeRef{{"front-left", "side"}, {"back-left", "side"}}
	report, err := pattern.Check(r.Accept(some))
	if err != nil {
		t.Fatal(err)
	}
	for i, q := range r.SeamsWith(some) {
		if report.Seams[i].ID != q.ID || math.Abs(report.Seams[i].OffMM-q.AfterMM) > 1e-9 {
			t.Errorf("%s: off by %v, checked %v", q.ID, q.AfterMM, report.Seams[i].OffMM)
		}
	}
}

func finding(r Result, code string) *geometry.Finding {
	for _, f := range r.Findings {
		if f.Code == code {
			return &f
		}
	}
	return nil
}

// plain holds that a finding speaks to the person.
func plain(t *testing.T, f *geometry.Finding, words ...string) {
	t.Helper()
	if f == nil {
		t.Error("nothing is said")
		return
	}
	for _, w := range words {
		if !strings.Contains(f.Message, w) {
			t.Errorf("%q does not name %q", f.Message, w)
		}
	}
	if f.Remedy == "" {
		t.Errorf("%q leaves the person alone", f.Message)
	}
}

// A seam that cannot be met pulls nothing out of shape, and is named.
func TestContradictorySeams(t *testing.T) {
	truth, pairs := smock(t, shapes)
	g := worn(doubtOf(truth, nil), rand.New(rand.NewPCG(9, 1)))
	honest, err := Solve(g, pairs)
	if err != nil {
		t.Fatal(err)
	}
	bad := g.SeamPairs[0]
	bad.ID, bad.Name, bad.EaseMM = "again", "side once more", bad.EaseMM+30
	g.SeamPairs = append(g.SeamPairs[:len(g.SeamPairs):len(g.SeamPairs)], bad)
	r, err := Solve(g, pairs)
	if err != nil {
		t.Fatal(err)
	}
	sound(t, g, r)
	plain(t, finding(r, CodeUnmet), "side once more", "mm")
	for i, q := range honest.Seams {
		if off := math.Abs(r.Seams[i].AfterMM); off > 1 {
			t.Errorf("%s is off by %.2f mm now, was by %.2f", q.ID, off, math.Abs(q.AfterMM))
		}
	}
}

// An unmarked bite out of one twin leaves the other where it is, and is named.
func TestBiteDoesNotPull(t *testing.T) {
	truth, pairs := smock(t, shapes[:1])
	truth.SeamPairs = nil
	g := doubtOf(truth, nil)
	left := &g.Pieces[0]
	bite := []geometry.Knot{}
	for i, k := range left.Knots {
		bite = append(bite, k)
		if i == 1 { // the side, 390 mm long: 9 mm deep over 120 mm
			for _, q := range []geometry.Point{{X: 260, Y: 100}, {X: 251, Y: 150}, {X: 252, Y: 190}, {X: 260, Y: 220}} {
				bite = append(bite, geometry.Knot{At: q, Corner: true})
			}
		}
	}
	left.Knots = bite
	for i := range left.Edges {
		if left.Edges[i].Knot > 1 {
			left.Edges[i].Knot += 4
		}
	}
	r, err := Solve(g, pairs)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range r.Moves {
		if math.Abs(m.MostMM) > 0.2 {
			t.Errorf("%s, %s moves by %.2f mm", m.Piece, m.Edge, m.MostMM)
		}
	}
	plain(t, finding(r, twin.CodeUnalike), "front left", "side", "mm")
}

func TestIllInputs(t *testing.T) {
	truth, pairs := smock(t, shapes[:2])

	g := cutOutlines(doubtOf(truth, nil), 8)
	g.Pieces[0].Edges[1].OldAllowance = nil
	r, err := Solve(g, nil)
	if err != nil {
		t.Fatal(err)
	}
	plain(t, finding(r, pattern.CodeOldUnknown), "front left", "side")
	for _, q := range r.Seams {
		if q.ID == "side left" {
			t.Error("a seam of unknown allowance was compared")
		}
	}

	g = doubtOf(truth, nil)
	g.Pieces[0].UncertaintyMM = 0
	if r, err = Solve(g, pairs); err != nil {
		t.Fatal(err)
	}
	plain(t, finding(r, CodeUncertain), "front left")
	for _, m := range r.Moves {
		if m.Piece == "front-left" {
			t.Errorf("a piece of which nothing is known moved: %+v", m)
		}
	}

	g.SeamPairs = nil
	if r, err = Solve(g, nil); err != nil {
		t.Fatal(err)
	}
	plain(t, finding(r, CodeNothing))
	if len(r.Moves) > 0 || !bytes.Equal(bytesOf(t, r.Accept(all(g))), bytesOf(t, g)) {
		t.Error("something moves though nothing is compared")
	}

	for _, p := range [][]twin.Pair{{{A: "x", B: "y"}}, {pairs[0], pairs[0]}} {
		if _, err := Solve(g, p); !errors.Is(err, ErrTwin) {
			t.Errorf("%v: %v", p, err)
		}
	}
	for len(g.Pieces) <= MaxPieces {
		g.Pieces = append(g.Pieces, g.Pieces[0])
	}
	if _, err := Solve(g, nil); !errors.Is(err, ErrTooMany) {
		t.Errorf("too many: %v", err)
	}
}

// A round outline without corners, and one edge all round, are reconciled as well.
func TestRound(t *testing.T) {
	const c = 55.22847498 // of the quarter circle as a cubic
	h := func(x, y float64) *geometry.Point { return &geometry.Point{X: x, Y: y} }
	p := pattern.Piece{ID: "o", Name: "patch", UncertaintyMM: 1, Knots: geometry.Path{
		{At: geometry.Point{X: 100}, In: h(100, -c), Out: h(100, c)},
		{At: geometry.Point{Y: 98}, In: h(c, 98), Out: h(-c, 98)},
		{At: geometry.Point{X: -101}, In: h(-101, c), Out: h(-101, -c)},
		{At: geometry.Point{Y: -100}, In: h(-c, -100), Out: h(c, -100)},
	}}
	p.Edges = pattern.NewEdges(p.Knots)
	g := pattern.Garment{Format: pattern.Format, Name: "g", Pieces: []pattern.Piece{p}}
	r, err := Solve(g, []twin.Pair{{A: "o", B: "o"}})
	if err != nil {
		t.Fatal(err)
	}
	sound(t, g, r)
	if q := r.Twins[0]; q.AfterMM > 0.5*q.BeforeMM+0.01 {
		t.Errorf("halves differ by %.3f mm rms, were by %.3f", q.AfterMM, q.BeforeMM)
	}
}
