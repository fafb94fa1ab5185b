package rest_test

import (
	"fmt"
	"reflect"
	"strings"
	"testing"

	"secondcut/api"
)

// Things of known size go with a photo into its traces, and are kept over a restart.
// The photo is of 400 x 300 pixels.
func TestReferencesOfThePhoto(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	p, job := r.upload(g.ID, "", photoBytes(400, 300))
	r.events(job, 0, nil)
	const sheet = `{"kind":"a4","points_px":[[20,30],[320,28],[330,240],[15,250]]}`
	ph := "/api/v1/photos/" + p.ID
	refs := func(s ...string) string { return `{"references":[` + strings.Join(s, ",") + `]}` }
	bad := func(name, kind, points, must string) scenario {
		return scenario{
			name: name, method: "PATCH", url: ph, body: refs(sheet, fmt.Sprintf(`{"kind":%q,"points_px":%s}`, kind, points)),
			status: 422, must: []string{`references[1]`, must},
		}
	}
	r.play([]scenario{
		{name: "none", method: "GET", url: ph, status: 200, mustNot: []string{`"references"`, "print_changed"}},
		{name: "a sheet", method: "PATCH", url: ph, body: refs(sheet), status: 200, must: []string{refs(sheet)[1 : len(refs(sheet))-1], `"print_changed":true`}},
		bad("outside", "a4", "[[20,30],[420,28],[330,240],[15,250]]", "lies outside the photo"),
		bad("not round", "a4", "[[20,30],[330,240],[320,28],[15,250]]", "do not go round it"),
		bad("tiny", "letter", "[[20,30],[40,30],[40,45],[20,45]]", "too small in the photo"),
		bad("six points", "bank-card", "[[20,30],[320,28],[330,240],[15,250],[15,200],[15,100]]", "eight points"),
		bad("eight of a sheet", "a4", "[[20,30],[100,29],[320,28],[325,100],[330,240],[200,245],[15,250],[17,100]]", "four corners"),
		{name: "unknown", method: "PATCH", url: ph, body: refs(`{"kind":"coin","points_px":[[1,2],[3,4],[5,6],[7,8]]}`), status: 422, must: []string{"references[0].kind"}},
		{name: "a point of three", method: "PATCH", url: ph, body: refs(`{"kind":"a4","points_px":[[20,30,1],[320,28],[330,240],[15,250]]}`), status: 422},
		{name: "too many", method: "PATCH", url: ph, body: refs(sheet, sheet, sheet, sheet, sheet), status: 422, must: []string{"references"}},
		{name: "no photo", method: "PATCH", url: "/api/v1/photos/none", body: refs(sheet), status: 404},
		{name: "refused edits changed nothing", method: "GET", url: ph, status: 200, must: []string{refs(sheet)[1 : len(refs(sheet))-1]}},
	})
	r.stop()
	r.start()
	trace := func(body string) {
		r.events(mustJSON[struct {
			JobID string `json:"job_id"`
		}](r, r.want(202, "POST", ph+"/trace", body, nil)).JobID, 0, nil)
	}
	// A stroke lies on the plane as it was made; only a new start takes the sheet.
	trace(`{"strokes":[]}`)
	trace(`{"strokes":[],"anew":true}`)
	trace(`{"strokes":[]}`)
	want := []api.Reference{{Kind: "a4", Points: [][2]float64{{20, 30}, {320, 28}, {330, 240}, {15, 250}}}}
	if got := r.tracer.references; len(got) != 3 || got[0] != nil || got[1] != nil || !reflect.DeepEqual(got[2], want) {
		t.Errorf("the photo was opened with %v, want none, none, %v", got, want)
	}
	r.play([]scenario{
		{name: "traced with it", method: "GET", url: ph, status: 200, must: []string{`"references"`}, mustNot: []string{"print_changed"}},
		{name: "taken away", method: "PATCH", url: ph, body: refs(), status: 200, must: []string{`"print_changed":true`}, mustNot: []string{`"references"`}},
	})
}
