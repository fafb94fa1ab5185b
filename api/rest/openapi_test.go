package rest_test

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/gorillamux"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/vision"
)

// document is the service's own description, in the 3.0 form that the checker
// reads.
func document(r *rig) *openapi3.T { return documentAs(r, nil) }

func documentAs(r *rig, headers map[string]string) *openapi3.T {
	r.Helper()
	data := r.from("127.0.0.1:1", "GET", "http://127.0.0.1"+rest.Base+"/openapi-3.0.json", headers).Body.Bytes()
	doc, err := openapi3.NewLoader().LoadFromData(data)
	r.must(err)
	return doc
}

func TestOpenAPIDocument(t *testing.T) {
	r := newRig(t)
	if err := document(r).Validate(t.Context()); err != nil {
		t.Error(err)
	}
	res, data := r.do("GET", rest.Base+"/openapi.json", nil, nil)
	if res.StatusCode != 200 || !strings.Contains(string(data), `"openapi":"3.1.0"`) {
		t.Errorf("3.1 document: status %d: %.100s", res.StatusCode, data)
	}
}

// checker compares each exchange of a rig with the document.
type checker struct {
	t      *testing.T
	router routers.Router
	seen   map[string]bool
}

func (k *checker) check(req *http.Request, res *http.Response, body []byte) {
	k.t.Helper()
	route, params, err := k.router.FindRoute(req)
	if err != nil {
		k.t.Errorf("%s %s is not in the document: %v", req.Method, req.URL.Path, err)
		return
	}
	k.seen[route.Operation.OperationID] = true
	in := &openapi3filter.ResponseValidationInput{
		RequestValidationInput: &openapi3filter.RequestValidationInput{Request: req, PathParams: params, Route: route},
		Status:                 res.StatusCode,
		Header:                 res.Header,
		Body:                   io.NopCloser(bytes.NewReader(body)),
		Options:                &openapi3filter.Options{IncludeResponseStatus: true},
	}
	if strings.Contains(res.Header.Get("Content-Type"), "json") {
		err = openapi3filter.ValidateResponse(context.Background(), in)
	} else if r := route.Operation.Responses.Status(res.StatusCode); r == nil || r.Value.Content.Get(res.Header.Get("Content-Type")) == nil && len(body) > 0 {
		k.t.Errorf("%s %s: status %d with type %s is not in the document", req.Method, req.URL.Path, res.StatusCode, res.Header.Get("Content-Type"))
	}
	if err != nil {
		k.t.Errorf("%s %s: %v", req.Method, req.URL.Path, err)
	}
}

