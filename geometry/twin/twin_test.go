package twin_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

func knot(x, y float64) geometry.Knot {
	return geometry.Knot{At: geometry.Point{X: x, Y: y}, Corner: true}
}

// front is a half front with a curved armhole and a curved neck: no symmetry of its own.
func front(id string) pattern.Piece {
	k := geometry.Path{knot(0, 0), knot(260, 10), knot(280, 390), knot(210, 600), knot(90, 640), knot(0, 540)}
	handle := func(x, y float64) *geometry.Point { return &geometry.Point{X: x, Y: y} }
	k[2].Out, k[3].In = handle(225, 430), handle(200, 540)
	k[4].Out, k[5].In = handle(85, 580), handle(50, 545)
	p := pattern.Piece{ID: id, Name: id, Knots: k, UncertaintyMM: 0.6}
	p.Edges = pattern.NewEdges(k)
	for i, name := range []string{"hem", "side", "armhole", "shoulder", "neck", "centre"} {
		p.Edges[i].ID, p.Edges[i].Name = name, name
	}
	return p
}

// mirrored is the mirror image of a piece, moved and turned; its edges keep their names.
func mirrored(p pattern.Piece, id string, r geometry.Rigid) pattern.Piece {
	flip := func(q geometry.Point) geometry.Point { return r.Apply(geometry.Point{X: -q.X, Y: q.Y}) }
	out := p
	out.ID, out.Name, out.Knots, out.Edges = id, id, nil, nil
	n := len(p.Knots)
	for i := range n {
		k := p.Knots[n-1-i]
		k.In, k.Out = k.Out, k.In
		out.Knots = append(out.Knots, geometry.Path{k}.Map(flip)[0])
	}
	// The edge from knot j to j+1 runs from n-2-j to n-1-j; the last one begins at n-1.
	for i := range n {
		e := p.Edges[(2*n-2-i)%n]
		e.Knot = i
		out.Edges = append(out.Edges, e)
	}
	return out
}

func garment(p ...pattern.Piece) pattern.Garment {
	return pattern.Garment{Format: pattern.Format, Name: "g", Pieces: p}
}

// far is how far two poses are apart where the piece is.
func far(got, want geometry.Rigid) float64 {
	var most float64
	for _, q := range []geometry.Point{{X: -280}, {}, {X: -140, Y: 640}} {
		most = math.Max(most, got.Apply(q).Dist(want.Apply(q)))
	}
	return most
}

// A mirrored, moved and turned piece is laid back exactly.
func TestCompareExact(t *testing.T) {
	for _, turn := range []float64{0, 0.02, -0.3, 1.4, 3} {
		want := geometry.Rigid{Turn: turn, Move: geometry.Point{X: 700, Y: -40}}
		g := garment(front("left"), mirrored(front("left"), "right", want))
		got, err := twin.Compare(g, twin.Pair{A: "left", B: "right"})
		if err != nil {
			t.Fatal(err)
		}
		if d := far(got.Pose, want); d > 0.1 {
			t.Errorf("turn %v: %.3f mm off", turn, d)
		}
		if got.Alike < 0.99 || len(got.Findings) > 0 {
			t.Errorf("turn %v: alike %.2f, findings %v", turn, got.Alike, got.Findings)
		}
		for _, e := range got.Edges {
			if e.Edge != e.Other || math.Abs(e.LengthMM-e.OtherLengthMM) > 1e-6 {
				t.Errorf("turn %v: %s of %.1f mm lies on %s of %.1f mm", turn, e.Edge, e.LengthMM, e.Other, e.OtherLengthMM)
			}
		}
	}
}

// bitten has a part of its side worn away, 17 mm deep at the most, of which nothing is
// said, and its hem 6 mm too short.
func bitten(p pattern.Piece) pattern.Piece {
	out := p
	out.Knots = geometry.Path{}
	for _, k := range p.Knots {
		if k.At == (geometry.Point{}) || k.At == (geometry.Point{X: 260, Y: 10}) {
			k.At.Y += 6
		}
		out.Knots = append(out.Knots, k)
		if k.At == (geometry.Point{X: 260, Y: 16}) {
			out.Knots = append(out.Knots, knot(262, 60), knot(250, 110), knot(252, 190), knot(270, 250))
		}
	}
	out.Edges = slices.Clone(p.Edges)
	for i := range out.Edges {
		if out.Edges[i].Knot >= 2 {
			out.Edges[i].Knot += 4
		}
	}
	return out
}

