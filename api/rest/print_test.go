package rest_test

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/vision"
)

// What the printed rulers measure goes with a photo into its traces, and is kept
// over a restart.
func TestPrintOfThePhoto(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	p, job := r.upload(g.ID, "?ruler_across_mm=149.5&ruler_up_mm=199.25", photoBytes(400, 300))
	r.events(job, 0, nil)
	first := api.Print{AcrossMM: 149.5, UpMM: 199.25}
	if p.Print == nil || *p.Print != first {
		t.Fatalf("print of the photo: %+v", p.Print)
	}
	ph := "/api/v1/photos/" + p.ID
	r.play([]scenario{
		{name: "kept", method: "GET", url: ph, status: 200, must: []string{`"print":{"ruler_across_mm":149.5,"ruler_up_mm":199.25}`}, mustNot: []string{"print_changed"}},
		{name: "another face", method: "PATCH", url: ph, body: `{"face":"wrong"}`, status: 200, must: []string{`"ruler_across_mm":149.5`}},
		{name: "too short", method: "PATCH", url: ph, body: `{"print":{"ruler_across_mm":134.9}}`, status: 422, must: []string{`"body.print.ruler_across_mm"`, "135 and 165 mm"}},
		{name: "too long", method: "PATCH", url: ph, body: `{"print":{"ruler_up_mm":220.1}}`, status: 422, must: []string{`"body.print.ruler_up_mm"`, "180 and 220 mm"}},
		{name: "no number", method: "PATCH", url: ph, body: `{"print":{"ruler_up_mm":"200"}}`, status: 422, must: []string{"print.ruler_up_mm"}},
		{name: "refused edits changed nothing", method: "GET", url: ph, status: 200, must: []string{`"print":{"ruler_across_mm":149.5,"ruler_up_mm":199.25}`}, mustNot: []string{"print_changed"}},
		{name: "measured again", method: "PATCH", url: ph, body: `{"print":{"ruler_across_mm":150.5}}`, status: 200, must: []string{`"print":{"ruler_across_mm":150.5}`, `"print_changed":true`}},
	})
	r.stop()
	r.start()
	again := api.Print{AcrossMM: 150.5}
	p = mustJSON[api.Photo](r, r.want(200, "GET", ph, "", nil))
	if p.Print == nil || *p.Print != again || !p.PrintChanged {
		t.Fatalf("after a restart: %+v, changed %v", p.Print, p.PrintChanged)
	}
	piece := mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+g.ID, "", nil)).Pieces[0].ID

	// Strokes lie on the plane as it was made; only a new start takes the new measures.
	trace := func(body string) {
		r.events(mustJSON[struct {
			JobID string `json:"job_id"`
		}](r, r.want(202, "POST", ph+"/trace", body, nil)).JobID, 0, nil)
	}
	trace(`{"strokes":[]}`)
	r.want(200, "GET", "/api/v1/pieces/"+piece, "", nil)
	r.want(200, "PUT", "/api/v1/pieces/"+piece, `{"name":"Left cuff","knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,10],"corner":true}]}`, header("If-Match", `"v1"`))
	r.tracer.trace = func(context.Context, []api.Stroke) (*vision.Trace, error) {
		return nil, vision.Refuse(vision.CodeNoCloth, "No cloth.", "Paint it.")
	}
	plane := r.want(200, "GET", ph+"/plane", "", nil)
	trace(`{"strokes":[],"anew":true}`)
	r.want(200, "GET", "/api/v1/pieces/"+piece, "", nil)
	if p := mustJSON[api.Photo](r, r.want(200, "GET", ph, "", nil)); p.Status != api.PhotoTraced || p.Refusal == nil || !p.PrintChanged || p.Trace == nil || !bytes.Equal(plane, r.want(200, "GET", ph+"/plane", "", nil)) {
		t.Errorf("refused anew, the photo is %s and its pieces have lost trace or plane", p.Status)
	}
	r.tracer.trace = nil
	// Whatever came of that, a stroke still changes no piece.
	trace(`{"strokes":[]}`)
	r.want(200, "GET", "/api/v1/pieces/"+piece, "", nil)
	trace(`{"strokes":[],"anew":true}`)
	r.want(404, "GET", "/api/v1/pieces/"+piece, "", nil)
	if got, want := r.tracer.prints, []api.Print{first, first, again, first, again}; !slices.Equal(got, want) {
		t.Errorf("the photo was opened with %v, want %v", got, want)
	}
	after := mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+g.ID, "", nil))
	if len(after.Pieces) != 1 || after.Pieces[0].Name != "Left cuff" || after.Photos[0].Status != api.PhotoTraced || after.Photos[0].PrintChanged {
		t.Errorf("traced anew: %d pieces, photo %+v", len(after.Pieces), after.Photos[0])
	}
	r.play([]scenario{{name: "forgotten", method: "PATCH", url: ph, body: `{"print":{}}`, status: 200, must: []string{`"print_changed":true`}, mustNot: []string{`"print":`}}})
}

// A photo is not taken in with a ruler that can't be; the answer says which.
func TestUploadWithImpossibleRulers(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	for query, field := range map[string]string{
		"ruler_across_mm=134.99": "query.ruler_across_mm", "ruler_across_mm=165.01": "query.ruler_across_mm",
		"ruler_across_mm=NaN": "query.ruler_across_mm", "ruler_across_mm=-150": "query.ruler_across_mm",
		"ruler_up_mm=179.9": "query.ruler_up_mm", "ruler_up_mm=220.1": "query.ruler_up_mm", "ruler_up_mm=long": "query.ruler_up_mm",
	} {
		res, body := r.do("POST", "/api/v1/garments/"+g.ID+"/photos?"+query, bytes.NewReader(photoBytes(300, 300)), header("Content-Type", "image/jpeg"))
		if res.StatusCode != 422 || !strings.Contains(string(body), fmt.Sprintf("%q", field)) {
			t.Errorf("%s: status %d: %s", query, res.StatusCode, body)
			continue
		}
		isProblem(t, res, body)
	}
	for _, query := range []string{"?ruler_across_mm=135&ruler_up_mm=220", "?ruler_across_mm=165&ruler_up_mm=180", ""} {
		if p, _ := r.upload(g.ID, query, photoBytes(300, 300)); (p.Print == nil) != (query == "") {
			t.Errorf("%q: print %+v", query, p.Print)
		}
	}
}
