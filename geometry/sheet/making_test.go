package sheet_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// plansOf lays the smock on both of its cloths, the same way on every machine.
func plansOf(t testing.TB, g pattern.Garment) map[string]lay.Plan {
	t.Helper()
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
		if plans[c.ID], err = task.Nest(context.Background(), lay.Options{Time: time.Minute, Rounds: 5}, nil, nil); err != nil {
			t.Fatal(err)
		}
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
	if !slices.ContainsFunc(m.Changes, func(s string) bool { return strings.HasPrefix(s, "Front, hem: had 25 mm") }) {
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