// Worn stretches do not pull: with a third of the outline gone the pose is off by no
// more than a tenth of what the wear is; least squares would be off by more.
func TestWornStretchesDoNotPull(t *testing.T) {
	want := geometry.Rigid{Turn: 0.05, Move: geometry.Point{X: 600, Y: 12}}
	left := bitten(left())
	g := garment(left, mirrored(front("left"), "right", want))
	if err := g.Validate(); err != nil {
		t.Fatal(err)
	}
	got, err := twin.Compare(g, twin.Pair{A: "left", B: "right"})
	if err != nil {
		t.Fatal(err)
	}
	if d := far(got.Pose, want); d > 0.6 {
		t.Errorf("%.2f mm off", d)
	}
	said := map[string]bool{}
	for _, f := range got.Findings {
		if f.Code != twin.CodeUnalike || f.Remedy == "" || f.Where == nil {
			t.Errorf("%+v", f)
		}
	}
	for _, e := range got.Edges {
		said[e.Edge] = math.Abs(e.WorstMM) > e.LimitMM
	}
	for edge, want := range map[string]bool{"side": true, "hem": true, "shoulder": false, "neck": false, "armhole": false} {
		if said[edge] != want {
			t.Errorf("%s is said to differ: %v, want %v", edge, said[edge], want)
		}
	}
}

func left() pattern.Piece { return front("left") }

// The hem of the worn piece is 6 mm inside the twin's: negative, since A is the smaller.
func TestAsymmetryByEdge(t *testing.T) {
	g := garment(bitten(front("left")), mirrored(front("left"), "right", geometry.Rigid{}))
	got, err := twin.Compare(g, twin.Pair{A: "left", B: "right"})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range got.Edges {
		switch e.Edge {
		case "hem":
			if math.Abs(e.MeanMM+6) > 0.5 {
				t.Errorf("hem: mean %.2f mm, want -6", e.MeanMM)
			}
		case "side":
			if math.Abs(e.WorstMM+17.4) > 0.7 {
				t.Errorf("side: worst %.2f mm, want -17.4", e.WorstMM)
			}
		case "shoulder", "neck":
			if math.Abs(e.MeanMM) > 0.5 {
				t.Errorf("%s: mean %.2f mm, want 0", e.Edge, e.MeanMM)
			}
		}
	}
}

// What is worn through is there on the twin: after borrowing the outline is the true one.
func TestBorrow(t *testing.T) {
	pose := geometry.Rigid{Turn: 0.05, Move: geometry.Point{X: 600, Y: 12}}
	truth := front("left")
	for _, edges := range [][]string{{"side", "hem"}, {"hem", "side"}} {
		g := garment(bitten(truth), mirrored(truth, "right", pose))
		g.Pieces[0].Unsure = []geometry.Stretch{{From: geometry.Point{X: 262, Y: 60}, To: geometry.Point{X: 270, Y: 250}, Why: "worn"}}
		tw, err := twin.Compare(g, twin.Pair{A: "left", B: "right"})
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range edges {
			p, err := twin.Borrow(g, tw, "left", e)
			if err != nil {
				t.Fatal(err)
			}
			g.Pieces[0] = p
		}
		if err := g.Validate(); err != nil {
			t.Fatal(err)
		}
		p := g.Pieces[0]
		if len(p.Knots) != len(truth.Knots) || len(p.Unsure) != 0 {
			t.Errorf("%v: %d knots and %d doubts, want %d and 0", edges, len(p.Knots), len(p.Unsure), len(truth.Knots))
		}
		if off := math.Abs(p.Knots.Area() - truth.Knots.Area()); off > 400 { // 0.2 mm along 2 m
			t.Errorf("%v: the area is %.0f mm2 off", edges, off)
		}
		for i, e := range p.Edges {
			if want := truth.Edges[i]; e.ID != want.ID || p.Knots[e.Knot].At.Dist(truth.Knots[want.Knot].At) > 0.6 {
				t.Errorf("%v: edge %d is %s at %v, want %s at %v", edges, i, e.ID, p.Knots[e.Knot].At, want.ID, truth.Knots[want.Knot].At)
			}
		}
	}
}

// The other piece of the pair may borrow, too, and a piece from its own other half.
func TestBorrowOtherWays(t *testing.T) {
	g := garment(mirrored(front("a"), "left", geometry.Rigid{Move: geometry.Point{X: 10}}), bitten(front("right")))
	tw, err := twin.Compare(g, twin.Pair{A: "left", B: "right"})
	if err != nil {
		t.Fatal(err)
	}
	p, err := twin.Borrow(g, tw, "right", "side")
	if err != nil {
		t.Fatal(err)
	}
	// Between the hem as it is worn and the armhole the side is that of the twin.
	if p.Knots[p.Edges[p.Edge("side")].Knot].At.Dist(geometry.Point{X: 260, Y: 10}) > 0.6 {
		t.Errorf("the side begins at %v", p.Knots[p.Edges[p.Edge("side")].Knot].At)
	}

	whole := pattern.Piece{ID: "w", Name: "w", UncertaintyMM: 0.5, Knots: geometry.Path{knot(0, 0), knot(400, 0), knot(460, 300), knot(330, 500), knot(70, 490), knot(-60, 300)}}
	whole.Edges = pattern.NewEdges(whole.Knots)
	g = garment(whole)
	if tw, err = twin.Compare(g, twin.Pair{A: "w", B: "w"}); err != nil {
		t.Fatal(err)
	}
	if p, err = twin.Borrow(g, tw, "w", whole.Edges[4].ID); err != nil { // the lower left shoulder
		t.Fatal(err)
	}
	if got := p.Knots[p.Edges[4].Knot].At; got.Dist(geometry.Point{X: 70, Y: 500}) > 2 {
		t.Errorf("the left shoulder ends at %v, want [70, 500] as on the right", got)
	}
}

