package rest_test

import (
	"bytes"
	"context"
	"net/http"
	"sync"
	"testing"

	"secondcut/api"
	"secondcut/api/jobs"
)

// drawer draws when it is let.
type drawer struct {
	draw func(ctx context.Context) ([]byte, error)
}

func (d drawer) Draw(ctx context.Context, _ []byte, _ api.Export) ([]byte, error) { return d.draw(ctx) }

// export asks for an export and returns its job, with where the answer says it is.
func (r *rig) export(garmentID, body string) (j api.Job, location string) {
	r.Helper()
	res, data := r.do("POST", "/api/v1/garments/"+garmentID+"/exports", reader(body), nil)
	if res.StatusCode != http.StatusAccepted {
		r.Fatalf("export: status %d: %s", res.StatusCode, data)
	}
	return mustJSON[api.Job](r, data), res.Header.Get("Location")
}

// A garment is drawn by a job: with progress, once, and to the same bytes as for the
// one who waits for it.
func TestExportByJob(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	j, at := r.export(g.ID, `{"format":"pdf","paper":"letter","unit":"in"}`)
	if at != "/api/v1/jobs/"+j.ID || j.Kind != api.JobExport || j.GarmentID != g.ID {
		t.Errorf("job %+v at %s", j, at)
	}
	all := r.events(j.ID, 0, nil)
	if last := all[len(all)-1]; last.name != "done" {
		t.Fatalf("the job ended with %s: %s", last.name, last.data)
	}
	res, file := r.do("GET", at+"/file", nil, nil)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "application/pdf" || !bytes.HasPrefix(file, []byte("%PDF-")) ||
		res.Header.Get("Content-Disposition") == "" || res.Header.Get("ETag") == "" {
		t.Fatalf("file: status %d, %v, %.40q", res.StatusCode, res.Header, file)
	}
	if waited := r.want(200, "GET", "/api/v1/garments/"+g.ID+"/export?format=pdf&paper=letter&unit=in", "", nil); !bytes.Equal(waited, file) {
		t.Error("who waits gets another file")
	}
	if again, _ := r.export(g.ID, `{"format":"pdf","paper":"letter","unit":"in"}`); again.ID != j.ID || again.Status != api.JobDone {
		t.Errorf("an equal export: %+v", again)
	}
	// A phone goes on where it was cut off.
	res, rest := r.do("GET", at+"/file", nil, header("Range", "bytes=100-"))
	if res.StatusCode != http.StatusPartialContent || !bytes.Equal(rest, file[100:]) {
		t.Errorf("the rest of it: status %d, %d bytes of %d", res.StatusCode, len(rest), len(file)-100)
	}
	name := `{"name":"Another name"}`
	r.want(200, "PATCH", "/api/v1/garments/"+g.ID, name, header("If-Match", `"v1"`))
	if changed, _ := r.export(g.ID, `{"format":"pdf","paper":"letter","unit":"in"}`); changed.ID == j.ID {
		t.Error("a changed garment was answered with the file of before")
	}
	r.play([]scenario{
		{name: "no such paper", method: "POST", url: "/api/v1/garments/" + g.ID + "/exports", body: `{"format":"pdf","paper":"b5"}`, status: 422, must: []string{`"body.paper"`}},
		{name: "no such ruler", method: "POST", url: "/api/v1/garments/" + g.ID + "/exports", body: `{"format":"pdf","print":{"ruler_up_mm":100}}`, status: 422, must: []string{`ruler_up_mm"`}},
		{name: "no such form", method: "POST", url: "/api/v1/garments/" + g.ID + "/exports", body: `{"format":"doc"}`, status: 422},
		{name: "no garment", method: "POST", url: "/api/v1/garments/none/exports", body: `{"format":"pdf"}`, status: 404},
		{name: "no job", method: "GET", url: "/api/v1/jobs/none/file", status: 404, must: []string{"Ask for it again"}},
	})
	refused, at := r.export(g.ID, `{"format":"pdf","tiles":["Z99"]}`)
	r.events(refused.ID, 0, nil)
	r.play([]scenario{
		{name: "no such sheet", method: "GET", url: at, status: 200, must: []string{`"status":"refused"`, "Z99"}},
		{name: "its file", method: "GET", url: at + "/file", status: 422, must: []string{"Z99"}},
	})
	if again, _ := r.export(g.ID, `{"format":"pdf","tiles":["Z99"]}`); again.ID == refused.ID {
		t.Error("what was refused is answered with for ever")
	}
}

// Of many who wait for the same file, all get it, and it is drawn once; a drawing can
// be ended, and more than so many do not wait.
func TestExportsWait(t *testing.T) {
	r := newRig(t)
	r.stop()
	started, draw := make(chan bool, 100), make(chan bool)
	r.queueOpt = jobs.Options{Drawer: drawer{func(ctx context.Context) ([]byte, error) {
		started <- true
		select {
		case <-draw:
			return []byte("<svg/>"), nil
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}}}
	r.opt.Room.Exports = 2
	r.start()
	text, _ := r.smock()
	g := r.imported(text)
	var waiting sync.WaitGroup
	for range 4 {
		waiting.Go(func() {
			if res, file := r.do("GET", "/api/v1/garments/"+g.ID+"/export?format=svg", nil, nil); res.StatusCode != 200 || string(file) != "<svg/>" {
				t.Errorf("status %d: %s", res.StatusCode, file)
			}
		})
	}
	<-started
	second, at := r.export(g.ID, `{"format":"svg","unit":"cm"}`)
	third, _ := r.export(g.ID, `{"format":"svg","unit":"in"}`)
	r.play([]scenario{
		{name: "not yet", method: "GET", url: at + "/file", status: 404, must: []string{`"not-ready"`}},
		{name: "one too many", method: "POST", url: "/api/v1/garments/" + g.ID + "/exports", body: `{"format":"png"}`, status: 503, must: []string{`"queue-full"`}},
		{name: "one that waits already", method: "POST", url: "/api/v1/garments/" + g.ID + "/exports", body: `{"format":"svg","unit":"in"}`, status: 202, must: []string{third.ID}},
		{name: "cancelled", method: "DELETE", url: at, status: 200, must: []string{`"cancelled"`}},
		{name: "no file of it", method: "GET", url: at + "/file", status: 404, must: []string{"stopped"}},
	})
	draw <- true
	waiting.Wait()
	<-started
	if j := mustJSON[api.Job](r, r.want(200, "DELETE", "/api/v1/jobs/"+third.ID, "", nil)); j.Status != api.JobCancelled {
		t.Errorf("a running one is %s", j.Status)
	}
	select {
	case <-started:
		t.Error("something was drawn twice, or after its end:", second.ID)
	default:
	}
}
