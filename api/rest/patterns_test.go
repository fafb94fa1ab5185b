package rest_test

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

const smock = "../../testdata/garments/lamplighter-smock.json"

// imported brings a garment file in.
func (r *rig) imported(file string) api.Garment {
	r.Helper()
	return mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments/file", file, nil))
}

func (r *rig) smock() (string, pattern.Garment) {
	r.Helper()
	data, err := os.ReadFile(smock)
	r.must(err)
	g, err := pattern.Read(bytes.NewReader(data))
	r.must(err)
	return string(data), g
}

// A garment file goes in and comes out with all that it held; ids of pieces and the
// maps to photos, which are not there, are new.
func TestGarmentFileThereAndBack(t *testing.T) {
	r := newRig(t)
	text, want := r.smock()
	g := r.imported(text)
	if len(g.Pieces) != len(want.Pieces) || len(g.SeamPairs) != len(want.SeamPairs) || g.SizeMeasured != want.SizeMeasured || g.PatternVersion != want.Version {
		t.Fatalf("garment %+v", g)
	}
	got, err := pattern.Read(bytes.NewReader(r.want(200, "GET", "/api/v1/garments/"+g.ID+"/file", "", nil)))
	r.must(err)
	ids := map[string]string{}
	for i := range got.Pieces {
		p, q := &got.Pieces[i], &want.Pieces[i]
		ids[q.ID] = p.ID
		q.ID, q.PlaneToPiece = p.ID, geometry.Rigid{}
	}
	parts := api.GarmentParts{SeamPairs: want.SeamPairs, CurvePairs: want.CurvePairs, Measures: want.Measures}.Renamed(ids)
	want.SeamPairs, want.CurvePairs, want.Measures = parts.SeamPairs, parts.CurvePairs, parts.Measures
	var a, b bytes.Buffer
	r.must(pattern.Write(&a, got))
	r.must(pattern.Write(&b, want))
	if a.String() != b.String() {
		t.Errorf("the file came back changed: %d and %d bytes", a.Len(), b.Len())
	}
	// Seams are checked alike on both sides.
	report := mustJSON[pattern.Report](r, r.want(200, "GET", "/api/v1/garments/"+g.ID+"/check", "", nil))
	here, err := pattern.Check(want)
	r.must(err)
	if !report.OK() || len(report.Seams) != len(here.Seams) || len(report.Measures) != len(here.Measures) {
		t.Errorf("report %+v, want %+v", report, here)
	}
}

func TestImportIsDoneOnce(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	key := header("Idempotency-Key", "k1")
	first := mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments/file", text, key))
	again := mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments/file", text, key))
	if first.ID != again.ID || len(again.Pieces) != len(first.Pieces) {
		t.Errorf("the same key made %s and %s", first.ID, again.ID)
	}
	r.play([]scenario{
		{name: "the key for another file", method: "POST", url: "/api/v1/garments/file", body: strings.Replace(text, "smock", "coat", 1), headers: key, status: 422, must: []string{`"code":"key-reused"`}},
		{name: "one garment", method: "GET", url: "/api/v1/garments", status: 200, must: []string{`"photo_count":0`}},
	})
	if g := r.imported(text); g.ID == first.ID || g.Pieces[0].ID == first.Pieces[0].ID {
		t.Error("without a key, the same file does not make another garment")
	}
}

// Bad files leave nothing behind and say what is wrong.
func TestBadGarmentFiles(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	with := func(old, now string) string {
		if !strings.Contains(text, old) {
			t.Fatalf("the file has no %s", old)
		}
		return strings.Replace(text, old, now, 1)
	}
	post := func(name, body string, must ...string) scenario {
		return scenario{name: name, method: "POST", url: "/api/v1/garments/file", body: body, status: 422, must: must}
	}
	r.play([]scenario{
		post("no JSON", `hello`, "not a garment file"),
		post("another format", `{"format":"secondcut-trace/1"}`, "not a garment file"),
		post("a newer version", with("secondcut-garment/1", "secondcut-garment/2"), "newer", `"body.format"`),
		post("an unknown field", with(`"name":`, `"colour": "red", "name":`), "colour"),
		post("an allowance of 400 mm", with(`"allowance_mm": 12`, `"allowance_mm": 400`), "allowance_mm", "unit"),
		post("a negative allowance", with(`"allowance_mm": 12`, `"allowance_mm": -1`), "allowance_mm", "negative"),
		post("an edge that is not there", with(`"edge": "side-left"`, `"edge": "side-lift"`), "side-lift"),
		{name: "nothing", method: "POST", url: "/api/v1/garments/file", status: 400},
		{name: "nothing is left", method: "GET", url: "/api/v1/garments", status: 200, must: []string{`"items":[]`}},
	})
}

