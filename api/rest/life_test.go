package rest_test

import (
	"bytes"
	"context"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"secondcut/api"
	"secondcut/vision"
)

// blockFirst makes the tracer's first run say that it has begun and then wait
// for its end.
func (r *rig) blockFirst() (begun chan struct{}) {
	begun = make(chan struct{})
	var runs atomic.Int32
	plain := session{&tracer{}}
	r.tracer.trace = func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
		if runs.Add(1) > 1 {
			return plain.Trace(ctx, s, func(api.Step) {})
		}
		close(begun)
		<-ctx.Done()
		return nil, ctx.Err()
	}
	return begun
}

// What was uploaded and saved is there after a restart, and a job that was
// running is run again.
func TestRestart(t *testing.T) {
	r := newRig(t)
	photo, piece := r.traced()
	body := `{"name":"Saved","knots":[{"at":[0,0],"corner":true},{"at":[10.1234,0],"corner":true},{"at":[10,10],"corner":true}]}`
	r.want(200, "PUT", "/api/v1/pieces/"+piece.ID, body, header("If-Match", `"v1"`))
	before := r.want(200, "GET", "/api/v1/photos/"+photo.ID, "", nil)
	begun := r.blockFirst()
	second, job := r.upload(photo.GarmentID, "?name=Back.jpg", photoBytes(500, 300))
	<-begun
	r.stop()
	r.start()

	if after := r.want(200, "GET", "/api/v1/photos/"+photo.ID, "", nil); !bytes.Equal(after, before) {
		t.Errorf("the photo changed:\n%s\n%s", before, after)
	}
	got := string(r.want(200, "GET", "/api/v1/pieces/"+piece.ID, "", nil))
	if !strings.Contains(got, `"name":"Saved"`) || !strings.Contains(got, `[10.1234,0]`) || !strings.Contains(got, `"version":2`) {
		t.Errorf("the saved piece came back as %s", got)
	}
	all := r.events(job, 0, nil)
	if last := all[len(all)-1]; last.name != "done" {
		t.Errorf("the interrupted job ended with %s: %s", last.name, last.data)
	}
	if p := mustJSON[api.Photo](r, r.want(200, "GET", "/api/v1/photos/"+second.ID, "", nil)); p.Status != api.PhotoTraced {
		t.Errorf("the second photo is %s", p.Status)
	}
}

func TestIdempotency(t *testing.T) {
	r := newRig(t)
	key := header("Idempotency-Key", "k1")
	first := mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments", `{"name":"Smock"}`, key))
	again := mustJSON[api.Garment](r, r.want(201, "POST", "/api/v1/garments", `{"name":"Smock"}`, key))
	if first.ID != again.ID {
		t.Errorf("the same key made two garments: %s, %s", first.ID, again.ID)
	}
	if p := r.want(422, "POST", "/api/v1/garments", `{"name":"Coat"}`, key); !strings.Contains(string(p), "key-reused") {
		t.Errorf("another garment with the same key: %s", p)
	}
	up := map[string]string{"Idempotency-Key": "k1", "Content-Type": "image/jpeg"}
	at := "/api/v1/garments/" + first.ID + "/photos?name=a.jpg"
	ids := map[string]bool{}
	for range 3 {
		got := r.want(202, "POST", at, string(photoBytes(400, 300)), up)
		ids[mustJSON[struct{ Photo api.Photo }](r, got).Photo.ID] = true
	}
	if len(ids) != 1 {
		t.Errorf("the same key made %d photos", len(ids))
	}
	if p := r.want(422, "POST", at, string(photoBytes(401, 300)), up); !strings.Contains(string(p), "key-reused") {
		t.Errorf("another photo with the same key: %s", p)
	}
	g := mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+first.ID, "", nil))
	if len(g.Photos) != 1 {
		t.Errorf("the garment has %d photos", len(g.Photos))
	}
	at = "/api/v1/photos/" + g.Photos[0].ID + "/trace"
	jobs := map[string]bool{}
	for range 3 {
		id := mustJSON[struct {
			JobID string `json:"job_id"`
		}](r, r.want(202, "POST", at, `{"strokes":[],"anew":true}`, key)).JobID
		jobs[id] = true
		// A repeated request may not stop what the first has begun.
		if all := r.events(id, 0, nil); all[len(all)-1].name != "done" {
			t.Errorf("the trace ended with %+v", all[len(all)-1])
		}
	}
	if len(jobs) != 1 {
		t.Errorf("the same key made %d traces", len(jobs))
	}
	if p := r.want(422, "POST", at, `{"strokes":[]}`, key); !strings.Contains(string(p), "key-reused") {
		t.Errorf("another trace with the same key: %s", p)
	}
}

// A star matches whatever version there is, and a number that is none of ours none.
func TestIfMatch(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	_, piece := r.traced()
	knots := `{"name":"Saved","knots":[{"at":[0,0],"corner":true},{"at":[10,0],"corner":true},{"at":[10,10],"corner":true}]}`
	for tag, status := range map[string]int{"*": 200, `"v-1"`: 412, `"v99"`: 412, `W/"v1"`: 412, `""`: 412, "v1": 412} {
		r.want(status, "PATCH", "/api/v1/garments/"+g.ID, `{"name":"Coat"}`, header("If-Match", tag))
		r.want(status, "PUT", "/api/v1/pieces/"+piece.ID, knots, header("If-Match", tag))
		r.want(status, "POST", "/api/v1/pieces/"+piece.ID+"/versions/1/restore", "", header("If-Match", tag))
		r.want(status, "POST", "/api/v1/garments/"+g.ID+"/versions/1/restore", "", header("If-Match", tag))
	}
}

