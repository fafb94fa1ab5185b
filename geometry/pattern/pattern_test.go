package pattern_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"pgregory.net/rapid"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

func pt(x, y float64) geometry.Point { return geometry.Point{X: x, Y: y} }

func points(p ...geometry.Point) []geometry.Point { return p }

func corners(points ...geometry.Point) geometry.Path {
	p := make(geometry.Path, len(points))
	for i, q := range points {
		p[i] = geometry.Knot{At: q, Corner: true}
	}
	return p
}

// yoke is a piece of 300 x 120 mm with a curved upper edge and a hole.
func yoke() pattern.Traced {
	in, out := pt(50, 180), pt(250, 180)
	outline := corners(pt(0, 0), pt(300, 0), pt(300, 120), pt(0, 120))
	outline[2].Out, outline[3].In = &out, &in
	return pattern.Traced{
		Outline: outline, Holes: []geometry.Path{corners(pt(100, 40), pt(100, 80), pt(200, 80), pt(200, 40))},
		UncertaintyMM: 0.3, Unsure: []geometry.Stretch{{From: pt(300, 20), To: pt(300, 60), Why: "shadow"}},
		Grain: &geometry.Grain{Deg: 88, Sure: 0.9},
	}
}

// placed returns the traced outline turned and moved on the plane, as a photo
// would show it.
func placed(t pattern.Traced, r geometry.Rigid) pattern.Traced {
	t.Outline = t.Outline.Map(r.Apply)
	holes := slices.Clone(t.Holes)
	for i, h := range holes {
		holes[i] = h.Map(r.Apply)
	}
	t.Holes = holes
	t.Unsure = slices.Clone(t.Unsure)
	for i, s := range t.Unsure {
		t.Unsure[i] = geometry.Stretch{From: r.Apply(s.From), To: r.Apply(s.To), Why: s.Why}
	}
	if t.Grain != nil {
		deg := math.Mod(t.Grain.Deg+r.Turn*180/math.Pi, 180)
		if deg < 0 {
			deg += 180
		}
		t.Grain = &geometry.Grain{Deg: deg, Sure: t.Grain.Sure}
	}
	return t
}

func TestNewPieceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := geometry.Rigid{
			Turn: rapid.Float64Range(-3, 3).Draw(t, "turn"),
			Move: pt(rapid.Float64Range(-2000, 2000).Draw(t, "x"), rapid.Float64Range(-2000, 2000).Draw(t, "y")),
		}
		traced := placed(yoke(), r)
		p, findings, err := pattern.NewPiece("yoke", "Yoke", traced)
		if err != nil || len(findings) != 0 {
			t.Fatalf("error %v, findings %v; want none", err, findings)
		}
		lo, _ := p.Knots.Flatten(1e-3).Bounds()
		if math.Abs(lo.X) > 1e-3 || math.Abs(lo.Y) > 1e-3 {
			t.Errorf("lower left bounds at %v, want the origin", lo)
		}
		if d := math.Abs(p.Grain.Deg - 90); d > 1e-3 {
			t.Errorf("grain at %g degrees, want 90", p.Grain.Deg)
		}
		if d := p.Knots.Length() - traced.Outline.Length(); math.Abs(d) > 1e-5 {
			t.Errorf("the outline changed its length by %g mm", d)
		}
		// The map back to the photo undoes the placing.
		back := p.Knots.Map(p.PlaneToPiece.Inverse().Apply)
		for i := range back {
			if d := back[i].At.Dist(traced.Outline[i].At); d > 1e-6 {
				t.Errorf("knot %d is %g mm away from where the photo shows it", i, d)
			}
		}
		if math.Abs(p.PlaneToPiece.Turn) > math.Pi/2+1e-9 {
			t.Errorf("turned by %g, more than a quarter", p.PlaneToPiece.Turn)
		}
	})
}

