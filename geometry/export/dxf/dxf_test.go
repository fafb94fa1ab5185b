package dxf

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/interchange"

	"pgregory.net/rapid"
)

func pt(x, y float64) *geometry.Point { return &geometry.Point{X: x, Y: y} }

// smock is a pattern with one of everything.
func smock() interchange.Pattern {
	cut := geometry.Path{
		{At: *pt(0, 0), Corner: true},
		{At: *pt(200, 0), Corner: true, Out: pt(210, 40)},
		{At: *pt(240, 120), In: pt(238, 80), Out: pt(242, 160)},
		{At: *pt(200, 300), In: pt(230, 250), Corner: true},
		{At: *pt(0, 300), Corner: true},
	}
	hole := geometry.Path{{At: *pt(50, 50), Corner: true}, {At: *pt(50, 90), Corner: true}, {At: *pt(80, 50), Corner: true}}
	return interchange.Pattern{Name: "Lamplighter's smock", Size: "M", Pieces: []interchange.Piece{
		{
			Name: "Ärmel groß", Quantity: 2, Mirrored: 1, Material: "calico", Cut: cut, CutOuts: []geometry.Path{hole},
			Sew:     geometry.Path{{At: *pt(10, 10), Corner: true}, {At: *pt(190, 10), Corner: true}, {At: *pt(190, 290), Corner: true}, {At: *pt(10, 290), Corner: true}},
			Lines:   []interchange.Line{{Kind: interchange.LineInternal, Points: []geometry.Point{*pt(20, 20), *pt(60, 22), *pt(90, 30)}}, {Kind: interchange.LineMirror, Points: []geometry.Point{*pt(0, 0), *pt(0, 300)}}},
			Grain:   &[2]geometry.Point{*pt(100, 50), *pt(100, 250)},
			Notches: []interchange.Notch{{At: *pt(100, 0), Turn: math.Pi / 2, DepthMM: 5}, {At: *pt(0, 150), DepthMM: 4, Shape: interchange.NotchT}},
			Drills:  []geometry.Point{*pt(120, 130)},
			Notes:   []interchange.Note{{At: *pt(60, 140), Text: "cut 2 mirrored (1 pair)"}},
		},
		{Name: "armel gross", Cut: geometry.Path{{At: *pt(0, 0), Corner: true}, {At: *pt(90, 0), Corner: true}, {At: *pt(0, 70), Corner: true}}},
	}}
}

func astm(t testing.TB, p interchange.Pattern) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, p); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWhatIsWrittenIsReadAgain(t *testing.T) {
	want := smock()
	got, err := Read(bytes.NewReader(astm(t, want)))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Skipped) > 0 {
		t.Errorf("skipped %v", got.Skipped)
	}
	// What 7 bits cannot hold is the one thing that is lost.
	want.Pieces[0].Name = "Armel gross"
	if got.Name != want.Name || got.Size != want.Size || len(got.Pieces) != 2 {
		t.Fatalf("got %q, size %q, %d pieces", got.Name, got.Size, len(got.Pieces))
	}
	for i, w := range want.Pieces {
		samePiece(t, got.Pieces[i], w)
	}
}