func TestBorrowRefuses(t *testing.T) {
	round := pattern.Piece{ID: "o", Name: "o", Knots: geometry.Path{{At: geometry.Point{}}, {At: geometry.Point{X: 100}}, {At: geometry.Point{X: 50, Y: 100}}}}
	round.Edges = pattern.NewEdges(round.Knots)
	g := garment(front("a"), round)
	tw, err := twin.Compare(g, twin.Pair{A: "a", B: "o"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := twin.Borrow(g, tw, "o", round.Edges[0].ID); !errors.Is(err, twin.ErrNoCounterpart) {
		t.Errorf("an edge all round: %v", err)
	}
	if _, err := twin.Borrow(g, tw, "a", "hem"); !errors.Is(err, twin.ErrNoCounterpart) {
		t.Errorf("nothing there: %v", err)
	}
	if _, err := twin.Borrow(g, tw, "a", "tail"); !errors.Is(err, twin.ErrNoPiece) {
		t.Errorf("no such edge: %v", err)
	}
	if _, err := twin.Compare(g, twin.Pair{A: "a", B: "x"}); !errors.Is(err, twin.ErrNoPiece) {
		t.Errorf("no such piece: %v", err)
	}
}

// The alignment is as good as the noise allows: with normal noise of sd s on each of
// the knots the pose is off by less than s at the piece's ends, over many seeds.
func TestCompareNoisy(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 1))
	const sd = 0.4
	var sum float64
	const runs = 30
	for range runs {
		want := geometry.Rigid{Turn: 0.2 * rnd.NormFloat64(), Move: geometry.Point{X: 500}}
		shake := func(p pattern.Piece) pattern.Piece {
			p.Knots = p.Knots.Map(func(q geometry.Point) geometry.Point {
				return q.Add(geometry.Vec{X: sd * rnd.NormFloat64(), Y: sd * rnd.NormFloat64()})
			})
			return p
		}
		g := garment(shake(front("a")), shake(mirrored(front("a"), "b", want)))
		tw, err := twin.Compare(g, twin.Pair{A: "a", B: "b"})
		if err != nil {
			t.Fatal(err)
		}
		sum += math.Pow(far(tw.Pose, want), 2)
	}
	if rms := math.Sqrt(sum / runs); rms > 1.5*sd {
		t.Errorf("the pose is off by %.2f mm rms at its worst point, noise %.1f mm", rms, sd)
	}
}

// Of the demo garment front, back and pocket are the same left and right, the sleeve
// nearly; the bag lies on the fold. No two pieces are twins: the front's neck lies lower.
func TestProposeDemo(t *testing.T) {
	f, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := pattern.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	got := map[twin.Pair]bool{}
	for _, p := range twin.Propose(g) {
		got[p] = true
		if p.A != p.B {
			t.Errorf("%v are proposed", p)
		}
	}
	for id, want := range map[string]bool{"front": true, "back": true, "pocket": true, "oil-bag": false, "neck-facing": false} {
		if got[twin.Pair{A: id, B: id}] != want {
			t.Errorf("%s proposed: %v, want %v", id, got[twin.Pair{A: id, B: id}], want)
		}
	}
}

func TestProposePairs(t *testing.T) {
	g := garment(front("front-left"), mirrored(front("x"), "front-right", geometry.Rigid{}))
	sleeve := front("other")
	sleeve.Knots = sleeve.Knots.Map(func(q geometry.Point) geometry.Point { return geometry.Point{X: 1.1 * q.X, Y: 0.97 * q.Y} })
	g.Pieces = append(g.Pieces, sleeve)
	if got := twin.Propose(g); len(got) != 1 || got[0] != (twin.Pair{A: "front-left", B: "front-right"}) {
		t.Errorf("proposed %v", got)
	}
}

func BenchmarkCompare(b *testing.B) {
	g := garment(bitten(front("left")), mirrored(front("left"), "right", geometry.Rigid{Turn: 0.1}))
	for b.Loop() {
		if _, err := twin.Compare(g, twin.Pair{A: "left", B: "right"}); err != nil {
			b.Fatal(err)
		}
	}
}