func TestUnsureGrainIsSaid(t *testing.T) {
	for name, grain := range map[string]*geometry.Grain{"none": nil, "unsure": {Deg: 30, Sure: pattern.GrainSure - 0.01}} {
		traced := yoke()
		traced.Grain = grain
		p, findings, err := pattern.NewPiece("yoke", "Yoke", traced)
		if err != nil {
			t.Fatal(err)
		}
		if p.PlaneToPiece.Turn != 0 {
			t.Errorf("%s: the piece was turned", name)
		}
		if len(findings) != 1 || findings[0].Code != pattern.CodeGrain || findings[0].Remedy == "" {
			t.Errorf("%s: findings %v, want one %s", name, findings, pattern.CodeGrain)
		}
		if grain != nil && p.Grain.Deg != 30 {
			t.Errorf("%s: grain at %g, want 30 as suggested", name, p.Grain.Deg)
		}
	}
}

func TestEdgesAreNamedByPlace(t *testing.T) {
	names := func(outline geometry.Path) string {
		p, _, err := pattern.NewPiece("p", "P", pattern.Traced{Outline: outline})
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, e := range p.Edges {
			out = append(out, e.Name)
		}
		return strings.Join(out, ", ")
	}
	round := corners(pt(0, 0), pt(100, 0), pt(100, 100), pt(0, 100))
	for i := range round {
		round[i].Corner = false
	}
	for _, c := range []struct {
		name    string
		outline geometry.Path
		want    string
	}{
		{"square", corners(pt(0, 0), pt(100, 0), pt(100, 100), pt(0, 100)), "bottom, right, top, left"},
		{"begins at the top", corners(pt(100, 100), pt(0, 100), pt(0, 0), pt(100, 0)), "top, left, bottom, right"},
		{"roof", corners(pt(0, 0), pt(100, 0), pt(100, 60), pt(50, 80), pt(0, 60)), "bottom, right, top 1, top 2, left"},
		{"no corner", round, "all round"},
	} {
		if got := names(c.outline); got != c.want {
			t.Errorf("%s: edges %q, want %q", c.name, got, c.want)
		}
	}
}

func garment(t testing.TB) pattern.Garment {
	p, _, err := pattern.NewPiece("yoke", "Yoke, größer", yoke())
	if err != nil {
		t.Fatal(err)
	}
	plain, _, err := pattern.NewPiece("pocket", "Pocket", pattern.Traced{Outline: corners(pt(0, 0), pt(150, 0), pt(150, 170), pt(0, 170))})
	if err != nil {
		t.Fatal(err)
	}
	return pattern.Garment{Format: pattern.Format, Name: "Lamplighter’s smock", Pieces: []pattern.Piece{p, plain}}
}