func samePiece(t *testing.T, got, want interchange.Piece) {
	t.Helper()
	if got.Name != want.Name || got.Quantity != want.Quantity || got.Mirrored != want.Mirrored || got.Material != want.Material || fmt.Sprint(got.Notes) != fmt.Sprint(want.Notes) {
		t.Errorf("got %q, %d times of %q, notes %v", got.Name, got.Quantity, got.Material, got.Notes)
	}
	samePath(t, got.Cut, want.Cut)
	samePath(t, got.Sew, want.Sew)
	if len(got.CutOuts) != len(want.CutOuts) || len(got.Notches) != len(want.Notches) || len(got.Lines) != len(want.Lines) || len(got.Drills) != len(want.Drills) {
		t.Fatalf("%s: something is lost: %+v", want.Name, got)
	}
	for i := range want.CutOuts {
		samePath(t, got.CutOuts[i], want.CutOuts[i])
	}
	for i, n := range want.Notches {
		g := got.Notches[i]
		if g.At.Dist(n.At) > 1e-4 || math.Abs(g.Turn-n.Turn) > 1e-5 || math.Abs(g.DepthMM-n.DepthMM) > 1e-4 || g.Shape != n.Shape {
			t.Errorf("notch %+v, want %+v", g, n)
		}
	}
	if fmt.Sprint(got.Lines, got.Drills, got.Grain == nil) != fmt.Sprint(want.Lines, want.Drills, want.Grain == nil) {
		t.Errorf("lines %v %v, want %v %v", got.Lines, got.Drills, want.Lines, want.Drills)
	}
	if want.Grain != nil && *got.Grain != *want.Grain {
		t.Errorf("grain %v, want %v", *got.Grain, *want.Grain)
	}
}

// samePath holds that two paths have the same knots, corners and, within a hundredth
// of a millimetre, handles.
func samePath(t testing.TB, got, want geometry.Path) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d knots, want %d", len(got), len(want))
	}
	for i, w := range want.Segments() {
		g := got.Segment(i)
		if g.A.Dist(w.A) > 1e-4 || got[i].Corner != want[i].Corner || g.Curved != w.Curved || w.Curved && (g.B.Dist(w.B) > 0.01 || g.C.Dist(w.C) > 0.01) {
			t.Errorf("segment %d: %+v, corner %v; want %+v, %v", i, g, got[i].Corner, w, want[i].Corner)
		}
	}
}

// Layers and texts are 7-bit, and layer 12 is never written: it is blank in ASTM D6673
// and a cutter's instruction in its predecessor.
func TestSevenBitsAndNoLayerTwelve(t *testing.T) {
	file := astm(t, smock())
	for i, c := range file {
		if c > 0x7e || c < ' ' && c != '\n' {
			t.Fatalf("byte %d is %#x", i, c)
		}
	}
	if bytes.Contains(file, []byte("  8\n12\n")) {
		t.Error("something lies on layer 12")
	}
	if !bytes.Equal(astm(t, smock()), astm(t, smock())) {
		t.Error("the same pattern gives other bytes")
	}
}

// ezdxf is a DXF library of others; it reads a file and says what is in it.
const readWithEzdxf = `
import sys, json, math, ezdxf
doc = ezdxf.readfile(sys.argv[1])
audit = doc.audit()
def length(p):
    v = [x.dxf.location for x in p.vertices]
    if p.is_closed: v.append(v[0])
    return sum(a.distance(b) for a, b in zip(v, v[1:]))
def what(es):
    return [[e.dxftype(), e.dxf.layer, length(e) if e.dxftype()=="POLYLINE" else 0, e.dxf.text if e.dxftype()=="TEXT" else ""] for e in es]
blocks = {b.name: what(b) for b in doc.blocks if not b.name.startswith(("*", "$"))}
print(json.dumps({"version": doc.dxfversion, "errors": [e.message for e in audit.errors], "blocks": blocks, "model": what(doc.modelspace())}))
`

type seen struct {
	Version string
	Errors  []string
	Blocks  map[string][][4]any
	Model   [][4]any
}

func ezdxf(t *testing.T, file []byte) (s seen) {
	t.Helper()
	const python = "/usr/bin/python3"
	if err := exec.Command(python, "-c", "import ezdxf").Run(); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("ezdxf is missing: install python3-ezdxf")
		}
		t.Skip("ezdxf is missing: install python3-ezdxf")
	}
	name := filepath.Join(t.TempDir(), "out.dxf")
	if err := os.WriteFile(name, file, 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", readWithEzdxf, name)
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("ezdxf: %v: %s", err, complaints.String())
	}
	if err := json.Unmarshal(out, &s); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	return s
}