// Pieces of an imported garment have no photo; all else works on them.
func TestPieceWithoutPhoto(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	at := "/api/v1/pieces/" + g.Pieces[0].ID
	p := mustJSON[api.Piece](r, r.want(200, "GET", at, "", nil))
	if p.PhotoID != "" || p.Face == "" || len(p.Edges) != 8 || len(p.Marks) == 0 || p.Edges[0].Finish == nil {
		t.Fatalf("piece %+v", p)
	}
	knots, err := json.Marshal(p.Knots)
	r.must(err)
	r.play([]scenario{
		{name: "save", method: "PUT", url: at, body: `{"name":"Front two","knots":` + string(knots) + `}`, headers: header("If-Match", `"v1"`), status: 200, must: []string{`"name":"Front two"`, `"photo_id":""`}},
		{name: "svg", method: "GET", url: at + "/export?format=svg", status: 200},
		{name: "json", method: "GET", url: at + "/export?format=json", status: 200, must: []string{`"secondcut-trace/1"`}},
		{name: "delete", method: "DELETE", url: at, status: 204},
	})
	// What referred to it is told, and the rest is checked.
	report := mustJSON[pattern.Report](r, r.want(200, "GET", "/api/v1/garments/"+g.ID+"/check", "", nil))
	gone := 0
	for _, f := range report.Findings {
		if f.Code == pattern.CodeGone {
			gone++
		}
	}
	if gone == 0 || len(report.Seams) == 0 {
		t.Errorf("%d seams, %d findings about what is gone", len(report.Seams), gone)
	}
	kept := mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+g.ID, "", nil))
	if len(kept.SeamPairs) != len(g.SeamPairs) {
		t.Errorf("%d of %d seams are kept", len(kept.SeamPairs), len(g.SeamPairs))
	}
	r.want(200, "PATCH", "/api/v1/garments/"+g.ID, patchOf(r, kept), header("If-Match", rest.ETag(kept.Version)))
}

// patchOf sends a garment's seams back as they are.
func patchOf(r *rig, g api.Garment) string {
	b, err := json.Marshal(map[string]any{"seam_pairs": g.SeamPairs, "notes": "after the front was lost"})
	r.must(err)
	return string(b)
}

const (
	bigSquare = `"knots":[{"at":[0,0],"corner":true},{"at":[200,0],"corner":true},{"at":[200,300],"corner":true},{"at":[0,300],"corner":true}]`
	fourEdges = `"edges":[{"id":"hem","name":"hem","knot":0,"old_allowance":{"is":"none"},"finish":{"kind":"hem","depth_mm":20,"turns":2,"turn_under_mm":10}},` +
		`{"id":"right","name":"side right","knot":1,"old_allowance":{"is":"length","mm":10},"finish":{"kind":"seam","allowance_mm":15}},` +
		`{"id":"top","name":"top","knot":2},{"id":"left","name":"side left","knot":3,"old_allowance":{"is":"none"},"finish":{"kind":"seam","allowance_mm":15,"end_mm":25}}]`
)

