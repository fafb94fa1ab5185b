package rest_test

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

// pair keeps a garment of two like pieces with a line to lengthen at, a measure and a
// seam, and returns it with its pieces.
func (r *rig) pair() (*api.Garment, []api.Piece) {
	r.Helper()
	g := pattern.Garment{Format: pattern.Format, Name: "Smock"}
	for _, id := range []string{"front", "back"} {
		p := pattern.Piece{ID: id, Name: id, OutlineMeans: pattern.MeansStitchLine}
		for _, q := range []geometry.Point{{}, {X: 300}, {X: 280, Y: 500}, {X: 0, Y: 500}} {
			p.Knots = append(p.Knots, geometry.Knot{At: q, Corner: true})
		}
		p.Edges = pattern.NewEdges(p.Knots)
		p.Marks = []pattern.Mark{
			{ID: "l", Kind: pattern.MarkLengthen, Points: []geometry.Point{{X: 20, Y: 200}, {X: 200, Y: 200}}, Measure: "length"},
			{ID: "d", Kind: pattern.MarkDrill, Points: []geometry.Point{{X: 100, Y: 400}}},
		}
		g.Pieces = append(g.Pieces, p)
	}
	side := g.Pieces[0].Edges[1].ID
	g.SeamPairs = []pattern.SeamPair{{ID: "s", Name: "side", A: []pattern.Run{{Piece: "front", Edge: side}}, B: []pattern.Run{{Piece: "back", Edge: side}}}}
	g.Measures = []pattern.Measure{{ID: "length", Name: "length", Parts: []pattern.Part{{Piece: "front", Edge: g.Pieces[0].Edges[3].ID}}}}
	data, err := json.Marshal(g)
	r.must(err)
	var made api.Garment
	r.must(json.Unmarshal(r.want(201, "POST", "/api/v1/garments/file", string(data), nil), &made))
	var pieces []api.Piece
	for _, s := range made.Pieces {
		pieces = append(pieces, r.piece(s.ID))
	}
	return &made, pieces
}

func (r *rig) piece(id string) api.Piece {
	r.Helper()
	var p api.Piece
	r.must(json.Unmarshal(r.want(200, "GET", "/api/v1/pieces/"+id, "", nil), &p))
	return p
}

// A change is answered and not kept; what is answered can be saved, with its frame.
func TestAmendPiece(t *testing.T) {
	r := newRig(t)
	_, all := r.pair()
	p := all[0]
	at := "/api/v1/pieces/" + p.ID
	var now api.Piece
	r.must(json.Unmarshal(r.want(200, "POST", at+"/amend", `{"op":{"kind":"open","line_mm":[[0,250],[100,250]],"mm":30}}`, nil), &now))
	if a, b := now.Knots.Area(), p.Knots.Area(); !(a > b+30*280) {
		t.Errorf("the area is %.0f mm², was %.0f", a, b)
	}
	if m := now.Marks[1]; m.Points[0].Y != 430 {
		t.Errorf("%+v", m)
	}
	if after := r.piece(p.ID); after.Version != p.Version || after.Knots.Area() != p.Knots.Area() {
		t.Error("it was kept")
	}
	// Of the piece as it is being edited; turned to its grain, the frame is another one.
	edit, err := json.Marshal(map[string]any{
		"name": "front", "knots": p.Knots, "edges": p.Edges,
		"marks": append(slices.Clone(p.Marks), pattern.Mark{ID: "g", Kind: pattern.MarkGrain, Points: []geometry.Point{{X: 100, Y: 100}, {X: 200, Y: 100}}}),
	})
	r.must(err)
	r.must(json.Unmarshal(r.want(200, "POST", at+"/amend", `{"piece":`+string(edit)+`,"op":{"kind":"grain"}}`, nil), &now))
	if math.Abs(math.Abs(now.PlaneToPiece.Turn)-math.Pi/2) > 1e-9 || now.Knots[1].At.Dist(p.Knots[1].At) > 1e-3 {
		t.Errorf("turned by %g, the outline begins %v", now.PlaneToPiece.Turn, now.Knots[:2])
	}
	edit, err = json.Marshal(map[string]any{"name": "front", "knots": now.Knots, "edges": now.Edges, "marks": now.Marks, "plane_to_piece": now.PlaneToPiece})
	r.must(err)
	r.want(200, "PUT", at, string(edit), header("If-Match", "*"))
	if got := r.piece(p.ID); got.PlaneToPiece != now.PlaneToPiece || len(got.Marks) != 3 {
		t.Errorf("kept as %+v", got.PlaneToPiece)
	}
	for body, want := range map[string]string{
		`{"op":{"kind":"open","line_mm":[[0,9999],[100,9999]],"mm":30}}`: "does not cross",
		`{"op":{"kind":"open","line_mm":[[0,250],[100,250]]}}`:           "needs mm",
		`{"op":{"kind":"close-dart","mark":"d","at_mm":[0,0]}}`:          "no dart",
		`{"op":{"kind":"fold"}}`:                                         "kind",
	} {
		if got := r.want(422, "POST", at+"/amend", body, nil); !strings.Contains(string(got), want) {
			t.Errorf("%s: %s", body, got)
		}
	}
}

