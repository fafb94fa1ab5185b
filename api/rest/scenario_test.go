package rest_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
	"net/http"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
)

// scenario is one request and what its answer must be.
type scenario struct {
	name, method, url, body string
	headers                 map[string]string
	status                  int
	must, mustNot           []string
}

func (r *rig) play(all []scenario) {
	r.Helper()
	for _, s := range all {
		r.Run(s.name, func(t *testing.T) {
			var body io.Reader
			if s.body != "" {
				body = reader(s.body)
			}
			res, data := r.do(s.method, s.url, body, s.headers)
			if res.StatusCode != s.status {
				t.Fatalf("status %d, want %d: %s", res.StatusCode, s.status, data)
			}
			if s.status >= 400 {
				isProblem(t, res, data)
			}
			for _, m := range s.must {
				if !strings.Contains(string(data), m) {
					t.Errorf("answer lacks %q: %s", m, data)
				}
			}
			for _, m := range append(s.mustNot, "sqlite", "SQL", ".go:", r.dir) {
				if strings.Contains(string(data), m) {
					t.Errorf("answer has %q: %s", m, data)
				}
			}
		})
	}
}

// isProblem checks that an answer tells a person and a program what is wrong.
func isProblem(t *testing.T, res *http.Response, data []byte) {
	t.Helper()
	if ct := res.Header.Get("Content-Type"); ct != "application/problem+json" {
		t.Errorf("type of a problem is %q: %s", ct, data)
	}
	p := mustJSON[rest.Problem](&rig{T: t}, data)
	if p.Code == "" || p.Detail == "" || p.Remedy == "" || p.Title == "" || p.Status != res.StatusCode {
		t.Errorf("incomplete problem: %+v", p)
	}
}

func TestGarments(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	at := "/api/v1/garments/" + g.ID
	r.play([]scenario{
		{name: "list", method: "GET", url: "/api/v1/garments", status: 200, must: []string{`"items":[{`, `"piece_count":0`}},
		{name: "get", method: "GET", url: at, status: 200, must: []string{`"photos":[]`, `"pieces":[]`, `"version":1`}},
		{name: "missing", method: "GET", url: "/api/v1/garments/nobody", status: 404, must: []string{`"code":"not-found"`}},
		{name: "no name", method: "POST", url: "/api/v1/garments", body: `{"name":"  "}`, status: 422, must: []string{`"field":"body.name"`}},
		{name: "long name", method: "POST", url: "/api/v1/garments", body: `{"name":"` + strings.Repeat("ä", 201) + `"}`, status: 422},
		{name: "wrong type", method: "POST", url: "/api/v1/garments", body: `{"name":7}`, status: 422, must: []string{"body.name"}},
		{name: "unknown field", method: "POST", url: "/api/v1/garments", body: `{"name":"a","colour":"red"}`, status: 422, must: []string{"body.colour"}},
		{name: "no JSON", method: "POST", url: "/api/v1/garments", body: `{"name":`, status: 400, must: []string{`"code":"bad-request"`}},
		{name: "empty body", method: "POST", url: "/api/v1/garments", status: 400},
		{name: "form", method: "POST", url: "/api/v1/garments", body: `name=a`, headers: header("Content-Type", "application/x-www-form-urlencoded"), status: 415},
		{name: "too long a body", method: "POST", url: "/api/v1/garments", body: `{"name":"` + strings.Repeat("x", 5<<20) + `"}`, status: 413},
		{name: "rename without version", method: "PATCH", url: at, body: `{"name":"Coat"}`, status: 428, must: []string{`"code":"version-missing"`}},
		{name: "rename", method: "PATCH", url: at, body: `{"name":" Coat  two "}`, headers: header("If-Match", `"v1"`), status: 200, must: []string{`"name":"Coat two"`, `"version":2`}},
		{name: "rename from old", method: "PATCH", url: at, body: `{"name":"Hat"}`, headers: header("If-Match", `"v1"`), status: 412, must: []string{`"code":"stale"`, `"current":{`, `"name":"Coat two"`}},
		{name: "rename with a foreign tag", method: "PATCH", url: at, body: `{"name":"Hat"}`, headers: header("If-Match", `"abc"`), status: 412},
		{name: "wrong method", method: "PUT", url: at, body: `{}`, status: 405},
		{name: "no such route", method: "GET", url: "/api/v1/nothing", status: 404},
		{name: "delete", method: "DELETE", url: at, status: 204},
		{name: "deleted", method: "GET", url: at, status: 404},
		{name: "delete again", method: "DELETE", url: at, status: 404},
	})
}