func TestJobEvents(t *testing.T) {
	r := newRig(t)
	begun := r.blockFirst()
	g := r.garment()
	_, job := r.upload(g.ID, "", photoBytes(400, 300))
	<-begun
	// The tracer waits in its second step: that is the newest event.
	open := r.events(job, 1, nil)
	if open[0].name != "step" || !strings.Contains(open[0].data, `"index":2`) {
		t.Fatalf("first event: %+v", open[0])
	}
	res := mustJSON[api.Job](r, r.want(200, "DELETE", "/api/v1/jobs/"+job, "", nil))
	if res.Status != api.JobCancelled || res.Refusal != nil && res.Refusal.Remedy == "" {
		t.Errorf("cancelled job: %+v", res)
	}
	// A client that has the first event gets only what came after it.
	rest := r.events(job, 0, header("Last-Event-ID", open[0].id))
	if len(rest) != 1 || rest[0].name != "cancelled" || number(t, rest[0].id) <= number(t, open[0].id) {
		t.Errorf("resumed: %+v after %s", rest, open[0].id)
	}
	// One that has all gets the last again, so that it can close.
	if last := r.events(job, 0, header("Last-Event-ID", rest[0].id)); len(last) != 1 || last[0] != rest[0] {
		t.Errorf("asked again: %+v", last)
	}
	r.play([]scenario{
		{name: "no such job", method: "GET", url: "/api/v1/jobs/nobody/events", status: 404},
		{name: "no such job to cancel", method: "DELETE", url: "/api/v1/jobs/nobody", status: 404},
		{name: "job", method: "GET", url: "/api/v1/jobs/" + job, status: 200, must: []string{`"status":"cancelled"`, `"kind":"trace"`}},
		{name: "bad event id", method: "GET", url: "/api/v1/jobs/" + job + "/events", headers: header("Last-Event-ID", "x"), status: 422},
	})
}

func number(t *testing.T, s string) int64 {
	t.Helper()
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestGarmentEvents(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	req, err := http.NewRequestWithContext(t.Context(), "GET", r.server.URL+"/api/v1/garments/"+g.ID+"/events", nil)
	r.must(err)
	res, err := http.DefaultClient.Do(req)
	r.must(err)
	defer res.Body.Close()
	if first := readEvents(r, res.Body, 1); first[0].data != `{"version":1}` {
		t.Fatalf("first event %+v", first[0])
	}
	r.want(200, "PATCH", "/api/v1/garments/"+g.ID, `{"name":"Coat"}`, header("If-Match", `"v1"`))
	if next := readEvents(r, res.Body, 1); next[0].name != "changed" || next[0].data != `{"version":2}` {
		t.Errorf("event after a change: %+v", next[0])
	}
	r.want(204, "DELETE", "/api/v1/garments/"+g.ID, "", nil)
	if rest := readEvents(r, res.Body, 0); len(rest) != 0 {
		t.Errorf("events after the end: %+v", rest)
	}
}

func TestRefusedPhotoIsHelpedByStrokes(t *testing.T) {
	r := newRig(t)
	plain := session{&tracer{}}
	r.tracer.trace = func(ctx context.Context, s []api.Stroke) (*vision.Trace, error) {
		if len(s) == 0 {
			return nil, vision.Refuse(vision.CodeNoCloth, "No cloth was found.", "Paint over the cloth.")
		}
		return plain.Trace(ctx, s, func(api.Step) {})
	}
	g := r.garment()
	p, job := r.upload(g.ID, "", photoBytes(400, 300))
	all := r.events(job, 0, nil)
	if last := all[len(all)-1]; last.name != "refused" || !strings.Contains(last.data, `"code":"no-cloth"`) {
		t.Fatalf("last event %+v", last)
	}
	r.play([]scenario{
		{name: "refused", method: "GET", url: "/api/v1/photos/" + p.ID, status: 200, must: []string{`"status":"refused"`, `"px_per_mm":2`, "No cloth was found.", "Paint over"}},
		{name: "its plane to paint on", method: "GET", url: "/api/v1/photos/" + p.ID + "/plane", status: 200, must: []string{"\xff\xd8"}},
	})
	got := r.want(202, "POST", "/api/v1/photos/"+p.ID+"/trace", `{"strokes":[{"kind":"cloth","width_mm":9,"points_mm":[[1,2],[3,4]]}]}`, nil)
	r.events(mustJSON[struct {
		JobID string `json:"job_id"`
	}](r, got).JobID, 0, nil)
	g = mustJSON[api.Garment](r, r.want(200, "GET", "/api/v1/garments/"+g.ID, "", nil))
	if len(g.Pieces) != 1 || g.Photos[0].Status != api.PhotoTraced || g.Photos[0].Refusal != nil {
		t.Fatalf("after the strokes: %+v", g)
	}
	// The piece keeps the strokes: without them it would not be found again.
	if body := r.want(200, "GET", "/api/v1/pieces/"+g.Pieces[0].ID, "", nil); !strings.Contains(string(body), `"points_mm":[[1,2],[3,4]]`) {
		t.Errorf("piece without its strokes: %s", body)
	}
}