func written(t testing.TB, g pattern.Garment) []byte {
	var b bytes.Buffer
	if err := pattern.Write(&b, g); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestWriteReadWrite(t *testing.T) {
	first := written(t, garment(t))
	g, err := pattern.Read(bytes.NewReader(first))
	if err != nil {
		t.Fatal(err)
	}
	if second := written(t, g); !bytes.Equal(first, second) {
		t.Errorf("reading and writing changed the file:\n%s\n%s", first, second)
	}
	// One line a point keeps files short and differences readable.
	if !bytes.Contains(first, []byte(`"at": [150, 0]`)) || !bytes.Contains(first, []byte(`"name": "Yoke, größer"`)) {
		t.Errorf("not as readable as it should be:\n%s", first)
	}
}

func compiled(t *testing.T) *jsonschema.Schema {
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(pattern.Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("garment.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("garment.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What is written satisfies the published schema; what breaks a rule that the
// schema can express is refused by both, schema and reader.
func TestSchemaAndReaderAgree(t *testing.T) {
	s := compiled(t)
	good := written(t, garment(t))
	valid := func(data []byte) error {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		return s.Validate(doc)
	}
	if err := valid(good); err != nil {
		t.Fatalf("a written file breaks the schema: %v", err)
	}
	for name, spoil := range map[string]func(g, piece map[string]any){
		"pieces":         func(g, _ map[string]any) { g["pieces"] = []any{} },
		"name":           func(g, _ map[string]any) { g["name"] = "" },
		"format":         func(g, _ map[string]any) { g["format"] = "secondcut-garment/2" },
		"knots":          func(_, p map[string]any) { p["knots"] = p["knots"].([]any)[:1] },
		"edges":          func(_, p map[string]any) { p["edges"] = []any{} },
		"uncertainty_mm": func(_, p map[string]any) { p["uncertainty_mm"] = -1 },
		"grain":          func(_, p map[string]any) { p["grain"] = map[string]any{"deg": 180, "sure": 0.5} },
		"plane_to_piece": func(_, p map[string]any) { p["plane_to_piece"] = map[string]any{"turn": 1000, "move": []any{0, 0}} },
		"colour":         func(_, p map[string]any) { p["colour"] = "blue" },
	} {
		var g map[string]any
		if err := json.Unmarshal(good, &g); err != nil {
			t.Fatal(err)
		}
		spoil(g, g["pieces"].([]any)[0].(map[string]any))
		bad, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		if valid(bad) == nil {
			t.Errorf("%s: the schema lets it pass", name)
		}
		_, err = pattern.Read(bytes.NewReader(bad))
		if err == nil {
			t.Errorf("%s: the reader lets it pass", name)
		} else if name != "format" && !strings.Contains(err.Error(), name) {
			t.Errorf("%s: the error does not name the field: %v", name, err)
		}
	}
}

func TestReadRefuses(t *testing.T) {
	spoilt := func(spoil func(p *pattern.Piece)) string {
		g := garment(t)
		spoil(&g.Pieces[0])
		data, err := json.Marshal(g)
		if err != nil {
			t.Fatal(err)
		}
		return string(data)
	}
	good := string(written(t, garment(t)))
	for _, c := range []struct {
		name, data string
		want       error
		field      string
	}{
		{"nothing", "", pattern.ErrNotGarment, ""},
		{"text", "Today I unpicked the sleeve.", pattern.ErrNotGarment, ""},
		{"other document", `{"format":"secondcut-trace/1"}`, pattern.ErrNotGarment, "secondcut-trace/1"},
		{"newer version", `{"format":"secondcut-garment/7","new":1}`, pattern.ErrVersion, "secondcut-garment/7"},
		{"truncated", good[:len(good)/2], pattern.ErrNotGarment, ""},
		{"clockwise", spoilt(func(p *pattern.Piece) { slices.Reverse(p.Knots) }), pattern.ErrInvalid, "pieces[0].knots"},
		{"hole that runs the wrong way", spoilt(func(p *pattern.Piece) { slices.Reverse(p.Holes[0]) }), pattern.ErrInvalid, "pieces[0].holes[0]"},
		{"twice the same id", spoilt(func(p *pattern.Piece) { p.ID = "pocket" }), pattern.ErrInvalid, "pieces[1].id"},
		{"edge without a knot", spoilt(func(p *pattern.Piece) { p.Edges[3].Knot = 4 }), pattern.ErrInvalid, "pieces[0].edges[3].knot"},
		{"edges out of order", spoilt(func(p *pattern.Piece) { p.Edges[2].Knot = 1 }), pattern.ErrInvalid, "pieces[0].edges[2].knot"},
		{"a text for a number", strings.Replace(good, `"knot": 1`, `"knot": "one"`, 1), pattern.ErrInvalid, "pieces[0].edges[1].knot is a text, where a whole number belongs (line "},
		{"a list for a text", strings.Replace(good, `"name": "Pocket"`, `"name": ["Pocket"]`, 1), pattern.ErrInvalid, "pieces[1].name is a list, where a text belongs (line "},
		{"half a knot", strings.Replace(good, `"knot": 1`, `"knot": 1.5`, 1), pattern.ErrInvalid, "pieces[0].edges[1].knot is 1.5, where a whole number belongs (line "},
		{"a number beyond numbers", strings.Replace(good, `"uncertainty_mm": 0`, `"uncertainty_mm": 1e400, "x": 0`, 1), pattern.ErrInvalid, ".uncertainty_mm is 1e400, which is beyond all numbers (line "},
		{"no number", strings.Replace(good, `"knot": 1`, `"knot": NaN`, 1), pattern.ErrNotGarment, "pieces[0].edges[1].knot in line "},
		{"a field that is misspelt", strings.Replace(good, `"knot": 1`, `"knotted": 1`, 1), pattern.ErrInvalid, "pieces[0].edges[1].knotted is not known (line "},
		{"a field in the wrong place", strings.Replace(good, `"knot": 1`, `"knot": 1, "allowance_mm": 10`, 1), pattern.ErrInvalid, "pieces[0].edges[1].allowance_mm is not known (line "},
		{"a known field beside it", strings.Replace(good, `"at": [`, `"deg": 3, "at": [`, 1), pattern.ErrInvalid, "pieces[0].knots[0].deg is not known (line "},
		{"crosses itself in the middle", spoilt(func(p *pattern.Piece) {
			p.Knots = corners(pt(0, 0), pt(300, 200), pt(300, 0), pt(0, 200))
		}), pattern.ErrInvalid, "pieces[0].knots enclose 0.0 mm² of cloth: the outline crosses itself"},
		{"half a point", strings.Replace(spoilt(func(*pattern.Piece) {}), "[150,0]", "[150]", 1), pattern.ErrInvalid, ""},
	} {
		_, err := pattern.Read(strings.NewReader(c.data))
		if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.field) {
			t.Errorf("%s: error %v, want %v that names %q", c.name, err, c.want, c.field)
		}
	}
}

// Some editors write a mark before the text (RFC 8259, section 8.1, lets a reader
// pass over it).
func TestByteOrderMarkIsPassedOver(t *testing.T) {
	first := written(t, garment(t))
	g, err := pattern.Read(io.MultiReader(strings.NewReader("\ufeff"), bytes.NewReader(first)))
	if err != nil || !bytes.Equal(first, written(t, g)) {
		t.Errorf("read as %v, %v", g.Name, err)
	}
}

func TestNewPieceRefuses(t *testing.T) {
	for name, outline := range map[string]geometry.Path{
		"empty":     nil,
		"clockwise": corners(pt(0, 0), pt(0, 100), pt(100, 100), pt(100, 0)),
		"a line":    corners(pt(0, 0), pt(100, 0)),
		"endless":   corners(pt(0, 0), pt(math.Inf(1), 0), pt(100, 100)),
	} {
		if _, _, err := pattern.NewPiece("p", "P", pattern.Traced{Outline: outline}); !errors.Is(err, pattern.ErrInvalid) {
			t.Errorf("%s: error %v, want ErrInvalid", name, err)
		}
	}
}

// FuzzRead: whatever is read without error can be written, and what can be read
// again is written the same. (Coordinates are rounded when written, so that a
// piece of hardly more than the least area may not be read again.)
func FuzzRead(f *testing.F) {
	f.Add(written(f, garment(f)))
	f.Add(written(f, full(f)))
	f.Add([]byte(`{"format":"secondcut-garment/1","name":"x","pieces":[{}]}`))
	f.Add([]byte(`{"format":"secondcut-garment/1","pieces":[{"knots":[{"at":[1e999,0]}]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		g, err := pattern.Read(bytes.NewReader(data))
		if err != nil {
			return
		}
		first := written(t, g)
		if again, err := pattern.Read(bytes.NewReader(first)); err == nil && !bytes.Equal(first, written(t, again)) {
			t.Error("reading and writing changed the file")
		}
	})
}