// bigPNG is a PNG whose header claims width x height pixels.
func bigPNG(width, height uint32) []byte {
	head := binary.BigEndian.AppendUint32([]byte("IHDR"), width)
	head = append(binary.BigEndian.AppendUint32(head, height), 8, 2, 0, 0, 0)
	out := binary.BigEndian.AppendUint32([]byte("\x89PNG\r\n\x1a\n"), 13)
	return binary.BigEndian.AppendUint32(append(out, head...), crc32.ChecksumIEEE(head))
}

// zeros is an endless body.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { return len(b), nil }

func TestBadUploads(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	good := photoBytes(400, 300)
	tests := []struct {
		name, contentType string
		body              io.Reader
		status            int
		code              string
	}{
		{"nothing", "image/jpeg", http.NoBody, 415, "not-an-image"},
		{"text named as a picture", "image/jpeg", reader("Dear diary, ..."), 415, "not-an-image"},
		{"text", "text/plain", reader("Dear diary, ..."), 415, "not-an-image"},
		{"cut inside its header", "image/jpeg", bytes.NewReader(good[:40]), 422, "truncated"},
		{"another kind", "image/gif", reader("GIF89a......"), 415, "unsupported"},
		{"300 megapixels", "image/png", bytes.NewReader(bigPNG(20000, 15000)), 422, "too-large"},
		{"absurd size", "image/png", bytes.NewReader(bigPNG(1<<31-1, 1<<31-1)), 422, "truncated"},
		{"thumbnail", "image/jpeg", bytes.NewReader(photoBytes(40, 30)), 422, "too-small"},
		{"200 MB, length told", "image/jpeg", told{io.LimitReader(zeros{}, 200<<20), 200 << 20}, 413, "too-large"},
		{"200 MB, length untold", "image/jpeg", io.LimitReader(zeros{}, 200<<20), 413, "too-large"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			res, data := r.raw("/api/v1/garments/"+g.ID+"/photos?name=a.jpg", tt.contentType, tt.body)
			if res.StatusCode != tt.status || !strings.Contains(string(data), `"code":"`+tt.code+`"`) {
				t.Fatalf("status %d, want %d with code %s: %s", res.StatusCode, tt.status, tt.code, data)
			}
			isProblem(t, res, data)
		})
	}
	r.play([]scenario{
		{name: "no such garment", method: "POST", url: "/api/v1/garments/nobody/photos", body: string(good), headers: header("Content-Type", "image/jpeg"), status: 404},
		{name: "bad face", method: "POST", url: "/api/v1/garments/" + g.ID + "/photos?face=left", body: string(good), headers: header("Content-Type", "image/jpeg"), status: 422, must: []string{"query.face"}},
		{name: "nothing is left", method: "GET", url: "/api/v1/garments/" + g.ID, status: 200, must: []string{`"photos":[]`, `"version":1`}},
	})
	if n := r.leftovers(); n != 0 {
		t.Errorf("%d picture files are left", n)
	}
}

// told is a body with a Content-Length.
type told struct {
	io.Reader
	length int64
}

