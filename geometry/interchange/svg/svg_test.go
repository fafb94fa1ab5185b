package svg

import (
	"bytes"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/interchange"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"

	"github.com/peterstace/simplefeatures/geom"
)

// drawing is a drawing of 200 x 300 mm, one unit a millimetre.
func drawing(body string) string {
	return `<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">` + body + `</svg>`
}

func mustRead(t testing.TB, text string, opt Options) interchange.Pattern {
	t.Helper()
	p, err := Read(strings.NewReader(text), opt)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Every command of path data, absolute and relative, draws what arithmetic says.
func TestPathCommands(t *testing.T) {
	const r = 50.0
	for name, c := range map[string]struct {
		d            string
		area, length float64
	}{
		"lines":               {"M10 10 L110 10 110 60 10 60Z", 5000, 300},
		"relative lines":      {"m10,10 100,0 0,50-100,0z", 5000, 300},
		"H and V":             {"M10 10H110V60H10Z", 5000, 300},
		"h and v":             {"M10 10h100v50h-100z", 5000, 300},
		"after a close":       {"M10 10h1z m0 0 h100v50h-100z", 5000, 300},
		"numbers run on":      {"M10 10h1e2v.5e2h-100z", 5000, 300},
		"two half circles":    {"M10 60A50 50 0 0 1 110 60A50 50 0 0 1 10 60Z", math.Pi * r * r, 2 * math.Pi * r},
		"a large arc":         {"M60 60L60 10A50 50 0 1 1 10 60Z", 0.75 * math.Pi * r * r, 1.5*math.Pi*r + 2*r},
		"flags without space": {"M60 60L60 10A50 50 0 1110 60Z", 0.75 * math.Pi * r * r, 1.5*math.Pi*r + 2*r},
		"a relative arc":      {"m10 60a50 50 0 01100 0a50 50 0 01-100 0z", math.Pi * r * r, 2 * math.Pi * r},
		// Radii that are too small are made larger (SVG 2, B.2.5).
		"an arc too small":   {"M10 60A5 5 0 0 1 110 60A50 50 0 0 1 10 60Z", math.Pi * r * r, 2 * math.Pi * r},
		"a turned ellipse":   {"M10 60A50 25 0 0 1 110 60A50 25 180 0 1 10 60Z", math.Pi * r * 25, 0},
		"arc without radius": {"M10 10h100A0 5 0 0 1 110 60h-100z", 5000, 300},
		// A parabola and its chord enclose two thirds of the triangle's double (Archimedes).
		"quadratic":      {"M10 10Q60 110 110 10Z", 2.0 / 3 * 100 * 50, 0},
		"smooth Q":       {"M10 60Q35 110 60 60T110 60V10H10Z", 5000, 0},
		"relative q, t":  {"m10 60q25 50 50 0t50 0v-50h-100z", 5000, 0},
		"T without Q":    {"M10 10T110 10V60H10Z", 5000, 300},
		"S without C":    {"M10 10S110 10 110 10V60H10Z", 5000, 300},
		"smooth C":       {"M10 60C20 90 50 90 60 60S100 30 110 60V10H10Z", 5000, 0},
		"relative c, s":  {"m10 60c10 30 40 30 50 0s40-30 50 0v-50h-100z", 5000, 0},
		"exact cubic G1": {"M0 0C100 0 200 100 200 300Z", 18000, 400 + math.Hypot(200, 300)}, // by 25-digit arithmetic
	} {
		p := mustRead(t, drawing(`<path d="`+c.d+`"/>`), Options{})
		cut := p.Pieces[0].Cut
		if a := cut.Area(); math.Abs(a-c.area) > 1e-4*c.area {
			t.Errorf("%s: area %.4f, want %.4f", name, a, c.area)
		}
		if l := cut.Length(); c.length > 0 && math.Abs(l-c.length) > 1e-4*c.length {
			t.Errorf("%s: length %.4f, want %.4f", name, l, c.length)
		}
	}
}

// Shapes and transforms, by their areas and places.
func TestShapesAndTransforms(t *testing.T) {
	for name, c := range map[string]struct {
		body string
		area float64
		lo   geometry.Point
	}{
		"rect":           {`<rect x="10" y="20" width="100" height="50"/>`, 5000, at(10, -70)},
		"round rect":     {`<rect x="10" y="20" width="100" height="50" rx="10"/>`, 5000 - (4-math.Pi)*100, at(10, -70)},
		"circle":         {`<circle cx="60" cy="60" r="50"/>`, math.Pi * 2500, at(10, -110)},
		"ellipse":        {`<ellipse cx="60" cy="60" rx="50" ry="20"/>`, math.Pi * 1000, at(10, -80)},
		"polygon":        {`<polygon points="10,20 110,20 110,70 10,70"/>`, 5000, at(10, -70)},
		"translate":      {`<g transform="translate(5 6)"><rect x="5" y="14" width="100" height="50"/></g>`, 5000, at(10, -70)},
		"scale":          {`<rect transform="scale(2,.5)" x="10" y="20" width="100" height="50"/>`, 5000, at(20, -35)},
		"rotate about":   {`<rect transform="rotate(90 60 45)" x="10" y="20" width="100" height="50"/>`, 5000, at(35, -95)},
		"matrix":         {`<rect transform="matrix(0 1 -1 0 0 0)" x="10" y="20" width="100" height="50"/>`, 5000, at(-70, -110)},
		"skewX":          {`<rect transform="skewX(45)" x="0" y="0" width="100" height="50"/>`, 5000, at(0, -50)},
		"nested":         {`<g transform="scale(2)"><g transform="translate(10)"><rect width="10" height="10"/></g></g>`, 400, at(20, -20)},
		"length in inch": {`<rect width="1in" height="96"/>`, 96 * 96, at(0, -96)}, // user units are px
		"hidden beside":  {`<rect width="150" height="150" display="none"/><rect style="display:none" width="150" height="150"/><rect width="10" height="10"/>`, 100, at(0, -10)},
		"in a style":     {`<path style="fill-rule:evenodd" d="M0 0H100V100H0ZM10 10H20V20H10Z"/>`, 1e4, at(0, -100)},
	} {
		p := mustRead(t, drawing(c.body), Options{})
		q := p.Pieces[0]
		// The top of the page is at y = 0: the viewBox begins there.
		if lo, _ := q.Bounds(); len(p.Pieces) != 1 || math.Abs(q.Cut.Area()-c.area) > 1e-4*c.area || lo.Dist(c.lo) > 0.01 {
			t.Errorf("%s: %d pieces, area %.3f at %v; want %.3f at %v", name, len(p.Pieces), q.Cut.Area(), lo, c.area, c.lo)
		}
	}
}

func at(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

// Units of CSS, with and without a viewBox.
func TestUnits(t *testing.T) {
	for name, c := range map[string]struct {
		root string
		want float64 // mm of 10 units
	}{
		"mm":              {`width="200mm" height="100mm" viewBox="0 0 200 100"`, 10},
		"cm":              {`width="20cm" height="10cm" viewBox="0 0 20 10"`, 100},
		"in":              {`width="2in" height="1in" viewBox="0 0 2 1"`, 254},
		"px":              {`width="96px" height="96px" viewBox="0 0 96 96"`, 254.0 / 96},
		"mm without box":  {`width="200mm" height="100mm"`, 254.0 / 96},
		"width alone":     {`width="200mm" viewBox="0 0 400 100"`, 5},
		"the narrow side": {`width="200mm" height="50mm" viewBox="0 0 200 100"`, 5}, // meet
		"slice":           {`width="200mm" height="50mm" viewBox="0 0 200 100" preserveAspectRatio="xMidYMid slice"`, 10},
	} {
		p := mustRead(t, `<svg `+c.root+`><rect width="10" height="10"/></svg>`, Options{})
		if got := math.Sqrt(p.Pieces[0].Cut.Area()); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s: 10 units are %.4f mm, want %.4f", name, got, c.want)
		}
	}
	for _, root := range []string{``, `viewBox="0 0 10 10"`, `width="200" height="100"`, `width="100%"`} {
		text := `<svg ` + root + `><rect width="10" height="20"/></svg>`
		if _, err := Read(strings.NewReader(text), Options{}); !errors.Is(err, ErrNoUnit) {
			t.Errorf("%q: %v", root, err)
		}
		if p := mustRead(t, text, Options{TallMM: 640}); math.Abs(p.Pieces[0].Cut.Area()-640*320) > 1e-3 {
			t.Errorf("%q: %.1f mm²", root, p.Pieces[0].Cut.Area())
		}
	}
}

// Holes follow the fill rule; what lies inside and is drawn apart is a line.
func TestHolesAndNames(t *testing.T) {
	p := mustRead(t, drawing(`<title>Smock</title>
		<path id="path12" fill-rule="evenodd" d="M0 0H100V100H0ZM10 10H20V20H10Z"><title>Front &amp; yoke</title></path>
		<path id="back_left" d="M0 120H100V220H0ZM10 130V140H20V130ZM30 130H40V140H30Z"/>
		<g id="Collar"><path d="M120 0H180V60H120Z"/><path d="M130 10H140V20H130Z"/></g>`), Options{})
	if len(p.Pieces) != 3 || p.Name != "Smock" {
		t.Fatalf("%q: %d pieces", p.Name, len(p.Pieces))
	}
	for i, w := range []struct {
		name         string
		holes, lines int
	}{{"Front & yoke", 1, 0}, {"back left", 1, 1}, {"Collar", 0, 1}} {
		q := p.Pieces[i]
		if q.Name != w.name || len(q.CutOuts) != w.holes || len(q.Lines) != w.lines {
			t.Errorf("%q: %d holes, %d lines; want %+v", q.Name, len(q.CutOuts), len(q.Lines), w)
		}
	}
}

// Lines whose ends meet are joined; what stays open is said.
func TestOpenPaths(t *testing.T) {
	p := mustRead(t, drawing(`<g id="cut"><path d="M0 0H100V100"/><path d="M0 0V100H100"/><path d="M110 0H150V50"/></g>`), Options{})
	if len(p.Pieces) != 1 || math.Abs(p.Pieces[0].Cut.Area()-1e4) > 1e-6 || len(p.Findings) != 1 {
		t.Fatalf("%d pieces, findings %+v", len(p.Pieces), p.Findings)
	}
	if !strings.Contains(p.Findings[0].Message, "64.0 mm apart") { // hypot(40, 50)
		t.Errorf("%s", p.Findings[0].Message)
	}
	if _, err := Read(strings.NewReader(drawing(`<path d="M110 0H150V50"/>`)), Options{}); !errors.Is(err, ErrNoPiece) {
		t.Errorf("an open path alone: %v", err)
	}
}

func TestRefusals(t *testing.T) {
	for text, want := range map[string]error{
		"": ErrNotSVG, "hello": ErrNotSVG, "<html/>": ErrNotSVG, drawing(""): ErrNoPiece, "<svg><path": ErrNotSVG,
		drawing(`<defs><rect width="10" height="10"/></defs>`):            ErrNoPiece,
		drawing(strings.Repeat("<g>", 300) + strings.Repeat("</g>", 300)): ErrNotSVG,
	} {
		if _, err := Read(strings.NewReader(text), Options{}); !errors.Is(err, want) {
			t.Errorf("%.30q: %v, want %v", text, err, want)
		}
	}
	p := mustRead(t, drawing(`<rect width="10" height="10"/><path id="bad" d="M0 0H5V5H0Z L x"/>`), Options{})
	if len(p.Findings) != 1 || !strings.Contains(p.Findings[0].Message, `"bad"`) {
		t.Errorf("findings %+v", p.Findings)
	}
}

// The demo garment's SVG comes back: as many pieces, cut lines as long, areas as another
// geometry library has them, holes, stitch lines, grain, notches, drill holes and names.
func TestOurOwnDrawingComesBack(t *testing.T) {
	f, err := os.Open("../../../testdata/garments/lamplighter-smock.json")
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
	var b bytes.Buffer
	if err := sheet.SVG(&b, g.Name, sheet.Drafts(g, drafts), sheet.Options{}); err != nil {
		t.Fatal(err)
	}
	p, err := Read(&b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := interchange.FromDrafts(g, drafts)
	if p.Name != g.Name || len(p.Pieces) != len(want.Pieces) || len(p.Skipped) > 0 || len(p.Findings) > 0 {
		t.Fatalf("%q: %d pieces, skipped %v, findings %v", p.Name, len(p.Pieces), p.Skipped, p.Findings)
	}
	for i, w := range want.Pieces {
		q := p.Pieces[i]
		if q.Name != w.Name || math.Abs(q.Cut.Length()-w.Cut.Length()) > 0.01 || len(q.CutOuts) != len(w.CutOuts) {
			t.Errorf("%s (%s): %.3f mm round, want %.3f; %d holes", q.Name, w.Name, q.Cut.Length(), w.Cut.Length(), len(q.CutOuts))
		}
		if a, b := area(t, q.Cut), area(t, w.Cut); math.Abs(a-b) > 1e-4*b {
			t.Errorf("%s: area %.2f, want %.2f", w.Name, a, b)
		}
		if len(q.Notches) != len(w.Notches) || len(q.Drills) != len(w.Drills) || q.Grain == nil {
			t.Errorf("%s: %d notches of %d, %d drill holes of %d, grain %v", w.Name, len(q.Notches), len(w.Notches), len(q.Drills), len(w.Drills), q.Grain)
		}
	}
	if _, findings, err := interchange.Garment("", p); err != nil {
		t.Fatal(err)
	} else {
		for _, f := range findings {
			t.Log(f.Message)
		}
	}
}

// area returns the area that github.com/peterstace/simplefeatures finds.
func area(t *testing.T, p geometry.Path) float64 {
	t.Helper()
	var flat []float64
	ring := p.Flatten(0.005)
	for _, q := range append(ring, ring[0]) {
		flat = append(flat, q.X, q.Y)
	}
	poly := geom.NewPolygon([]geom.LineString{geom.NewLineString(geom.NewSequence(flat, geom.DimXY))})
	if err := poly.Validate(); err != nil {
		t.Error(err)
	}
	return poly.Area()
}

// Nothing breaks the reader down, and what it reads can be a garment or says why not.
func FuzzRead(f *testing.F) {
	f.Add(drawing(`<path transform="rotate(30)" d="M10 60A50 50 0 0 1 110 60S5 5 10 60Z"/><text x="3" y="4">a</text>`))
	f.Add(drawing(`<g id="cut"><path d="M0 0H100V100"/><path d="M0 0V100H100"/></g><rect rx="3" width="9" height="9"/>`))
	f.Fuzz(func(t *testing.T, text string) {
		p, err := Read(strings.NewReader(text), Options{})
		if err != nil {
			return
		}
		if g, _, err := interchange.Garment("", p); err == nil {
			if err := g.Validate(); err != nil {
				t.Fatal(err)
			}
		}
	})
}