func TestEzdxfReadsIt(t *testing.T) {
	p := smock()
	s := ezdxf(t, astm(t, p))
	if s.Version != "AC1009" || len(s.Errors) > 0 || len(s.Blocks) != 2 {
		t.Fatalf("release %s, errors %v, %d blocks", s.Version, s.Errors, len(s.Blocks))
	}
	block := s.Blocks["ARMEL_GROSS"]
	if block == nil || s.Blocks["ARMEL_GROSS_2"] == nil {
		t.Fatalf("blocks %v", s.Blocks)
	}
	count := map[string]int{}
	for _, e := range block {
		count[fmt.Sprint(e[0], " ", e[1])]++
	}
	// Layers of ASTM D6673 as its table has them.
	for what, n := range map[string]int{
		"POLYLINE 1": 1, "TEXT 1": 4, "POINT 2": 11, "POINT 3": 1, "POINT 4": 1, "LINE 6": 1, "LINE 7": 1, "POLYLINE 8": 1,
		"POLYLINE 11": 1, "POINT 13": 1, "POLYLINE 14": 1, "TEXT 15": 1, "POINT 80": 1,
	} {
		if count[what] != n {
			t.Errorf("%s: %d, want %d", what, count[what], n)
		}
	}
	trueLength(t, block, "1", p.Pieces[0].Cut)
	trueLength(t, block, "14", p.Pieces[0].Sew)
}

// trueLength holds that the first polyline on a layer is as long as its path within
// 0.01 mm.
func trueLength(t *testing.T, all [][4]any, layer string, p geometry.Path) {
	t.Helper()
	for _, e := range all {
		if e[0] == "POLYLINE" && e[1] == layer {
			if got, want := e[2].(float64), p.Length(); math.Abs(got-want) > 0.01 {
				t.Errorf("layer %s: %.4f mm, want %.4f", layer, got, want)
			}
			return
		}
	}
	t.Errorf("no line on layer %s", layer)
}

// A drawing with layers in words: a square with a hole, a grain line in it, and a line on
// a layer that means nothing here.
func TestDrawingInWords(t *testing.T) {
	ring := func(layer, points string) string { return "0\nLWPOLYLINE\n8\n" + layer + "\n70\n1\n" + points }
	line := "10\n40\n20\n10\n11\n40\n21\n90\n"
	file := "0\nSECTION\n2\nENTITIES\n" +
		ring("CUT-LINE", "10\n0\n20\n0\n10\n100\n20\n0\n10\n100\n20\n100\n10\n0\n20\n100\n") +
		ring("CUT-LINE", "10\n50\n20\n50\n10\n60\n20\n50\n10\n60\n20\n60\n10\n50\n20\n60\n") +
		"0\nLINE\n8\nGRAIN-LINE\n" + line + "0\nLINE\n8\nFRAME\n" + line + "0\nCIRCLE\n8\nCUT-LINE\n10\n5\n20\n5\n40\n2\n0\nENDSEC\n0\nEOF\n"
	p, err := Read(strings.NewReader(file))
	if err != nil || len(p.Pieces) != 1 {
		t.Fatalf("%d pieces, %v", len(p.Pieces), err)
	}
	q := p.Pieces[0]
	if q.Cut.Area() != 1e4 || len(q.Cut.Corners()) != 4 || len(q.CutOuts) != 1 || q.CutOuts[0].Area() != -100 || q.Grain == nil {
		t.Errorf("got %+v", q)
	}
	if p.Skipped["LINE"] != 1 || p.Skipped["CIRCLE"] != 1 {
		t.Errorf("skipped %v", p.Skipped)
	}
}

// drawing is a file of one closed line on a layer CUT, as other programs write it.
func drawing(header, points string) string {
	return "0\nSECTION\n2\nHEADER\n" + header + "0\nENDSEC\n0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n8\nCut\n70\n1\n" + points + "0\nENDSEC\n0\nEOF\n"
}

