package rest_test

import (
	"encoding/xml"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
)

// walkLibrary asks for all that a garment's place in the library needs.
func (r *rig) walkLibrary(g string) {
	r.Helper()
	r.want(200, "GET", g+"/picture", "", nil)
	r.want(404, "GET", "/api/v1/garments/nobody/picture", "", nil)
	r.want(201, "POST", g+"/remake", `{"name":"Coat, larger"}`, nil)
	r.want(404, "POST", "/api/v1/garments/nobody/remake", `{"name":"Coat"}`, nil)
	r.want(422, "POST", g+"/remake", `{"name":" "}`, nil)
}

// A remake has the pieces of its original, its tags, and a link to it, and changes
// apart from it; the list shows tags, size and origin.
func TestRemake(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	g = mustJSON[api.Garment](r, r.want(200, "PATCH", url,
		`{"tags":["stage"," work  wear ","stage"],"size_measured":"M","lays":[{"cloth":"","pieces":[{"piece":"`+g.Pieces[0].ID+`","name":"Front","id":"`+g.Pieces[0].ID+`","x":1,"y":2,"rotation_deg":-90,"mirrored":false,"layers":1,"fixed":true}]}]}`,
		header("If-Match", rest.ETag(g.Version))))
	if strings.Join(g.Tags, "|") != "stage|work wear" || len(g.Lays) != 1 || !g.Lays[0].Pieces[0].Fixed || g.Lays[0].Pieces[0].Y != 2 {
		t.Errorf("kept: tags %q, lays %+v", g.Tags, g.Lays)
	}
	made := mustJSON[api.Garment](r, r.want(201, "POST", url+"/remake", `{"name":"Smock in wool"}`, nil))
	if made.Origin == nil || made.Origin.ID != g.ID || made.Origin.Name != g.Name || made.Name != "Smock in wool" {
		t.Errorf("made %q after %+v", made.Name, made.Origin)
	}
	if len(made.Pieces) != len(g.Pieces) || len(made.Lays) != 0 || len(made.Tags) != 2 || len(made.SeamPairs) != len(g.SeamPairs) {
		t.Errorf("made %d pieces, %d layouts, %d tags, %d seams", len(made.Pieces), len(made.Lays), len(made.Tags), len(made.SeamPairs))
	}
	if made.Pieces[0].ID == g.Pieces[0].ID {
		t.Error("both garments hold the same piece")
	}
	r.want(200, "GET", "/api/v1/garments/"+made.ID+"/check", "", nil)
	list := mustJSON[struct{ Items []api.GarmentSummary }](r, r.want(200, "GET", "/api/v1/garments", "", nil)).Items
	if len(list) != 2 {
		t.Fatalf("%d garments are listed", len(list))
	}
	for _, s := range list {
		if s.Size != "M" || len(s.Tags) != 2 || (s.ID == made.ID) != (s.Origin != nil) {
			t.Errorf("listed: %+v", s)
		}
	}
	for what, body := range map[string]string{
		"two for one cloth": `{"lays":[{"cloth":"a","pieces":[]},{"cloth":"a","pieces":[]}]}`,
		"a place far away":  `{"lays":[{"cloth":"a","pieces":[{"piece":"a","name":"a","id":"a","x":1e9,"y":0,"rotation_deg":0,"mirrored":false,"layers":1}]}]}`,
		"a long tag":        `{"tags":["` + strings.Repeat("a", 41) + `"]}`,
	} {
		if _, data := r.do("PATCH", url, reader(body), header("If-Match", rest.ETag(g.Version))); !strings.Contains(string(data), `"code":"invalid"`) {
			t.Errorf("%s: %s", what, data)
		}
	}
}

// The picture is well-formed XML with a closed line for each piece.
func TestPicture(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	res, data := r.do("GET", "/api/v1/garments/"+g.ID+"/picture", nil, nil)
	var svg struct {
		Path struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	if err := xml.Unmarshal(data, &svg); err != nil || res.Header.Get("Content-Type") != "image/svg+xml" || res.Header.Get("ETag") == "" {
		t.Fatalf("%v: type %s", err, res.Header.Get("Content-Type"))
	}
	if n := strings.Count(svg.Path.D, "Z"); n != len(g.Pieces) {
		t.Errorf("%d lines are drawn for %d pieces", n, len(g.Pieces))
	}
	if len(data) > 20_000 {
		t.Errorf("the picture has %d bytes", len(data))
	}
}