// A walk through all operations, good and bad: what comes back is what the
// document says.
func TestAnswersKeepToTheDocument(t *testing.T) {
	r := newRig(t)
	doc := document(r)
	doc.Servers = openapi3.Servers{{URL: r.server.URL + rest.Base}}
	router, err := gorillamux.NewRouter(doc)
	r.must(err)
	k := &checker{t, router, map[string]bool{}}
	r.check = k.check
	openapi3filter.RegisterBodyDecoder("application/problem+json", openapi3filter.JSONBodyDecoder)

	photo, piece := r.traced()
	g, ph, pc := "/api/v1/garments/"+photo.GarmentID, "/api/v1/photos/"+photo.ID, "/api/v1/pieces/"+piece.ID
	knots := `{"name":"Saved","knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,10],"corner":true}]}`
	r.want(200, "POST", pc+"/smooth", `{"smooth":-0.5}`, nil)
	r.want(404, "POST", "/api/v1/pieces/none/smooth", `{"smooth":0}`, nil)
	r.want(200, "PUT", pc, knots, header("If-Match", `"v1"`))
	r.want(412, "PUT", pc, knots, header("If-Match", `"v1"`))
	r.want(428, "PUT", pc, knots, nil)
	r.want(422, "PUT", pc, `{"name":"","knots":[]}`, header("If-Match", `"v2"`))
	for _, f := range []string{"json", "svg", "pdf", "dxf", "png"} {
		r.want(200, "GET", pc+"/export?format="+f, "", nil)
	}
	for _, f := range []string{"json", "svg", "pdf"} {
		r.want(200, "GET", g+"/export?format="+f, "", nil)
	}
	edit := `{"name":"Draft","knots":[{"at":[0,0],"corner":true},{"at":[100,0],"corner":true},{"at":[100,100],"corner":true}],"label":{"notes":"a"},"marks":[{"id":"g","kind":"grain","deg":90}],` +
		`"edges":[{"id":"a","name":"hem","knot":0,"old_allowance":{"is":"length","mm":5},"finish":{"kind":"hem","depth_mm":20,"turns":2,"turn_under_mm":6}},{"id":"b","name":"side","knot":1},{"id":"c","name":"other side","knot":2}]}`
	r.want(200, "GET", pc+"/draft", "", nil)
	r.want(200, "POST", pc+"/draft?unit=in", edit, nil)
	r.want(422, "POST", pc+"/draft", strings.Replace(edit, `"mm":5`, `"mm":500`, 1), nil)
	r.want(200, "GET", g+"/draft", "", nil)
	r.want(200, "GET", g+"/check", "", nil)
	r.want(200, "GET", "/api/v1/presets", "", nil)
	r.want(200, "GET", "/api/v1/schema/garment", "", nil)
	file := r.want(200, "GET", g+"/file", "", nil)
	r.want(201, "POST", "/api/v1/garments/file", string(file), nil)
	r.want(422, "POST", "/api/v1/garments/file", `{"format":"secondcut-garment/9"}`, nil)
	r.want(200, "PATCH", ph, `{"face":"wrong"}`, nil)
	r.want(200, "GET", "/api/v1/cards.pdf?sheet=97&paper=letter", "", nil)
	r.want(422, "GET", "/api/v1/cards.pdf?sheet=98", "", nil)
	r.want(200, "GET", "/api/v1/lan", "", nil)
	job := mustJSON[struct {
		JobID string `json:"job_id"`
	}](r, r.want(202, "POST", ph+"/trace", `{"strokes":[]}`, nil)).JobID
	r.want(200, "GET", "/api/v1/jobs/"+job+"/events", "", nil)
	r.want(200, "GET", "/api/v1/jobs/"+job, "", nil)
	drawn := mustJSON[api.Job](r, r.want(202, "POST", g+"/exports", `{"format":"png"}`, nil)).ID
	r.want(200, "GET", "/api/v1/jobs/"+drawn+"/events", "", nil)
	r.want(200, "GET", "/api/v1/jobs/"+drawn, "", nil)
	r.want(200, "GET", "/api/v1/jobs/"+drawn+"/file", "", nil)
	r.want(404, "GET", "/api/v1/jobs/"+job+"/file", "", nil)
	r.want(422, "POST", g+"/exports", `{"format":"pdf","paper":"b5"}`, nil)
	r.want(200, "DELETE", "/api/v1/jobs/"+job, "", nil)
	for _, what := range []string{"", "/image", "/plane"} {
		r.want(200, "GET", ph+what, "", nil)
	}
	r.tracer.trace = func(context.Context, []api.Stroke) (*vision.Trace, error) {
		return nil, vision.Refuse(vision.CodeNoCard, "No card.", "Lay one.")
	}
	refused, job := r.upload(photo.GarmentID, "", photoBytes(300, 300))
	r.events(job, 0, nil)
	r.want(200, "GET", "/api/v1/photos/"+refused.ID, "", nil)
	r.want(200, "GET", "/api/v1/garments", "", nil)
	v := mustJSON[api.Garment](r, r.want(200, "GET", g, "", nil)).Version
	r.want(200, "PATCH", g, `{"name":"Coat"}`, header("If-Match", rest.ETag(v)))
	r.want(412, "PATCH", g, `{"name":"Hat"}`, header("If-Match", `"v1"`))
	r.walkAmend()
	r.walkLibrary(g)
	r.walkSwatches(g)
	r.walkLay()
	r.walkHistory(g, pc)
	r.walkUploads(g)
	r.walkTrash(g, ph, pc)
	r.want(200, "GET", "/api/v1/session", "", nil)
	r.want(404, "POST", "/api/v1/session", `{"name":"nobody","secret":"guess"}`, nil)
	r.want(204, "DELETE", "/api/v1/session", "", nil)
	link := mustJSON[linkMade](r, r.want(201, "POST", g+"/links", `{"days":3}`, nil))
	r.want(422, "POST", g+"/links", `{"days":0}`, nil)
	r.want(200, "GET", g+"/links", "", nil)
	r.want(204, "DELETE", g+"/links/"+link.ID, "", nil)
	r.want(404, "DELETE", g+"/links/"+link.ID, "", nil)
	archive := r.want(200, "GET", "/api/v1/archive", "", nil)
	r.want(200, "POST", "/api/v1/archive", string(archive), header("Content-Type", "application/x-tar"))
	r.want(400, "POST", "/api/v1/archive", "none", header("Content-Type", "application/x-tar"))
	r.want(204, "DELETE", g, "", nil)
	r.want(404, "GET", g, "", nil)

	for path, methods := range doc.Paths.Map() {
		for method, o := range methods.Operations() {
			if !k.seen[o.OperationID] && !slices.Contains([]string{"garment-events"}, o.OperationID) {
				t.Errorf("%s %s was not walked", method, path)
			}
		}
	}
}