func TestUnitsAndArcs(t *testing.T) {
	square := "10\n0\n20\n0\n10\n10\n20\n0\n10\n10\n20\n10\n10\n0\n20\n10\n"
	// Two half circles: a bulge of 1 is the tangent of a quarter of 180 degrees.
	circle := "10\n0\n20\n0\n42\n1\n10\n200\n20\n0\n42\n1\n"
	for _, c := range []struct {
		name, file string
		area       float64
	}{
		{"no unit is mm", drawing("", square), 100},
		{"inch", drawing("9\n$INSUNITS\n70\n1\n", square), 254 * 254},
		{"centimetre", drawing("9\n$INSUNITS\n70\n5\n", square), 100 * 100},
		{"circle", drawing("", circle), math.Pi * 100 * 100},
	} {
		p, err := Read(strings.NewReader(c.file))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := p.Pieces[0].Cut.Area(); math.Abs(got-c.area) > 1e-3*c.area {
			t.Errorf("%s: area %.2f, want %.2f", c.name, got, c.area)
		}
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]error{
		"": ErrNotDXF, "hello": ErrNotDXF, "0\nSECTION\n": ErrNotDXF, "0\nEOF\n": ErrNoPiece,
		drawing("", "10\n0\n20\n0\n"): ErrNoPiece,
	} {
		if _, err := Read(strings.NewReader(text)); !errors.Is(err, want) {
			t.Errorf("%.20q: %v, want %v", text, err, want)
		}
	}
	nan := smock()
	nan.Pieces[0].Drills[0].X = math.NaN()
	for _, p := range []interchange.Pattern{{}, {Pieces: []interchange.Piece{{Name: "empty"}}}, nan} {
		if err := Write(&bytes.Buffer{}, p); err == nil {
			t.Errorf("%+v was written", p)
		}
	}
}

// Any outline of lines and curves comes back as it was.
func TestRandomOutlinesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 9).Draw(t, "knots")
		p := make(geometry.Path, n)
		polar := func(r, at float64) geometry.Point {
			return geometry.Point{X: 500 + r*math.Cos(at), Y: 400 + r*math.Sin(at)}
		}
		step := 2 * math.Pi / float64(n)
		for i := range p {
			p[i] = geometry.Knot{At: polar(rapid.Float64Range(100, 300).Draw(t, "r"), step*float64(i)), Corner: rapid.Bool().Draw(t, "corner")}
		}
		for i := range p {
			if rapid.Bool().Draw(t, "curved") {
				b := polar(rapid.Float64Range(100, 300).Draw(t, "out"), step*(float64(i)+0.3))
				c := polar(rapid.Float64Range(100, 300).Draw(t, "in"), step*(float64(i)+0.7))
				p[i].Out, p[(i+1)%n].In = &b, &c
			}
		}
		if p.Area() < 1 {
			t.Skip("no outline")
		}
		var b bytes.Buffer
		if err := Write(&b, interchange.Pattern{Pieces: []interchange.Piece{{Name: "x", Cut: p}}}); err != nil {
			t.Fatal(err)
		}
		got, err := Read(&b)
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range p.Segments() {
			g := got.Pieces[0].Cut.Segment(i)
			if len(got.Pieces[0].Cut) != n || g.Curved != s.Curved || g.A.Dist(s.A) > 1e-4 || g.B.Dist(s.B) > 0.01 && s.Curved || g.C.Dist(s.C) > 0.01 && s.Curved {
				t.Fatalf("segment %d: %+v, want %+v", i, g, s)
			}
		}
	})
}

// Whatever is read can be written, and nothing breaks the reader down.
func FuzzRead(f *testing.F) {
	f.Add(astm(f, smock()))
	f.Add([]byte(drawing("9\n$INSUNITS\n70\n1\n", "10\n0\n20\n0\n42\n1\n10\n200\n20\n0\n42\n1\n")))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := Read(bytes.NewReader(data))
		if err != nil {
			return
		}
		if err := Write(&bytes.Buffer{}, p); err != nil {
			t.Fatal(err)
		}
	})
}
