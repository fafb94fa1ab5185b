package interchange_test

import (
	"bytes"
	"math"
	"os"
	"slices"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/dxf"
	"secondcut/geometry/interchange"
	"secondcut/geometry/pattern"
)

// smock is the demo garment and its drafts.
func smock(t *testing.T) (pattern.Garment, []pattern.Drafted) {
	t.Helper()
	f, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := pattern.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return g, drafts
}

// exchanged writes a pattern and takes it in again.
func exchanged(t *testing.T, p interchange.Pattern) (pattern.Garment, []pattern.Drafted, []geometry.Finding) {
	t.Helper()
	var b bytes.Buffer
	if err := dxf.Write(&b, p); err != nil {
		t.Fatal(err)
	}
	read, err := dxf.Read(&b)
	if err != nil {
		t.Fatal(err)
	}
	g, findings, err := interchange.Garment("", read)
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Validate(); err != nil {
		t.Fatal(err)
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return g, drafts, findings
}

// The demo garment goes out, is taken in as a garment, and goes out again: the second
// file holds what the first held, where it was.
func TestSmockTwice(t *testing.T) {
	g, drafts := smock(t)
	want := interchange.FromDrafts(g, drafts)
	again, redrawn, findings := exchanged(t, want)
	got := interchange.FromDrafts(again, redrawn)
	for _, f := range findings {
		t.Log(f.Message)
	}
	if again.Name != g.Name || len(got.Pieces) != len(want.Pieces) {
		t.Fatalf("%q, %d pieces", again.Name, len(got.Pieces))
	}
	notches := 0
	for i, w := range want.Pieces {
		p, _ := again.Piece(redrawn[i].ID)
		home := p.PlaneToPiece.Inverse().Apply
		q := got.Pieces[i]
		known := 0
		for _, e := range p.Edges {
			if e.OldAllowance != nil {
				known++
			}
		}
		if known == 0 && p.Name != "Neck facing" {
			t.Errorf("%s: the old allowance of %d edges is known", p.Name, known)
		}
		if q.Quantity != w.Quantity || q.Mirrored != w.Mirrored || q.Material != w.Material {
			t.Errorf("%s: %d %d %q, want %d %d %q", w.Name, q.Quantity, q.Mirrored, q.Material, w.Quantity, w.Mirrored, w.Material)
		}
		if off := math.Abs(q.Cut.Length() - w.Cut.Length()); off > 0.01 {
			t.Errorf("%s: the cut line is %.4f mm off", w.Name, off)
		}
		if q.Grain == nil || w.Grain != nil && home(q.Grain[0]).Dist(w.Grain[0]) > 0.01 {
			t.Errorf("%s: grain %v, want %v", w.Name, q.Grain, w.Grain)
		}
		if len(q.Drills) != len(w.Drills) || len(q.Notches)+len(q.Lines) != len(w.Notches)+len(w.Lines) {
			t.Errorf("%s: %d drill holes and %d notches, want %d and %d", w.Name, len(q.Drills), len(q.Notches), len(w.Drills), len(w.Notches))
		}
		for _, n := range w.Notches {
			notches++
			near := math.Inf(1)
			for _, o := range q.Notches {
				near = math.Min(near, home(o.At).Dist(n.At))
			}
			for _, l := range q.Lines { // where none can be hung
				near = math.Min(near, home(l.Points[0]).Dist(n.At))
			}
			// The old allowance is written to a hundredth of a millimetre, and a stitch line that
			// is moved out and in again turns by as little.
			if near > 0.1 {
				t.Errorf("%s: the notch at %v comes back %.3f mm off", w.Name, n.At, near)
			}
		}
		// Where the allowance is not known, a draft shows a notch as a short line outside; the
		// garment knows how deep it is.
		if got, want := marked(p), depths(w.Notches); !slices.EqualFunc(got, want, func(a, b float64) bool { return math.Abs(a-b) < 1e-3 }) {
			t.Errorf("%s: depths %v, want %v", w.Name, got, want)
		}
	}
	if notches == 0 {
		t.Error("the demo garment has no notch: this test checked none")
	}
}

// marked returns how deep the notches of a piece are, double ones twice.
func marked(p pattern.Piece) (out []float64) {
	for _, m := range p.Marks {
		if m.Kind == pattern.MarkLine && m.Text == "notch" {
			out = append(out, m.Points[0].Dist(m.Points[1]))
		}
		if m.Kind == pattern.MarkNotch {
			out = append(out, slices.Repeat([]float64{m.DepthMM}, max(m.Count, 1))...)
		}
	}
	slices.Sort(out)
	return out
}

func depths(all []interchange.Notch) (out []float64) {
	for _, n := range all {
		out = append(out, n.DepthMM)
	}
	slices.Sort(out)
	return out
}

// square is a piece of 200 mm with a sewing line at 10 mm, at 15 mm along the top.
func square(marks ...interchange.Notch) interchange.Piece {
	ring := func(x0, y0, x1, y1 float64) geometry.Path {
		return geometry.Path{{At: at(x0, y0), Corner: true}, {At: at(x1, y0), Corner: true}, {At: at(x1, y1), Corner: true}, {At: at(x0, y1), Corner: true}}
	}
	return interchange.Piece{Name: "square", Cut: ring(0, 0, 200, 200), Sew: ring(10, 10, 190, 185), Notches: marks}
}

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func TestAllowancesAndNotches(t *testing.T) {
	q := square(
		interchange.Notch{At: at(100, 0), Turn: math.Pi / 2, DepthMM: 5},
		interchange.Notch{At: at(200, 60), Turn: math.Pi, DepthMM: 5, Shape: interchange.NotchT},
		interchange.Notch{At: at(200, 65), Turn: math.Pi, DepthMM: 5, Shape: interchange.NotchT},
		interchange.Notch{At: at(0, 100), Turn: math.Pi, DepthMM: 4},
		interchange.Notch{At: at(80, 80), DepthMM: 4},
	)
	g, findings, err := interchange.Garment("x", interchange.Pattern{Pieces: []interchange.Piece{q}})
	if err != nil {
		t.Fatal(err)
	}
	p := g.Pieces[0]
	for k, want := range []float64{10, 10, 15, 10} { // bottom, right, top, left
		if o := p.Edges[k].OldAllowance; o == nil || o.Is != pattern.OldLength || math.Abs(o.MM-want) > 0.01 {
			t.Errorf("%s: %+v, want %g mm", p.Edges[k].Name, o, want)
		}
	}
	if len(p.Marks) != 4 {
		t.Fatalf("marks %+v", p.Marks)
	}
	// Along stitch lines: from 10 to 190 below, from 10 to 185 on the right, from 185 down on the left.
	lost, bottom, right, left := p.Marks[0], p.Marks[1], p.Marks[2], p.Marks[3]
	if lost.Kind != pattern.MarkLine || lost.Text != "notch" {
		t.Errorf("the notch inside became %+v", lost)
	}
	if bottom.Edge != p.Edges[0].ID || math.Abs(bottom.At-0.5) > 1e-6 || bottom.Outward || bottom.DepthMM != 5 {
		t.Errorf("bottom %+v", bottom)
	}
	if right.Edge != p.Edges[1].ID || right.Count != 2 || right.Shape != pattern.NotchT || math.Abs(right.At-52.5/175) > 1e-6 {
		t.Errorf("right %+v", right)
	}
	if left.Edge != p.Edges[3].ID || !left.Outward || math.Abs(left.At-85.0/175) > 1e-6 {
		t.Errorf("left %+v", left)
	}
	if len(findings) != 2 { // no grain line, and the notch inside
		t.Errorf("findings %+v", findings)
	}
}

// An uneven sewing line is no allowance, and that is said.
func TestUnevenAllowance(t *testing.T) {
	q := square()
	q.Sew[0].At.Y = 30
	g, findings, err := interchange.Garment("x", interchange.Pattern{Pieces: []interchange.Piece{q}})
	if err != nil {
		t.Fatal(err)
	}
	if o := g.Pieces[0].Edges[0].OldAllowance; o != nil {
		t.Errorf("bottom %+v", o)
	}
	said := false
	for _, f := range findings {
		said = said || f.Code == interchange.CodeAllowance
	}
	if !said {
		t.Errorf("findings %+v", findings)
	}
}

// A half that is mirrored about its left edge comes as one on the fold.
func TestMirroredHalf(t *testing.T) {
	q := square()
	q.Lines = []interchange.Line{{Kind: interchange.LineMirror, Points: []geometry.Point{at(0, 10), at(0, 185)}}}
	g, _, err := interchange.Garment("x", interchange.Pattern{Pieces: []interchange.Piece{q}})
	if err != nil {
		t.Fatal(err)
	}
	if p := g.Pieces[0]; !p.OnFold() || p.Edges[3].Finish == nil || p.Edges[3].Finish.Kind != pattern.FinishFold || len(p.Marks) != 0 {
		t.Errorf("got %+v, marks %+v", p.Edges[3], p.Marks)
	}
}
