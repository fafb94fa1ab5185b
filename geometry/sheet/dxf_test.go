package sheet

import (
	"bytes"
	"math"
	"os"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/dxf"
	"secondcut/geometry/pattern"
)

// The plain drawing has every layer that the SVG has, and a square of 100 mm; its cut
// lines read back are as long and enclose as much as the model's.
func TestPlainDXF(t *testing.T) {
	f, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := pattern.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	g.Pieces[0].Unsure = []geometry.Stretch{{From: g.Pieces[0].Knots[0].At, To: g.Pieces[0].Knots[1].At}}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	pieces := Drafts(g, drafts)
	var plain, svg bytes.Buffer
	if err := DXF(&plain, pieces, Options{}); err != nil {
		t.Fatal(err)
	}
	if err := SVG(&svg, "x", pieces, Options{}); err != nil {
		t.Fatal(err)
	}
	for _, c := range plain.Bytes() {
		if c > 0x7e {
			t.Fatal("not 7-bit")
		}
	}
	for _, l := range []string{"Cut line", "Stitch line", "Fold lines", "Not sure here", "Grain line", "Marks", "Text"} {
		id := strings.ToLower(strings.ReplaceAll(l, " ", "-"))
		if !strings.Contains(svg.String(), `id="layer-`+id+`"`) || !strings.Contains(plain.String(), "  8\n"+strings.ToUpper(id)+"\n") {
			t.Errorf("layer %s is missing in the SVG or in the DXF", l)
		}
	}
	if !strings.Contains(plain.String(), "  8\nSQUARES-AND-BARS\n") {
		t.Error("no square to measure")
	}
	p, err := dxf.Read(&plain)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Pieces) != len(drafts) || len(p.Skipped) > 0 || len(p.Findings) > 0 {
		t.Fatalf("%d pieces, skipped %v, findings %v", len(p.Pieces), p.Skipped, p.Findings)
	}
	for i, d := range drafts {
		q := p.Pieces[i]
		if off := math.Abs(q.Cut.Length() - d.CutLine.Length()); off > 0.01 || q.Name != d.Name {
			t.Errorf("%s (%s): the cut line is %.4f mm off", q.Name, d.Name, off)
		}
	}
}