// raw uploads a body that may be cut off by an early answer.
func (r *rig) raw(url, contentType string, body io.Reader) (*http.Response, []byte) {
	r.Helper()
	req, err := http.NewRequestWithContext(r.Context(), "POST", r.server.URL+url, body)
	r.must(err)
	if l, ok := body.(told); ok {
		req.ContentLength = l.length
	}
	req.Header.Set("Content-Type", contentType)
	res, err := http.DefaultClient.Do(req)
	r.must(err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	r.must(err)
	return res, data
}

func TestPhotoAndPiece(t *testing.T) {
	r := newRig(t)
	photo, piece := r.traced()
	if photo.Status != api.PhotoTraced || photo.Width != 400 || photo.Height != 300 || photo.Face != api.FaceRight || photo.Plane.Origin != pt(-1, 2) {
		t.Errorf("photo: %+v", photo)
	}
	if piece.Name != "Front" || len(piece.Knots) != 3 || piece.Knots[1].Out == nil || piece.UncertaintyMM != 0.3 || len(piece.Unsure) != 1 {
		t.Errorf("piece: %+v", piece)
	}
	at, ph, gm := "/api/v1/pieces/"+piece.ID, "/api/v1/photos/"+photo.ID, "/api/v1/garments/"+photo.GarmentID
	square := `"knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,10],"corner":false,"out":[9,12]},{"at":[0,14],"corner":true}]`
	bow := `"knots":[{"at":[0,0],"corner":true},{"at":[10,10],"corner":true},{"at":[10,0],"corner":true},{"at":[0,14],"corner":true}]`
	v := func(n int) map[string]string { return header("If-Match", fmt.Sprintf(`"v%d"`, n)) }
	many := `{"name":"a","knots":[` + strings.Repeat(`{"at":[0,0],"corner":true},`, 5000) + `{"at":[1,1],"corner":true}]}`
	r.play([]scenario{
		{name: "smoother", method: "POST", url: at + "/smooth", body: `{"smooth":0.5}`, status: 200, must: []string{`"knots":[{"at":[`, `"corner":true`, `"holes":[]`, `"uncertainty_mm":`, `"fray_mm":`, `"findings":[`}},
		{name: "too smooth", method: "POST", url: at + "/smooth", body: `{"smooth":1.5}`, status: 422, must: []string{"smooth"}},
		{name: "smooth by another job", method: "POST", url: at + "/smooth", body: `{"smooth":0,"job_id":"nobody"}`, status: 404, must: []string{"job"}},
		{name: "smooth nothing", method: "POST", url: "/api/v1/pieces/nobody/smooth", body: `{"smooth":0}`, status: 404, must: []string{"piece"}},
		{name: "nothing saved by that", method: "GET", url: at, status: 200, must: []string{`"version":1`, `"out":[95,30]`}},
		{name: "save without version", method: "PUT", url: at, body: `{"name":"a",` + square + `}`, status: 428},
		{name: "save", method: "PUT", url: at, body: `{"name":"Back",` + square + `,"holes":[],"strokes":[{"kind":"cloth","width_mm":5,"points_mm":[[1,2]]}]}`, headers: v(1), status: 200, must: []string{`"version":2`, `"name":"Back"`, `"out":[9,12]`, `"points_mm":[[1,2]]`, `"uncertainty_mm":0.3`}},
		{name: "save from old", method: "PUT", url: at, body: `{"name":"Hat",` + square + `}`, headers: v(1), status: 412, must: []string{`"current":{`, `"name":"Back"`}},
		{name: "what a new trace said", method: "PUT", url: at, body: `{"name":"Back",` + square + `,"uncertainty_mm":0.7,"fray_mm":0,"unsure":[],"grain":{"deg":87.5,"sure":0.9}}`, headers: v(2), status: 200, must: []string{`"uncertainty_mm":0.7`, `"fray_mm":0`, `"unsure":[]`, `"grain":{"deg":87.5,"sure":0.9}`}},
		{name: "left out, it stays", method: "PUT", url: at, body: `{"name":"Back",` + square + `}`, headers: v(3), status: 200, must: []string{`"uncertainty_mm":0.7`, `"grain":{"deg":87.5,"sure":0.9}`}},
		{name: "negative doubt", method: "PUT", url: at, body: `{"name":"a",` + square + `,"uncertainty_mm":-1}`, headers: v(4), status: 422, must: []string{"uncertainty_mm"}},
		{name: "fray of a barn door", method: "PUT", url: at, body: `{"name":"a",` + square + `,"fray_mm":1001}`, headers: v(4), status: 422, must: []string{"fray_mm"}},
		{name: "doubt nowhere", method: "PUT", url: at, body: `{"name":"a",` + square + `,"unsure":[{"from_mm":[0,0],"to_mm":[0,1e9],"why":""}]}`, headers: v(4), status: 422, must: []string{"unsure[0]"}},
		{name: "grain beyond half a turn", method: "PUT", url: at, body: `{"name":"a",` + square + `,"grain":{"deg":180,"sure":1}}`, headers: v(4), status: 422, must: []string{"grain"}},
		{name: "say the face", method: "PATCH", url: ph, body: `{"face":"wrong"}`, status: 200, must: []string{`"face":"wrong"`, `"file_name":"Front.jpg"`}},
		{name: "rename the photo", method: "PATCH", url: ph, body: `{"file_name":"  Left   front "}`, status: 200, must: []string{`"file_name":"Left front"`, `"face":"wrong"`}},
		{name: "no such face", method: "PATCH", url: ph, body: `{"face":"up"}`, status: 422, must: []string{"face"}},
		{name: "photo of no name", method: "PATCH", url: ph, body: `{"file_name":" "}`, status: 422, must: []string{"body.file_name"}},
		{name: "patch of no photo", method: "PATCH", url: "/api/v1/photos/nobody", body: `{"face":""}`, status: 404},
		{name: "crossing itself", method: "PUT", url: at, body: `{"name":"Bow",` + bow + `}`, headers: v(4), status: 200, must: []string{`"code":"crosses-itself"`, `"where_mm":[5.8333,5.8333]`}},
		{name: "two knots", method: "PUT", url: at, body: `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[1,0],"corner":true}]}`, headers: v(5), status: 422, must: []string{"body.knots"}},
		{name: "a hole of one knot", method: "PUT", url: at, body: `{"name":"a",` + square + `,"holes":[[{"at":[0,0],"corner":true}]]}`, headers: v(5), status: 422, must: []string{"body.holes[0]"}},
		{name: "not finite", method: "PUT", url: at, body: `{"name":"a","knots":[{"at":[0,1e999],"corner":true},{"at":[1,0],"corner":true},{"at":[1,1],"corner":true}]}`, headers: v(5), status: 400},
		{name: "three coordinates", method: "PUT", url: at, body: `{"name":"a","knots":[{"at":[0,1,2],"corner":true},{"at":[1,0],"corner":true},{"at":[1,1],"corner":true}]}`, headers: v(5), status: 422, must: []string{"knots[0].at"}},
		{name: "too wide", method: "PUT", url: at, body: `{"name":"a","knots":[{"at":[0,0],"corner":true},{"at":[20001,0],"corner":true},{"at":[1,1],"corner":true}]}`, headers: v(5), status: 422, must: []string{"20 m"}},
		{name: "handle overflows", method: "PUT", url: at, body: `{"name":"a","knots":[{"at":[0,0],"out":[1e308,0],"in":[-1e308,0],"corner":true},{"at":[2,0],"corner":true},{"at":[1,1],"corner":true}]}`, headers: v(5), status: 422},
		{name: "too many knots", method: "PUT", url: at, body: many, headers: v(5), status: 422, must: []string{"5001"}},
		{name: "no knots", method: "PUT", url: at, body: `{"name":"a"}`, headers: v(5), status: 422},
		{name: "null knots", method: "PUT", url: at, body: `{"name":"a","knots":null}`, headers: v(5), status: 422},
		{name: "bad stroke", method: "PUT", url: at, body: `{"name":"a",` + square + `,"strokes":[{"kind":"silk","width_mm":5,"points_mm":[[1,2]]}]}`, headers: v(5), status: 422, must: []string{"strokes[0].kind"}},
		{name: "unchanged by all that", method: "GET", url: at, status: 200, must: []string{`"version":5`, `"name":"Bow"`}},
		{name: "missing piece", method: "GET", url: "/api/v1/pieces/nobody", status: 404, must: []string{"piece"}},
		{name: "retrace with bad stroke", method: "POST", url: ph + "/trace", body: `{"strokes":[{"kind":"cloth","width_mm":0,"points_mm":[[1,2]]}]}`, status: 422},
		{name: "retrace without body", method: "POST", url: ph + "/trace", status: 400},
		{name: "trace of no photo", method: "POST", url: "/api/v1/photos/nobody/trace", body: `{"strokes":[]}`, status: 404},
		{name: "export svg", method: "GET", url: at + "/export?format=svg", status: 200, must: []string{"<svg", "Bow"}},
		{name: "export json", method: "GET", url: at + "/export?format=json", status: 200, must: []string{`"secondcut-trace/1"`, `"outline_mm"`, `"measured_mm": 64.01`}},
		{name: "export pdf", method: "GET", url: at + "/export?format=pdf&paper=letter", status: 200, must: []string{"%PDF-"}},
		{name: "export png", method: "GET", url: at + "/export?format=png", status: 200, must: []string{"\x89PNG"}},
		{name: "export of no format", method: "GET", url: at + "/export", status: 422},
		{name: "export on no paper", method: "GET", url: at + "/export?format=pdf&paper=b5", status: 422},
		{name: "garment pdf", method: "GET", url: gm + "/export?format=pdf&paper=letter", status: 200, must: []string{"%PDF-"}},
		{name: "garment svg", method: "GET", url: gm + "/export?format=svg", status: 200, must: []string{"<svg", "<title>Smock"}},
		{name: "garment as a picture", method: "GET", url: gm + "/export?format=png", status: 200, must: []string{"\x89PNG"}},
		{name: "delete piece", method: "DELETE", url: at, status: 204},
		{name: "garment of no piece", method: "GET", url: gm + "/export?format=pdf", status: 404, must: []string{`"code":"not-ready"`}},
		{name: "piece deleted", method: "GET", url: at, status: 404},
		{name: "photo stays", method: "GET", url: ph, status: 200, must: []string{`"seen":[{"points_mm":[[`, `"doubts":[{"from":0,"to":0,"uncertainty_mm":0.4,"fray_mm":0.8}]`}},
		{name: "delete photo", method: "DELETE", url: ph, status: 204},
		{name: "photo deleted", method: "GET", url: ph + "/image", status: 404},
		{name: "empty the trash", method: "DELETE", url: "/api/v1/trash", status: 204},
	})
	if n := r.leftovers(); n != 0 {
		t.Errorf("%d picture files are left after the photo was deleted", n)
	}
}

func TestExportName(t *testing.T) {
	r := newRig(t)
	_, piece := r.traced()
	body := `{"name":"Ärmel / \"links\"","knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,10],"corner":true}]}`
	r.want(200, "PUT", "/api/v1/pieces/"+piece.ID, body, header("If-Match", `"v1"`))
	res, _ := r.do("GET", "/api/v1/pieces/"+piece.ID+"/export?format=pdf", nil, nil)
	if d := res.Header.Get("Content-Disposition"); d != "attachment; filename*=utf-8''%C3%84rmel%20-%20-links-.pdf" {
		t.Errorf("disposition %q", d)
	}
	if ct := res.Header.Get("Content-Type"); ct != "application/pdf" {
		t.Errorf("type %q", ct)
	}
}

func TestPictures(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	big, job := r.upload(g.ID, "", photoBytes(2600, 1300))
	r.events(job, 0, nil)
	for _, what := range []string{"/image", "/plane"} {
		res, data := r.do("GET", "/api/v1/photos/"+big.ID+what, nil, nil)
		if res.StatusCode != 200 || res.Header.Get("Content-Type") != "image/jpeg" || !bytes.HasPrefix(data, []byte("\xff\xd8")) {
			t.Fatalf("%s: status %d: %.60q", what, res.StatusCode, data)
		}
		if again, _ := r.do("GET", "/api/v1/photos/"+big.ID+what, nil, header("If-None-Match", res.Header.Get("ETag"))); again.StatusCode != 304 {
			t.Errorf("%s asked for again: status %d", what, again.StatusCode)
		}
	}
	if n := r.leftovers(); n != 3 {
		t.Errorf("%d picture files, want original, upright and plane", n)
	}
	r.want(204, "DELETE", "/api/v1/garments/"+g.ID, "", nil)
	r.want(204, "DELETE", "/api/v1/trash", "", nil)
	if n := r.leftovers(); n != 0 {
		t.Errorf("%d picture files are left after the garment was deleted", n)
	}
}
