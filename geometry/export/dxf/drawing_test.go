package dxf

import (
	"bytes"
	"errors"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// A page with a curve, a turned word and a square of 100 mm, read by ezdxf.
func TestEzdxfReadsADrawing(t *testing.T) {
	curve := geometry.Path{{At: *pt(0, 0), Corner: true, Out: pt(40, 90)}, {At: *pt(300, 0), In: pt(260, 200), Corner: true}}
	page := export.Page{Width: 400, Height: 400, Items: []export.Item{
		export.Shape{Layer: "Cut line", Contours: []export.Contour{{Knots: curve}}},
		export.Line("Grain line", export.Pen{}, *pt(10, 10), *pt(10, 60)),
		export.Rect("Squares and bars", export.Pen{}, export.NoInk, *pt(0, 0), *pt(100, 100)),
		export.Text{Layer: "Text", At: *pt(50, 50), Size: 10, Ink: export.Black, Align: export.AlignCentre, Turn: 1, Content: "Ärmel"},
	}}
	var b bytes.Buffer
	if err := WriteDrawing(&b, page); err != nil {
		t.Fatal(err)
	}
	s := ezdxf(t, b.Bytes())
	if s.Version != "AC1009" || len(s.Errors) > 0 || len(s.Model) != 4 {
		t.Fatalf("release %s, errors %v, %v", s.Version, s.Errors, s.Model)
	}
	trueLength(t, s.Model, "CUT-LINE", curve)
	for _, e := range s.Model {
		switch e[1] {
		case "SQUARES-AND-BARS":
			if math.Abs(e[2].(float64)-400) > 1e-6 {
				t.Errorf("the square is %v mm round", e[2])
			}
		case "TEXT":
			if e[3] != "Armel" {
				t.Errorf("text %v", e[3])
			}
		}
	}
	if err := WriteDrawing(&b, export.Page{}); !errors.Is(err, ErrNoPiece) {
		t.Errorf("an empty page: %v", err)
	}
}
