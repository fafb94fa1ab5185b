package sheet_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// plansOf are plans of the smock's two cloths, laid by hand: the linen open, the lining
// folded.
func plansOf(t testing.TB, g pattern.Garment) map[string]lay.Plan {
	t.Helper()
	at := func(id string, x, y, deg float64, mirrored bool) lay.Laid {
		return lay.Laid{Placement: lay.Placement{ID: id, X: x, Y: y, RotationDeg: deg, Mirrored: mirrored}}
	}
	laid := map[string][]lay.Laid{
		"linen": {
			at("front", 6, 535, -90, false), at("back", 655, 1032, 90, true), at("sleeve", 662, 875, -90, false), at("sleeve", 1098, 470, 90, true),
			at("pocket", 204, 989, 90, false), at("pocket", 3, 1322, -90, false), at("oil-bag", 794, 1174, 225, false),
		},
		"lining": {at("neck-facing", 6, 0, -90, true)},
	}
	plans := map[string]lay.Plan{}
	for _, c := range g.Cloths {
		cloth, ok := lay.ClothOf(g, c.ID)
		if !ok {
			t.Fatalf("no cloth %q", c.ID)
		}
		if c.ID == "linen" {
			cloth.PricePerM, cloth.Currency = 11.5, "EUR"
		} else {
			cloth.Spread = lay.Lengthwise
		}
		task, err := lay.NewTask(g, c.ID, cloth)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range task.Check(laid[c.ID]) {
			t.Errorf("%s: %s", c.ID, f.Message)
		}
		plans[c.ID] = task.Placed(laid[c.ID])
	}
	return plans
}

// making is the making sheet of the smock.
func making(t testing.TB) (pattern.Garment, sheet.Making) {
	t.Helper()
	g := smockFile(t)
	m, err := sheet.NewMaking(g, plansOf(t, g), measure.Millimetre)
	if err != nil {
		t.Fatal(err)
	}
	return g, m
}

// What the smock needs, counted by hand from its file: two sleeves that are a left and a
// right, an elastic of 150 + 20 mm for each, a cord through a casing of 2 x 180 mm with 150
// at each end, eight seams.
func TestMakingOfTheSmock(t *testing.T) {
	_, m := making(t)
	if len(m.Pieces) != 6 || len(m.Cloths) != 2 || len(m.Seams) != 8 || len(m.Swatches) != 2 {
		t.Errorf("%d pieces, %d cloths, %d seams, %d swatches", len(m.Pieces), len(m.Cloths), len(m.Seams), len(m.Swatches))
	}
	sleeve := m.Pieces[2]
	if sleeve.Cut != "cut 2 mirrored (1 pair)" || sleeve.Side != "1 printed side up, 1 turned over, printed side down." || sleeve.Letter != "S" {
		t.Errorf("sleeve %+v", sleeve)
	}
	if back := m.Pieces[1]; back.Side != "1 turned over, printed side down." {
		t.Errorf("the back was photographed from its wrong side, but %q", back.Side)
	}
	if facing := m.Pieces[4]; facing.Cut != "cut 1 on the fold" || facing.Side != "1 through both layers." {
		t.Errorf("facing %+v", facing)
	}
	if n := m.Notions; len(n) != 2 || n[0].Count != 2 || n[0].LengthMM != 170 || n[1].Count != 1 || n[1].LengthMM != 660 {
		t.Errorf("notions %+v", n)
	}
	linen := m.Cloths[0]
	if linen.Plan == nil || !strings.Contains(linen.Text, "buy ") || !strings.Contains(linen.Text, " EUR") || !strings.Contains(linen.Text, "washed twice before cutting") {
		t.Errorf("linen %q", linen.Text)
	}
	if !slices.ContainsFunc(m.Changes, func(s string) bool { return strings.HasPrefix(s, "Front, hem: had 25\u00a0mm") }) {
		t.Errorf("changes %q", m.Changes)
	}
	for _, s := range m.Seams {
		if s.AllowanceA == "" || s.AllowanceB == "" || s.AMM == 0 || s.BMM == 0 {
			t.Errorf("seam %+v", s)
		}
	}
}