// A piece made of others is kept with them, told when they change, made anew on demand,
// and survives a garment file.
func TestDerivePiece(t *testing.T) {
	r := newRig(t)
	g, all := r.pair()
	front := all[0]
	at := "/api/v1/garments/" + g.ID
	recipe := `{"recipe":{"kind":"facing","from":[{"piece":"` + front.ID + `","edge":"` + front.Edges[0].ID + `"}],"width_mm":50}}`
	var made, again api.Piece
	r.must(json.Unmarshal(r.want(201, "POST", at+"/pieces", recipe, header("Idempotency-Key", "k")), &made))
	r.must(json.Unmarshal(r.want(201, "POST", at+"/pieces", recipe, header("Idempotency-Key", "k")), &again))
	if made.ID != again.ID || made.Name != "front, facing" || made.Derived == nil || made.PhotoID != "" {
		t.Errorf("%+v, %+v", made, again)
	}
	if a := made.Knots.Area(); math.Abs(a-(300+298)/2.0*50) > 1 {
		t.Errorf("a facing of %.1f mm²", a)
	}
	if check := r.want(200, "GET", at+"/check", "", nil); strings.Contains(string(check), "parent-changed") {
		t.Error("just made, and told to be old")
	}
	file := r.want(200, "GET", at+"/file", "", nil)
	var copied api.Garment
	r.must(json.Unmarshal(r.want(201, "POST", "/api/v1/garments/file", string(file), nil), &copied))
	if check := r.want(200, "GET", "/api/v1/garments/"+copied.ID+"/check", "", nil); strings.Contains(string(check), "parent-changed") {
		t.Error("the facing of a garment that was read is told to be old")
	}
	front.Knots[1].At.X += 40
	edit, err := json.Marshal(map[string]any{"name": "front", "knots": front.Knots, "edges": front.Edges, "marks": front.Marks})
	r.must(err)
	r.want(200, "PUT", "/api/v1/pieces/"+front.ID, string(edit), header("If-Match", "*"))
	if check := r.want(200, "GET", at+"/check", "", nil); !strings.Contains(string(check), "parent-changed") {
		t.Error("nobody was told")
	}
	var now api.Piece
	r.must(json.Unmarshal(r.want(200, "POST", "/api/v1/pieces/"+made.ID+"/rederive", "", nil), &now))
	if now.Knots.Area() < made.Knots.Area()+1000 {
		t.Errorf("made anew with %.0f mm², was %.0f", now.Knots.Area(), made.Knots.Area())
	}
	edit, err = json.Marshal(map[string]any{"name": "facing", "knots": now.Knots, "edges": now.Edges, "marks": now.Marks, "derived": now.Derived})
	r.must(err)
	r.want(200, "PUT", "/api/v1/pieces/"+made.ID, string(edit), header("If-Match", "*"))
	if check := r.want(200, "GET", at+"/check", "", nil); strings.Contains(string(check), "parent-changed") {
		t.Error("made anew, and told to be old")
	}
	r.want(422, "POST", at+"/pieces", strings.Replace(recipe, `"width_mm":50`, `"width_mm":0`, 1), nil)
	r.want(422, "POST", "/api/v1/pieces/"+front.ID+"/rederive", "", nil)
}

// Another size is shown first, and then made as a garment of its own.
func TestTrySize(t *testing.T) {
	r := newRig(t)
	g, _ := r.pair()
	at := "/api/v1/garments/" + g.ID
	var tried amend.Resized
	r.must(json.Unmarshal(r.want(200, "POST", at+"/size", `{"wants":[{"measure":"length","finished_mm":540}]}`, nil), &tried))
	if m := tried.Measures[0]; math.Abs(m.AfterMM-540) > 0.05 || !tried.Seams[0].OK || len(tried.Lines) != 2 {
		t.Errorf("%+v", tried)
	}
	var made api.Garment
	r.must(json.Unmarshal(r.want(201, "POST", at+"/remake", `{"name":"Smock, longer","wants":[{"measure":"length","finished_mm":540}]}`, nil), &made))
	if p := r.piece(made.Pieces[0].ID); math.Abs(p.Knots[3].At.Y-540) > 0.05 || made.Origin == nil || made.Origin.ID != g.ID {
		t.Errorf("%+v", p.Knots)
	}
	r.want(422, "POST", at+"/size", `{"wants":[{"measure":"chest","finished_mm":540}]}`, nil)
	r.want(422, "POST", at+"/size", `{"wants":[]}`, nil)
}

// walkAmend asks for all that changes pieces, good and bad.
func (r *rig) walkAmend() {
	r.Helper()
	g, all := r.pair()
	at, piece := "/api/v1/garments/"+g.ID, "/api/v1/pieces/"+all[0].ID
	r.want(200, "POST", piece+"/amend", `{"op":{"kind":"mirror"}}`, nil)
	r.want(422, "POST", piece+"/amend", `{"op":{"kind":"open"}}`, nil)
	r.want(404, "POST", "/api/v1/pieces/none/amend", `{"op":{"kind":"mirror"}}`, nil)
	recipe := `{"name":"inside","recipe":{"kind":"interfacing","from":[{"piece":"` + all[0].ID + `"}],"shorter_mm":3}}`
	made := mustJSON[api.Piece](r, r.want(201, "POST", at+"/pieces", recipe, nil))
	r.want(422, "POST", at+"/pieces", strings.Replace(recipe, "interfacing", "facing", 1), nil)
	r.want(200, "POST", "/api/v1/pieces/"+made.ID+"/rederive", "", nil)
	r.want(422, "POST", piece+"/rederive", "", nil)
	r.want(200, "POST", at+"/size", `{"wants":[{"measure":"length","finished_mm":520}]}`, nil)
	r.want(422, "POST", at+"/size", `{"wants":[{"measure":"none","finished_mm":520}]}`, nil)
	r.want(201, "POST", at+"/remake", `{"name":"Longer","wants":[{"measure":"length","finished_mm":520}]}`, nil)
}
