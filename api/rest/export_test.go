package rest_test

import (
	"bytes"
	"strings"
	"testing"

	"secondcut/api/rest"
	"secondcut/geometry/pattern"
)

func TestGarmentFile(t *testing.T) {
	r := newRig(t)
	photo, piece := r.traced()
	body := `{"name":"Front","knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,30],"corner":true}],"grain":{"deg":0,"sure":0.9}}`
	r.want(200, "PUT", "/api/v1/pieces/"+piece.ID, body, header("If-Match", `"v1"`))
	res, data := r.do("GET", "/api/v1/garments/"+photo.GarmentID+"/export?format=json", nil, nil)
	if d := res.Header.Get("Content-Disposition"); d != "attachment; filename=Smock.json" {
		t.Errorf("disposition %q", d)
	}
	g, err := pattern.Read(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	// The grain lay across; in the file it runs up.
	if len(g.Pieces) != 1 || g.Pieces[0].ID != piece.ID || g.Pieces[0].Grain == nil || g.Pieces[0].Grain.Deg != 90 {
		t.Errorf("garment %+v", g)
	}
}

// A grain that is only a guess is not printed.
func TestGrainIsPrintedWhenSure(t *testing.T) {
	r := newRig(t)
	_, piece := r.traced()
	at := "/api/v1/pieces/" + piece.ID
	length := map[string]int{}
	for i, sure := range []string{"0.9", "0.59"} {
		body := `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[300,0],"corner":true},{"at":[300,300],"corner":true},{"at":[0,300],"corner":true}],"grain":{"deg":80,"sure":` + sure + `}}`
		r.want(200, "PUT", at, body, header("If-Match", rest.ETag(int64(i+1))))
		length[sure] = strings.Count(string(r.want(200, "GET", at+"/export?format=svg", "", nil)), "<path")
	}
	if length["0.9"] <= length["0.59"] {
		t.Errorf("paths drawn: %v", length)
	}
}

// What is printed is the pattern with its finishes, on the paper that was asked for.
func TestExportOfAPattern(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	gm, front := "/api/v1/garments/"+g.ID+"/export", "/api/v1/pieces/"+g.Pieces[0].ID+"/export"
	r.play([]scenario{
		{name: "all as pdf", method: "GET", url: gm + "?format=pdf", status: 200, must: []string{"%PDF-"}},
		{name: "on a roll", method: "GET", url: gm + "?format=pdf&paper=roll:1200", status: 200, must: []string{"%PDF-"}},
		{name: "some sheets", method: "GET", url: gm + "?format=pdf&tiles=A1,A2", status: 200, must: []string{"%PDF-"}},
		{name: "no such sheet", method: "GET", url: gm + "?format=pdf&tiles=Z99", status: 422, must: []string{"Z99"}},
		{name: "no such paper", method: "GET", url: gm + "?format=pdf&paper=b5", status: 422, must: []string{`"query.paper"`, "roll:WIDTH"}},
		{name: "a roll of a hair", method: "GET", url: gm + "?format=pdf&paper=roll:3", status: 422, must: []string{`"query.paper"`}},
		{name: "a printer that is off", method: "GET", url: gm + "?format=pdf&ruler_across_mm=149.5&ruler_up_mm=200.4", status: 200},
		{name: "a ruler that cannot be", method: "GET", url: gm + "?format=pdf&ruler_across_mm=100", status: 422, must: []string{`"query.ruler_across_mm"`}},
		{name: "in inches", method: "GET", url: front + "?format=svg&unit=in", status: 200, must: []string{"1/4"}},
		{name: "in no unit", method: "GET", url: front + "?format=svg&unit=ell", status: 422, must: []string{"query.unit"}},
		{name: "both lines", method: "GET", url: front + "?format=svg&unfold=true", status: 200, must: []string{"layer-cut-line", "layer-stitch-line"}},
		{name: "a picture", method: "GET", url: front + "?format=png", status: 200, must: []string{"\x89PNG"}},
	})
	// A piece that cannot be drafted is printed as traced, and says so; the others as ever.
	bow := `{"name":"Bow","knots":[{"at":[0,0],"corner":true},{"at":[300,0],"corner":true},{"at":[0,200],"corner":true},{"at":[300,260],"corner":true},{"at":[0,300],"corner":true}]}`
	r.want(200, "PUT", "/api/v1/pieces/"+g.Pieces[3].ID, bow, header("If-Match", `"v1"`))
	r.play([]scenario{
		{name: "the others", method: "GET", url: gm + "?format=svg", status: 200, must: []string{"layer-stitch-line", "Do not cut"}},
	})
}