// What waits for what: the armhole for the shoulder, hems for the side seams, a casing for
// the seam that ends in it, the elastic for its casing, the pocket for nothing.
// A garment of which nothing is said yet, as a first trace leaves it, has a making sheet
// too, with lists that are empty and not missing.
func TestMakingOfABareGarment(t *testing.T) {
	g := pattern.Garment{Format: pattern.Format, Name: "Bare", Pieces: []pattern.Piece{{
		ID: "p", Name: "Piece", Knots: geometry.Path{{Corner: true}, {At: geometry.Point{X: 200}, Corner: true}, {At: geometry.Point{X: 200, Y: 300}, Corner: true}},
		Edges: []pattern.Edge{{ID: "a", Name: "edge"}}, OutlineMeans: pattern.MeansCutEdge,
	}}}
	m, err := sheet.NewMaking(g, nil, "")
	if err != nil {
		t.Fatal(err)
	}
	data, err := json.Marshal(m)
	if err != nil || bytes.Contains(data, []byte("null")) {
		t.Errorf("a list is missing: %s, %v", data, err)
	}
	var b bytes.Buffer
	if err := sheet.MakingPDF(&b, g, m, "", sheet.Options{}); err != nil || b.Len() < 1000 {
		t.Errorf("its PDF: %d bytes, %v", b.Len(), err)
	}
}

func TestOrderOfWork(t *testing.T) {
	_, m := making(t)
	at := func(words string) int {
		i := slices.IndexFunc(m.Steps, func(s sheet.MakingStep) bool { return strings.Contains(s.Text, words) })
		if i < 0 {
			t.Fatalf("no step says %q: %+v", words, m.Steps)
		}
		return i
	}
	for _, tt := range [][2]string{
		{"Patch pocket", "side left"},
		{"shoulder left", "armhole left"},
		{"shoulder right", "Face the edge: Front neck"},
		{"side right", "Front hem"},
		{"sleeve seam", "casing, leaving an opening: Sleeve cuff"},
		{"leaving an opening: Sleeve cuff", "Thread the elastic"},
		{"buttonhole of Oil can bag", "Oil can bag top"},
	} {
		if at(tt[0]) >= at(tt[1]) {
			t.Errorf("%q comes at %d, %q at %d", tt[0], at(tt[0]), tt[1], at(tt[1]))
		}
	}
}

// The making sheet of the demo garment, as text; see TestGoldenSmock.
func TestGoldenMaking(t *testing.T) {
	g, m := making(t)
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		d, err := sheet.DrawMaking(g, m, measure.Millimetre, sheet.Options{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		golden(t, "making-"+paper.Name+".txt", dump(d))
	}
}

// All of it can be read back from the PDF (by poppler), no word is lost over the foot of a
// page.
func TestMakingPDF(t *testing.T) {
	g, m := making(t)
	var b bytes.Buffer
	if err := sheet.MakingPDF(&b, g, m, measure.Millimetre, sheet.Options{}); err != nil {
		t.Fatal(err)
	}
	file := exporttest.File(t, b.Bytes())
	text := strings.Join(strings.Fields(exporttest.Text(t, file)), " ")
	for _, words := range []string{
		"Lamplighter's smock", "Before cutting", "1 printed side up, 1 turned over", "cut 170 mm long", "Order of work", "Changed against the worn garment",
		"Rotary blades", "unbleached cotton", "selvage", "Oil can bag lies on the bias",
	} {
		if !strings.Contains(text, words) {
			t.Errorf("%q is not on the sheet", words)
		}
	}
	d, err := sheet.DrawMaking(g, m, measure.Millimetre, sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range d.Pages {
		for _, it := range p.Items {
			if txt, ok := it.(export.Text); ok && (txt.At.Y < 10 || txt.At.Y > p.Height-10 || txt.At.X < 10 || txt.At.X+export.TextWidth(txt.Content, txt.Size, txt.Bold) > p.Width-10) {
				t.Errorf("page %d: %q stands at %v, off the printable page", i+1, txt.Content, txt.At)
			}
		}
	}
}

// Paper without an end holds no pages of words; inches and centimetres are written as such.
func TestMakingUnitsAndPaper(t *testing.T) {
	g := smockFile(t)
	m, err := sheet.NewMaking(g, nil, measure.Inch)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(m.Notions[0].Text, "6\u00a011/16\"") { // 170 mm = 6.693 in
		t.Errorf("elastic %q", m.Notions[0].Text)
	}
	if m.Pieces[0].Side == "" || !strings.Contains(m.Cloths[0].Text, "not laid yet") {
		t.Errorf("without a plan: %+v, %+v", m.Pieces[0], m.Cloths[0])
	}
	if _, err := sheet.DrawMaking(g, m, measure.Inch, sheet.Options{Paper: sheet.One}); !errors.Is(err, sheet.ErrPaper) {
		t.Errorf("on one large page: %v", err)
	}
}
