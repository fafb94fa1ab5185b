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
