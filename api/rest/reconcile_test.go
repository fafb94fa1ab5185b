package rest_test

import (
	"encoding/json"
	"math"
	"net/http"
	"slices"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/geometry/twin"
)

// reconciledView is what the page reads of an answer.
type reconciledView struct {
	Moves []struct {
		Piece, Edge string
		Why         []string
		MostMM      float64 `json:"most_mm"`
		AllowedMM   float64 `json:"allowed_mm"`
	}
	Seams []struct {
		ID       string
		BeforeMM float64 `json:"before_mm"`
		AfterMM  float64 `json:"after_mm"`
	}
	Twins []struct {
		A, B              string
		BeforeMM, AfterMM float64
	}
	Outlines []struct {
		Piece  string
		Before []geometry.Point `json:"before_mm"`
		After  []geometry.Point `json:"after_mm"`
	}
	Findings []geometry.Finding
}

type edgeRef struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
}

// reconciled asks what would be corrected, and returns the tag of the answer.
func (r *rig) reconciled(url, body string) (reconciledView, string) {
	r.Helper()
	res, data := r.do("POST", url+"/reconcile", reader(body), nil)
	if res.StatusCode != http.StatusOK {
		r.Fatalf("reconcile: status %d: %s", res.StatusCode, data)
	}
	return mustJSON[reconciledView](r, data), res.Header.Get("ETag")
}

func acceptJSON(r *rig, edges []edgeRef) string {
	r.Helper()
	data, err := json.Marshal(map[string]any{"accept": edges})
	r.must(err)
	return string(data)
}

// walkReconcile asks for all that reconciling needs, good and bad.
func (r *rig) walkReconcile(url string) {
	r.Helper()
	v, tag := r.reconciled(url, `{}`)
	r.want(404, "POST", "/api/v1/garments/nobody/reconcile", `{}`, nil)
	r.want(422, "POST", url+"/reconcile", `{"twins":[{"a":"none","b":"none"}]}`, nil)
	one := acceptJSON(r, []edgeRef{{v.Moves[0].Piece, v.Moves[0].Edge}})
	r.want(428, "POST", url+"/reconcile/accept", one, nil)
	r.want(412, "POST", url+"/reconcile/accept", one, header("If-Match", `"v1"`))
	r.want(200, "POST", url+"/reconcile/accept", one, header("If-Match", tag))
	r.want(412, "POST", url+"/reconcile/accept", one, header("If-Match", tag))
	p := v.Moves[0].Piece
	pair := `{"a":"` + p + `","b":"` + p + `"}`
	t := mustJSON[twin.Twin](r, r.want(200, "POST", url+"/twins", pair, nil))
	r.want(422, "POST", url+"/twins", `{"a":"none","b":"none"}`, nil)
	borrow := func(edge string) string {
		return `{"a":"` + p + `","b":"` + p + `","piece":"` + p + `","edge":"` + edge + `"}`
	}
	now := mustJSON[api.Piece](r, r.want(200, "GET", "/api/v1/pieces/"+p, "", nil))
	r.want(428, "POST", url+"/twins/borrow", borrow(t.Edges[0].Edge), nil)
	r.want(412, "POST", url+"/twins/borrow", borrow(t.Edges[0].Edge), header("If-Match", `"v99"`))
	r.want(422, "POST", url+"/twins/borrow", borrow("none"), header("If-Match", rest.ETag(now.Version)))
	r.want(200, "POST", url+"/twins/borrow", borrow(t.Edges[0].Edge), header("If-Match", rest.ETag(now.Version)))
}