// Pattern parts of a piece: what is sent is kept, what is left out stays, what is
// wrong is named and changes nothing.
func TestPatternPartsOfAPiece(t *testing.T) {
	r := newRig(t)
	_, piece := r.traced()
	at := "/api/v1/pieces/" + piece.ID
	v := func(n int64) map[string]string { return header("If-Match", rest.ETag(n)) }
	edit := func(more string) string { return `{"name":"Front",` + bigSquare + `,` + more + `}` }
	bad := func(name, more string, must ...string) scenario {
		return scenario{name: name, method: "PUT", url: at, body: edit(more), headers: v(2), status: 422, must: must}
	}
	finish := func(f string) string {
		return `"edges":[{"id":"a","name":"all round","knot":0,"old_allowance":{"is":"none"},"finish":` + f + `}]`
	}
	r.play([]scenario{
		{name: "a fresh piece has edges", method: "GET", url: at, status: 200, must: []string{`"edges":[{"id":"edge-1"`, `"marks":[]`, `"plane_to_piece":`, `"face":"right"`}},
		{
			name: "save parts", method: "PUT", url: at, body: edit(fourEdges + `,"outline_means":"cut-edge","label":{"cuts":[{"count":2,"mirrored":true}]},"marks":[{"id":"n","kind":"notch","edge":"right","at":0.5},{"id":"d","kind":"drill-hole","points_mm":[[20,30]]}]`), headers: v(1), status: 200,
			must: []string{`"id":"hem"`, `"end_mm":25`, `"kind":"notch"`, `"mirrored":true`, `"version":2`},
		},
		bad("allowance 0", finish(`{"kind":"seam","allowance_mm":0}`), `"body.edges[0].finish.allowance_mm"`, "bound or keep"),
		bad("negative allowance", finish(`{"kind":"seam","allowance_mm":-5}`), `"body.edges[0].finish.allowance_mm"`, "negative"),
		bad("400 mm", finish(`{"kind":"seam","allowance_mm":400}`), `"body.edges[0].finish.allowance_mm"`, "300"),
		bad("inches as text", finish(`{"kind":"seam","allowance_mm":"5/8"}`), `edges[0].finish.allowance_mm`),
		bad("no such finish", finish(`{"kind":"glue"}`), `"body.edges[0].finish.kind"`),
		bad("an edge that begins nowhere", `"edges":[{"id":"a","name":"a","knot":4}]`, `"body.edges[0].knot"`),
		bad("no edges", `"edges":[]`, `"body.edges"`),
		bad("edges twice", `"edges":[{"id":"a","name":"a","knot":0},{"id":"a","name":"b","knot":1}]`, `"body.edges[1].id"`),
		bad("a notch on no edge", `"marks":[{"id":"n","kind":"notch","edge":"elsewhere","at":0.5}]`, `"body.marks[0].edge"`),
		bad("a notch beyond its edge", `"marks":[{"id":"n","kind":"notch","edge":"hem","at":1.5}]`, `"body.marks[0].at"`),
		bad("half a pair", `"label":{"cuts":[{"count":3,"mirrored":true}]}`, `"body.label.cuts[0].count"`),
		bad("no such meaning", `"outline_means":"guess"`, `outline_means`),
		{name: "NaN is no JSON", method: "PUT", url: at, body: edit(finish(`{"kind":"seam","allowance_mm":NaN}`)), headers: v(2), status: 400},
		{name: "nothing changed", method: "GET", url: at, status: 200, must: []string{`"version":2`, `"end_mm":25`}},
		{name: "what is left out stays", method: "PUT", url: at, body: `{"name":"Front",` + bigSquare + `}`, headers: v(2), status: 200, must: []string{`"end_mm":25`, `"kind":"notch"`, `"mirrored":true`}},
	})

	// Two knots are put in and one is dragged far: edges and marks go along.
	dragged := `"knots":[{"at":[0,0],"corner":true},{"at":[200,0],"corner":true},{"at":[205,100],"corner":false},{"at":[500,300],"corner":true},{"at":[0,300],"corner":true}]`
	p := mustJSON[api.Piece](r, r.want(200, "PUT", at, `{"name":"Front",`+dragged+`}`, v(3)))
	var begins []int
	for _, e := range p.Edges {
		begins = append(begins, e.Knot)
	}
	if !slices.Equal(begins, []int{0, 1, 3, 4}) || p.Edges[3].Finish.EndMM != 25 || len(p.Marks) != 2 || p.Marks[0].Detached != "" {
		t.Errorf("edges begin at knots %v: %+v, marks %+v", begins, p.Edges, p.Marks)
	}
	// An edge is taken away: its notch is kept, detached, and told.
	p = mustJSON[api.Piece](r, r.want(200, "PUT", at, `{"name":"Front",`+bigSquare+`,"edges":[{"id":"hem","name":"hem","knot":0},{"id":"top","name":"top","knot":2}]}`, v(4)))
	if len(p.Marks) != 2 || p.Marks[0].Detached == "" || !slices.ContainsFunc(p.Findings, func(f geometry.Finding) bool { return f.Code == pattern.CodeDetached }) {
		t.Errorf("marks %+v, findings %+v", p.Marks, p.Findings)
	}
	// With edges left out, marks that are sent hang on the edges as they are.
	r.want(200, "PUT", at, `{"name":"Front",`+dragged+`,"marks":[{"id":"t","kind":"notch","edge":"top","at":0.25}]}`, v(5))
}

