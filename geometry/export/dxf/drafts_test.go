package dxf

import (
	"bytes"
	"math"
	"os"
	"testing"

	"secondcut/geometry/interchange"
	"secondcut/geometry/pattern"
)

// The demo garment goes out and comes back: lines as long as the model's, every notch on
// its cut line, a grain for each piece; ezdxf finds no fault.
func TestSmockOutAndBack(t *testing.T) {
	data, err := os.Open("../../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer data.Close()
	g, err := pattern.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := interchange.FromDrafts(g, drafts)
	file := astm(t, want)
	if s := ezdxf(t, file); len(s.Errors) > 0 || len(s.Blocks) != len(want.Pieces) {
		t.Errorf("ezdxf: errors %v, %d blocks for %d pieces", s.Errors, len(s.Blocks), len(want.Pieces))
	} else {
		trueLength(t, s.Blocks[blockName(want.Pieces[0].Name, map[string]bool{})], "1", drafts[0].CutLine)
	}
	got, err := Read(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Skipped) > 0 || len(got.Pieces) != len(g.Pieces) {
		t.Fatalf("skipped %v; %d pieces of %d", got.Skipped, len(got.Pieces), len(g.Pieces))
	}
	notched := 0
	for i, q := range got.Pieces {
		d := drafts[i]
		if off := math.Abs(q.Cut.Length() - d.CutLine.Length()); off > 0.01 {
			t.Errorf("%s: the cut line is %.4f mm off", q.Name, off)
		}
		if off := math.Abs(q.Sew.Length() - d.StitchLine.Length()); len(q.Sew) > 0 && off > 0.01 {
			t.Errorf("%s: the stitch line is %.4f mm off", q.Name, off)
		}
		if q.Grain == nil || q.Quantity == 0 {
			t.Errorf("%s: grain %v, quantity %d", q.Name, q.Grain, q.Quantity)
		}
		for _, n := range q.Notches {
			notched++
			near := math.Inf(1)
			for _, s := range q.Cut.Segments() {
				for f := 0.0; f <= 1; f += 1.0 / 1024 {
					near = math.Min(near, s.At(f).Dist(n.At))
				}
			}
			if n.DepthMM <= 0 || near > 1 { // samples lie up to half a millimetre apart
				t.Errorf("%s: notch %+v is %.2f mm off the cut line", q.Name, n, near)
			}
		}
	}
	if notched == 0 {
		t.Error("the demo garment has no notch: this test checked none")
	}
}