// What would move is shown first and nothing is saved; what is accepted makes a new
// version of its pieces alone, which can be taken back to the byte.
func TestReconcile(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	before := string(r.want(200, "GET", url+"/file", "", nil))
	v, tag := r.reconciled(url, `{}`)
	if len(v.Moves) < 10 || len(v.Twins) != 3 || len(v.Seams) == 0 || len(v.Outlines) != len(g.Pieces) {
		t.Fatalf("%d moves, %d twins, %d seams, %d outlines", len(v.Moves), len(v.Twins), len(v.Seams), len(v.Outlines))
	}
	for _, o := range v.Outlines {
		if len(o.Before) != len(o.After) || len(o.Before) < 4 {
			t.Errorf("%s: %d points before, %d after", o.Piece, len(o.Before), len(o.After))
		}
	}
	for _, m := range v.Moves {
		if math.Abs(m.MostMM) > m.AllowedMM || len(m.Why) == 0 {
			t.Errorf("%+v", m)
		}
	}
	if again, same := r.reconciled(url, `{}`); same != tag || len(again.Moves) != len(v.Moves) {
		t.Error("asking twice gives two answers")
	}
	if string(r.want(200, "GET", url+"/file", "", nil)) != before {
		t.Fatal("asking changed the garment")
	}

	// The seams with some edges are what checking finds when they are accepted.
	front := v.Moves[0].Piece
	var some []edgeRef
	for _, m := range v.Moves {
		if m.Piece == front {
			some = append(some, edgeRef{m.Piece, m.Edge})
		}
	}
	preview, _ := r.reconciled(url, acceptJSON(r, some))
	saved := mustJSON[struct{ Pieces []api.Piece }](r, r.want(200, "POST", url+"/reconcile/accept", acceptJSON(r, some), header("If-Match", tag)))
	if len(saved.Pieces) != 1 || saved.Pieces[0].ID != front {
		t.Fatalf("%d pieces were saved", len(saved.Pieces))
	}
	report := mustJSON[pattern.Report](r, r.want(200, "GET", url+"/check", "", nil))
	for _, s := range preview.Seams {
		i := slices.IndexFunc(report.Seams, func(q pattern.SeamRow) bool { return q.ID == s.ID })
		if off := report.Seams[i].OffMM; math.Abs(off-s.AfterMM) > 0.01 {
			t.Errorf("%s is off by %.3f mm, was said to be off by %.3f", s.ID, off, s.AfterMM)
		}
	}
	if string(r.want(200, "GET", url+"/file", "", nil)) == before {
		t.Error("nothing was saved")
	}
	versions := "/api/v1/pieces/" + front + "/versions"
	r.want(200, "POST", versions+"/1/restore", "", header("If-Match", rest.ETag(saved.Pieces[0].Version)))
	if string(r.want(200, "GET", url+"/file", "", nil)) != before {
		t.Error("taking it back gives another garment")
	}
	// The pieces have versions of their own since: the first answer is too old.
	r.want(412, "POST", url+"/reconcile/accept", acceptJSON(r, some), header("If-Match", tag))
}

// A garment of which nothing is to be said answers with lists all the same.
func TestReconcileGivesLists(t *testing.T) {
	r := newRig(t)
	square := `{"format":"secondcut-garment/1","name":"g","pieces":[{"id":"p","name":"p","uncertainty_mm":0.4,"plane_to_piece":{"turn":0,"move":[0,0]},"knots":[{"at":[0,0],"corner":true},{"at":[90,0],"corner":true},{"at":[90,120],"corner":true},{"at":[0,120],"corner":true}],"edges":[{"id":"a","name":"a","knot":0},{"id":"b","name":"b","knot":2}]}]}`
	g := r.imported(square)
	_, data := r.do("POST", "/api/v1/garments/"+g.ID+"/reconcile", reader(`{}`), nil)
	all := mustJSON[map[string]json.RawMessage](r, data)
	for _, list := range []string{"moves", "seams", "twins", "findings", "outlines"} {
		if v := string(all[list]); len(v) == 0 || v[0] != '[' {
			t.Errorf("%s is %.60s", list, v)
		}
	}
}

// An edge that is worn through comes from the other half, as a new version.
func TestBorrowEdge(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	p := g.Pieces[0]
	was := mustJSON[api.Piece](r, r.want(200, "GET", "/api/v1/pieces/"+p.ID, "", nil))
	body := `{"a":"` + p.ID + `","b":"` + p.ID + `","piece":"` + p.ID + `","edge":"armhole-left"}`
	now := mustJSON[api.Piece](r, r.want(200, "POST", url+"/twins/borrow", body, header("If-Match", rest.ETag(was.Version))))
	if now.Version != was.Version+1 || len(now.Edges) != len(was.Edges) || len(now.Marks) != len(was.Marks) {
		t.Errorf("version %d of %d edges and %d marks, was %d of %d and %d", now.Version, len(now.Edges), len(now.Marks), was.Version, len(was.Edges), len(was.Marks))
	}
	tw := mustJSON[twin.Twin](r, r.want(200, "POST", url+"/twins", `{"a":"`+p.ID+`","b":"`+p.ID+`"}`, nil))
	for _, e := range tw.Edges {
		if e.Edge == "armhole-left" && math.Abs(e.MeanMM) > 0.1 {
			t.Errorf("the armhole is %.2f mm off the other one", e.MeanMM)
		}
	}
}