// The cut line of an edit that is not saved.
func TestDraftOfAnEdit(t *testing.T) {
	r := newRig(t)
	_, piece := r.traced()
	at := "/api/v1/pieces/" + piece.ID
	body := `{"name":"Front",` + bigSquare + `,` + fourEdges + `}`
	d := mustJSON[pattern.Drafted](r, r.want(200, "POST", at+"/draft", body, nil))
	lo, hi := d.CutLine.Flatten(0.1).Bounds()
	// 30 mm of hem below; 5 mm more than the old allowance at the right, 25 to 15 at the left.
	if lo.Y != -30 || hi.Y != 300 || hi.X != 205 || lo.X > -24 {
		t.Errorf("the cut line spans %v to %v", lo, hi)
	}
	if !slices.ContainsFunc(d.Label, func(l string) bool { return strings.Contains(l, "15 mm to 25 mm seam allowance") }) {
		t.Errorf("label %q", d.Label)
	}
	wide := strings.Replace(body, `"is":"length","mm":10`, `"is":"length","mm":250`, 1)
	r.play([]scenario{
		{name: "in inches", method: "POST", url: at + "/draft?unit=in", body: body, status: 200, must: []string{`9/16`}},
		{name: "no such unit", method: "POST", url: at + "/draft?unit=ell", body: body, status: 422, must: []string{"query.unit"}},
		{name: "too wide", method: "POST", url: at + "/draft", body: wide, status: 422, must: []string{`body.edges`, "old_allowance"}},
		{name: "crossing", method: "POST", url: at + "/draft", body: `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[300,0],"corner":true},{"at":[0,200],"corner":true},{"at":[300,260],"corner":true},{"at":[0,300],"corner":true}]}`, status: 422, must: []string{`"body.knots"`, "itself"}},
		{name: "3 mm wide", method: "POST", url: at + "/draft", body: `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[3,0],"corner":true},{"at":[3,200],"corner":true},{"at":[0,200],"corner":true}]}`, status: 422, must: []string{`"body.knots"`, "scale"}},
		{name: "5 m wide", method: "POST", url: at + "/draft", body: `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[5000,0],"corner":true},{"at":[5000,200],"corner":true},{"at":[0,200],"corner":true}]}`, status: 422, must: []string{`"body.knots"`, "scale"}},
		{name: "of no piece", method: "POST", url: "/api/v1/pieces/nobody/draft", body: body, status: 404},
		{name: "nothing was saved", method: "GET", url: at, status: 200, must: []string{`"version":1`, `"edge-1"`}},
		{name: "of what is saved", method: "GET", url: at + "/draft", status: 200, must: []string{`"cut_line"`, `"plane_to_piece"`}},
	})
}

