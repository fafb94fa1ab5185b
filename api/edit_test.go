package api_test

import (
	"encoding/json"
	"math"
	"testing"

	"secondcut/api"
	"secondcut/geometry"
)

func path(xy ...float64) geometry.Path {
	var p geometry.Path
	for i := 0; i < len(xy); i += 2 {
		p = append(p, geometry.Knot{At: geometry.Point{X: xy[i], Y: xy[i+1]}, Corner: true})
	}
	return p
}

func TestCheckNamesTheField(t *testing.T) {
	ok := path(0, 0, 10, 0, 10, 10)
	bent := path(0, 0, 10, 0, 10, 10)
	bent[1].In = &geometry.Point{X: math.Inf(1)}
	stroke := api.Stroke{Kind: "cloth", WidthMM: 5, Points: []geometry.Point{{X: 1}}}
	tests := []struct {
		name, field string
		edit        api.PieceEdit
	}{
		{"good", "", api.PieceEdit{Name: "a", Knots: ok, Holes: []geometry.Path{ok}, Strokes: []api.Stroke{stroke}}},
		{"no name", "name", api.PieceEdit{Name: "\t ", Knots: ok}},
		{"two knots", "knots", api.PieceEdit{Name: "a", Knots: ok[:2]}},
		{"infinite handle", "knots", api.PieceEdit{Name: "a", Knots: bent}},
		{"NaN", "knots", api.PieceEdit{Name: "a", Knots: path(0, 0, math.NaN(), 1, 1, 1)}},
		{"wide", "knots", api.PieceEdit{Name: "a", Knots: path(0, 0, 20_001, 0, 1, 1)}},
		{"as wide as can be", "", api.PieceEdit{Name: "a", Knots: path(0, 0, 20_000, 0, 1, 1)}},
		{"overflowing", "knots", api.PieceEdit{Name: "a", Knots: path(-math.MaxFloat64, 0, math.MaxFloat64, 0, 1, 1)}},
		{"empty hole", "holes[1]", api.PieceEdit{Name: "a", Knots: ok, Holes: []geometry.Path{ok, nil}}},
		{"stroke without points", "strokes[0].points_mm", api.PieceEdit{Name: "a", Knots: ok, Strokes: []api.Stroke{{Kind: "cloth", WidthMM: 1}}}},
		{"stroke of no width", "strokes[0].width_mm", api.PieceEdit{Name: "a", Knots: ok, Strokes: []api.Stroke{{Kind: "cloth", WidthMM: math.NaN(), Points: stroke.Points}}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := tt.edit.Check()
			if tt.field == "" {
				if err != nil {
					t.Error(err)
				}
				return
			}
			if e, ok := err.(*api.Error); !ok || e.Code != api.CodeInvalid || e.Field != tt.field || e.Remedy == "" {
				t.Errorf("got %#v, want field %s", err, tt.field)
			}
		})
	}
}

func TestOutlineFindings(t *testing.T) {
	loop := path(0, 0, 100, 0, 100, 100, 0, 100)
	loop[0].Out, loop[1].In = &geometry.Point{X: 200, Y: 80}, &geometry.Point{X: -100, Y: 80} // a curve that crosses itself
	ring := make(geometry.Path, 0, 300)
	for i := range 300 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 300)
		ring = append(ring, geometry.Knot{At: geometry.Point{X: 500 * c, Y: 500 * s}})
	}
	for _, tt := range []struct {
		name  string
		outer geometry.Path
		holes []geometry.Path
		want  int
	}{
		{"square", path(0, 0, 10, 0, 10, 10, 0, 10), nil, 0},
		{"bow", path(0, 0, 10, 10, 10, 0, 0, 14), nil, 1},
		{"curve that loops", loop, nil, 1},
		{"circle of many knots", ring, nil, 0},
		{"hole that crosses itself", ring, []geometry.Path{path(0, 0, 10, 10, 10, 0, 0, 14)}, 1},
		{"knots on one spot", path(1, 1, 1, 1, 1, 1), nil, 0},
	} {
		if got := api.OutlineFindings(tt.outer, tt.holes); len(got) != tt.want {
			t.Errorf("%s: %+v, want %d", tt.name, got, tt.want)
		}
	}
}

// An edit that passes the check can be written, read back unchanged, and looked
// at for crossings, whatever bytes it came from.
func FuzzPieceEdit(f *testing.F) {
	f.Add([]byte(`{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[9,0],"out":[12,3],"corner":false},{"at":[9,9],"corner":true}]}`))
	f.Add([]byte(`{"name":"a","knots":[{"at":[1e308,0]},{"at":[-1e308,0]},{"at":[0,1e-320]}],"holes":[[]],"strokes":[{"kind":"cloth"}]}`))
	f.Add([]byte(`{"name":null,"knots":null}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var edit api.PieceEdit
		if json.Unmarshal(data, &edit) != nil {
			return
		}
		edit, err := edit.Check()
		if err != nil {
			return
		}
		out, err := json.Marshal(edit)
		if err != nil {
			t.Fatalf("cannot be written: %v", err)
		}
		var again api.PieceEdit
		if err := json.Unmarshal(out, &again); err != nil {
			t.Fatalf("cannot be read back: %v", err)
		}
		if _, err := again.Check(); err != nil && len(edit.Knots) > 0 {
			t.Fatalf("is refused when read back: %v", err)
		}
		for _, f := range api.OutlineFindings(edit.Knots, edit.Holes) {
			if f.Where == nil || !f.Where.IsFinite() {
				t.Fatalf("finding nowhere: %+v", f)
			}
		}
	})
}

// A new tracing that saw no grain leaves none of the one before; an edit by hand
// leaves it.
func TestGrainOfANewTracing(t *testing.T) {
	ring := path(0, 0, 10, 0, 10, 10)
	grain := &geometry.Grain{Deg: 90, Sure: 0.9}
	p := api.Piece{Name: "a", Knots: ring, Grain: grain, PieceParts: api.FirstParts(ring, grain)}
	doubt := 0.3
	for name, tt := range map[string]struct {
		edit api.PieceEdit
		want *geometry.Grain
	}{
		"by hand":           {api.PieceEdit{Name: "a", Knots: ring}, grain},
		"traced, none seen": {api.PieceEdit{Name: "a", Knots: ring, UncertaintyMM: &doubt}, nil},
		"traced and seen":   {api.PieceEdit{Name: "a", Knots: ring, UncertaintyMM: &doubt, Grain: &geometry.Grain{Deg: 10, Sure: 0.5}}, &geometry.Grain{Deg: 10, Sure: 0.5}},
	} {
		now, _, err := p.Edited(tt.edit)
		if err != nil || (now.Grain == nil) != (tt.want == nil) || tt.want != nil && *now.Grain != *tt.want {
			t.Errorf("%s: grain %+v, %v", name, now.Grain, err)
		}
	}
}