// What a garment says of its pieces: seams and the like.
func TestPatternPartsOfAGarment(t *testing.T) {
	r := newRig(t)
	photo, piece := r.traced()
	gm := "/api/v1/garments/" + photo.GarmentID
	version := func() map[string]string {
		return header("If-Match", rest.ETag(mustJSON[api.Garment](r, r.want(200, "GET", gm, "", nil)).Version))
	}
	run := func(edge string) string { return `[{"piece":"` + piece.ID + `","edge":"` + edge + `"}]` }
	pair := func(a, b string) string {
		return `{"seam_pairs":[{"id":"s","name":"side","a":` + run(a) + `,"b":` + run(b) + `}]}`
	}
	bad := func(name, body string, must ...string) scenario {
		return scenario{name: name, method: "PATCH", url: gm, body: body, headers: version(), status: 422, must: must}
	}
	r.play([]scenario{
		{name: "none yet", method: "GET", url: gm, status: 200, must: []string{`"seam_pairs":[]`, `"cloths":[]`, `"measures":[]`}},
		{name: "set", method: "PATCH", url: gm, body: `{"cloths":[{"id":"l","name":"linen","use":"main","width_mm":1400}],"size_worn":"M","date":"2026-03-02","pattern_version":"2","notes":"two\nlines"}`, headers: version(), status: 200, must: []string{`"width_mm":1400`, `"pattern_version":"2"`}},
		{name: "a seam with itself", method: "PATCH", url: gm, body: pair("edge-1", "edge-1"), headers: version(), status: 412},
	})
	r.play([]scenario{
		bad("a seam with itself", pair("edge-1", "edge-1"), `"body.seam_pairs[0].b[0]"`, "itself"),
		bad("an edge that is not there", pair("edge-1", "edge-9"), `"body.seam_pairs[0].b[0].edge"`, "edge-9"),
		bad("a piece that is not there", `{"measures":[{"id":"m","name":"hem","parts":[{"piece":"nobody","edge":"a"}]}]}`, `"body.measures[0].parts[0].piece"`),
		bad("a date in words", `{"date":"spring"}`, `"body.date"`),
		bad("a cloth of a kilometre", `{"cloths":[{"id":"l","name":"linen","use":"main","width_mm":1e6}]}`, `"body.cloths[0].width_mm"`),
		bad("twice the same id", `{"cloths":[{"id":"l","name":"linen","use":"main"},{"id":"l","name":"silk","use":"lining"}]}`, `"body.cloths[1].id"`),
		{name: "nothing changed", method: "GET", url: gm, status: 200, must: []string{`"seam_pairs":[]`, `"width_mm":1400`, `"date":"2026-03-02"`}},
		{name: "a seam", method: "PATCH", url: gm, body: pair("edge-1", "edge-2"), headers: version(), status: 200, must: []string{`"edge":"edge-2"`, `"width_mm":1400`}},
		{name: "checked", method: "GET", url: gm + "/check", status: 200, must: []string{`"name":"side"`, `"known":false`, "old-allowance-unknown", "grain-missing"}},
		{name: "drafted", method: "GET", url: gm + "/draft", status: 200, must: []string{`"secondcut-draft/1"`, `"cut_line"`}},
	})
	// Traced anew, the piece has another id, and the seam goes on with it.
	job := mustJSON[struct {
		JobID string `json:"job_id"`
	}](r, r.want(202, "POST", "/api/v1/photos/"+photo.ID+"/trace", `{"strokes":[],"anew":true}`, nil)).JobID
	r.events(job, 0, nil)
	g := mustJSON[api.Garment](r, r.want(200, "GET", gm, "", nil))
	if g.Pieces[0].ID == piece.ID || g.SeamPairs[0].A[0].Piece != g.Pieces[0].ID {
		t.Errorf("piece %s, seam %+v", g.Pieces[0].ID, g.SeamPairs[0])
	}
}

// One piece that cannot be drawn does not keep the others from being drawn and checked.
func TestOneBadPieceOfAGarment(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	bow := `{"name":"Bow","knots":[{"at":[0,0],"corner":true},{"at":[300,0],"corner":true},{"at":[0,200],"corner":true},{"at":[300,260],"corner":true},{"at":[0,300],"corner":true}]}`
	r.want(200, "PUT", "/api/v1/pieces/"+g.Pieces[3].ID, bow, header("If-Match", `"v1"`))
	d := mustJSON[struct{ Pieces []pattern.Drafted }](r, r.want(200, "GET", "/api/v1/garments/"+g.ID+"/draft", "", nil))
	for i, p := range d.Pieces {
		if p.Drawn() == (i == 3) {
			t.Errorf("piece %d, %s: drawn %v, findings %+v", i, p.Name, p.Drawn(), p.Findings)
		}
	}
	if f := d.Pieces[3].Findings; len(f) == 0 || f[0].Remedy == "" {
		t.Errorf("findings %+v", f)
	}
	report := mustJSON[pattern.Report](r, r.want(200, "GET", "/api/v1/garments/"+g.ID+"/check", "", nil))
	if len(report.Seams) < 6 || !report.OK() {
		t.Errorf("seams %+v", report.Seams)
	}
}

func TestPresetsAndSchema(t *testing.T) {
	r := newRig(t)
	list := mustJSON[struct{ Items []pattern.Preset }](r, r.want(200, "GET", "/api/v1/presets", "", nil))
	if len(list.Items) != len(pattern.Presets()) || list.Items[0].Source == "" {
		t.Errorf("%d presets", len(list.Items))
	}
	res, data := r.do("GET", "/api/v1/schema/garment", nil, nil)
	if res.Header.Get("Content-Type") != "application/schema+json" || !bytes.Equal(data, pattern.Schema()) {
		t.Errorf("schema: %s, %d bytes", res.Header.Get("Content-Type"), len(data))
	}
}
