package rest_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
)

type listOf[T any] struct {
	Items []T    `json:"items"`
	Next  string `json:"next"`
}

// walkHistory goes back to a former version of a piece and a garment.
func (r *rig) walkHistory(g, pc string) {
	r.Helper()
	list := mustJSON[listOf[api.Version]](r, r.want(200, "GET", pc+"/versions", "", nil)).Items
	if len(list) < 2 || list[0].Version <= list[1].Version {
		r.Fatalf("versions of the piece: %+v", list)
	}
	tag := header("If-Match", rest.ETag(list[0].Version))
	back := fmt.Sprintf("%s/versions/%d/restore", pc, list[1].Version)
	r.want(428, "POST", back, "", nil)
	if p := mustJSON[api.Piece](r, r.want(200, "POST", back, "", tag)); p.Version != list[0].Version+1 || p.Name != list[1].Name {
		r.Errorf("restored piece: %+v", p)
	}
	r.want(412, "POST", back, "", tag)
	r.want(404, "POST", pc+"/versions/99/restore", "", header("If-Match", rest.ETag(list[0].Version+1)))

	list = mustJSON[listOf[api.Version]](r, r.want(200, "GET", g+"/versions", "", nil)).Items
	now := mustJSON[api.Garment](r, r.want(200, "GET", g, "", nil))
	back = fmt.Sprintf("%s/versions/%d/restore", g, list[len(list)-1].Version)
	if got := mustJSON[api.Garment](r, r.want(200, "POST", back, "", header("If-Match", rest.ETag(now.Version)))); got.Name != list[len(list)-1].Name {
		r.Errorf("restored garment: %+v", got)
	}
}

// walkUploads sends a photo in parts, with the slips that a bad network makes.
func (r *rig) walkUploads(g string) {
	r.Helper()
	photo := photoBytes(500, 400)
	begin := fmt.Sprintf(`{"size":%d,"file_name":"back.jpg","face":"wrong","print":{"ruler_across_mm":149.5}}`, len(photo))
	u := mustJSON[api.Upload](r, r.want(201, "POST", g+"/uploads", begin, nil))
	url := "/api/v1/uploads/" + u.ID
	bytesType := header("Content-Type", "application/octet-stream")
	half := len(photo) / 2
	r.want(200, "PUT", url+"?offset=0", string(photo[:half]), bytesType)
	// The answer was lost, and the part comes again.
	problem := mustJSON[struct {
		Code    string     `json:"code"`
		Current api.Upload `json:"current"`
	}](r, r.want(409, "PUT", url+"?offset=0", string(photo[:half]), bytesType))
	if problem.Code != "wrong-offset" || problem.Current.Received != int64(half) {
		r.Errorf("a part that comes again: %+v", problem)
	}
	r.want(404, "POST", url+"/finish", "", nil)
	r.want(200, "PUT", fmt.Sprintf("%s?offset=%d", url, half), string(photo[half:]), bytesType)
	if u = mustJSON[api.Upload](r, r.want(200, "GET", url, "", nil)); u.Received != u.Size {
		r.Errorf("upload: %+v", u)
	}
	type accepted struct {
		Photo api.Photo `json:"photo"`
	}
	first := mustJSON[accepted](r, r.want(202, "POST", url+"/finish", "", nil)).Photo
	again := mustJSON[accepted](r, r.want(202, "POST", url+"/finish", "", nil)).Photo
	if first.ID != again.ID || first.FileName != "back.jpg" || first.Face != api.FaceWrong || first.Print == nil || first.Width != 500 {
		r.Errorf("photo of an upload: %+v, and again %+v", first, again)
	}
	r.events(first.JobID, 0, nil)
	u = mustJSON[api.Upload](r, r.want(201, "POST", g+"/uploads", begin, nil))
	r.want(204, "DELETE", "/api/v1/uploads/"+u.ID, "", nil)
	r.want(404, "GET", "/api/v1/uploads/"+u.ID, "", nil)
	// What turns out to be no photo is not kept.
	u = mustJSON[api.Upload](r, r.want(201, "POST", g+"/uploads", `{"size":4}`, nil))
	r.want(200, "PUT", "/api/v1/uploads/"+u.ID+"?offset=0", "text", bytesType)
	r.want(415, "POST", "/api/v1/uploads/"+u.ID+"/finish", "", nil)
	r.want(404, "GET", "/api/v1/uploads/"+u.ID, "", nil)
	if left, err := os.ReadDir(filepath.Join(r.dir, "uploads")); err != nil || len(left) != 0 {
		r.Errorf("parts of what is no photo: %v, %v", left, err)
	}
	r.want(422, "POST", g+"/uploads", `{"size":99999999999}`, nil)
	if said := string(r.want(415, "POST", g+"/uploads", `{"size":0}`, nil)); !strings.Contains(said, "empty") {
		r.Errorf("an empty file: %s", said)
	}
}

// walkTrash deletes and brings back.
func (r *rig) walkTrash(g, ph, pc string) {
	r.Helper()
	for _, url := range []string{pc, ph, g} {
		res, _ := r.do("DELETE", url, nil, nil)
		entry := res.Header.Get("Location")
		if res.StatusCode != 204 || !strings.HasPrefix(entry, "/api/v1/trash/") {
			r.Fatalf("deleting %s: status %d, location %q", url, res.StatusCode, entry)
		}
		r.want(404, "GET", url, "", nil)
		r.want(200, "POST", entry+"/restore", "", nil)
		r.want(404, "POST", entry+"/restore", "", nil)
		r.want(200, "GET", url, "", nil)
	}
	r.want(204, "DELETE", pc, "", nil)
	list := mustJSON[listOf[api.Trashed]](r, r.want(200, "GET", "/api/v1/trash", "", nil)).Items
	if len(list) != 1 || list[0].Kind != api.TrashPiece {
		r.Errorf("trash: %+v", list)
	}
	r.want(204, "DELETE", "/api/v1/trash/"+list[0].ID, "", nil)
	r.want(404, "DELETE", "/api/v1/trash/"+list[0].ID, "", nil)
	r.want(204, "DELETE", ph, "", nil)
	r.want(204, "DELETE", "/api/v1/trash", "", nil)
	r.want(404, "GET", ph, "", nil)
}

// All pages together are the list, each entry once, also for entries of the same
// moment.
func TestPages(t *testing.T) {
	r := newRig(t)
	want := map[string]bool{}
	for range 7 {
		want[r.garment().ID] = true
	}
	_, err := r.store.DB().Exec(`UPDATE garments SET updated_at = 5`)
	r.must(err)
	got := map[string]bool{}
	for next, pages := "", 0; ; pages++ {
		list := mustJSON[listOf[api.GarmentSummary]](r, r.want(200, "GET", "/api/v1/garments?limit=3&cursor="+next, "", nil))
		for _, g := range list.Items {
			got[g.ID] = true
		}
		if next = list.Next; next == "" {
			if pages != 2 || len(got) != len(want) {
				t.Errorf("%d pages more with %d garments", pages, len(got))
			}
			break
		}
	}
	r.want(422, "GET", "/api/v1/garments?cursor=x!", "", nil)
	r.want(422, "GET", "/api/v1/garments?limit=0", "", nil)
}

// Each bound answers with its status, and where waiting helps, says how long.
func TestBounds(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	for _, tt := range []struct {
		name, code, after string
		room              rest.Room
		status            int
	}{
		{"queue", "queue-full", "30", rest.Room{Queued: -1}, 503},
		{"storage", "storage-full", "300", rest.Room{StorageBytes: 10}, 507},
		{"disk", "storage-full", "300", rest.Room{SpareBytes: 1 << 60}, 507},
		{"rate", "too-fast", "1", rest.Room{PerSecond: 1, Burst: -1}, 429},
	} {
		r.opt.Room = tt.room
		r.server.Config.Handler = rest.New(r.opt)
		res, body := r.do("POST", "/api/v1/garments/"+g.ID+"/photos", bytes.NewReader(photoBytes(300, 300)), header("Content-Type", "image/jpeg"))
		if res.StatusCode != tt.status || res.Header.Get("Retry-After") != tt.after || !strings.Contains(string(body), `"code":"`+tt.code+`"`) {
			t.Errorf("%s: status %d, Retry-After %q: %s", tt.name, res.StatusCode, res.Header.Get("Retry-After"), body)
		}
	}
}

// What an upload has promised to send counts from its beginning, and only once.
func TestUploadsTakeRoom(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	photo := photoBytes(300, 300)
	n := len(photo)
	r.opt.Room = rest.Room{StorageBytes: int64(2 * n)}
	r.server.Config.Handler = rest.New(r.opt)
	begin := func(status, size int) []byte {
		return r.want(status, "POST", "/api/v1/garments/"+g.ID+"/uploads", fmt.Sprintf(`{"size":%d,"file_name":"a.jpg"}`, size), nil)
	}
	u := mustJSON[api.Upload](r, begin(201, n))
	begin(507, n+1)
	r.want(200, "PUT", "/api/v1/uploads/"+u.ID+"?offset=0", string(photo), header("Content-Type", "application/octet-stream"))
	r.want(202, "POST", "/api/v1/uploads/"+u.ID+"/finish", "", nil)
	begin(507, n+1)
}

// Words that a client makes up do not become counters, of which each takes memory.
func TestMetricsStayFew(t *testing.T) {
	h := rest.New(newRig(t).opt)
	ask := func(method, url string) *httptest.ResponseRecorder {
		req := httptest.NewRequestWithContext(t.Context(), method, "http://127.0.0.1"+url, nil)
		req.RemoteAddr = "127.0.0.1:1"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, req)
		return w
	}
	for _, word := range []string{"BREW", "STEEP", "POUR"} {
		ask(word, "/"+word)
	}
	told := ask("GET", "/metrics").Body.String()
	if !strings.Contains(told, `method="other"`) || strings.Contains(told, "BREW") || strings.Contains(told, "POUR") {
		t.Errorf("the metrics count what the client says:\n%s", told)
	}
}

func TestOperations(t *testing.T) {
	r := newLAN(t)
	r.traced()
	if w := r.from("127.0.0.1:1", "GET", "http://127.0.0.1/readyz", nil); w.Code != 200 {
		t.Errorf("ready: status %d: %s", w.Code, w.Body)
	}
	w := r.from("127.0.0.1:1", "GET", "http://127.0.0.1/metrics", nil)
	for _, name := range []string{"secondcut_jobs_queued 0", "secondcut_jobs_running 0", `secondcut_jobs_ended_total{status="done"} 1`, "secondcut_free_bytes", "go_goroutines", "process_resident_memory_bytes"} {
		if !strings.Contains(w.Body.String(), name) {
			t.Errorf("the metrics lack %s: status %d", name, w.Code)
		}
	}
	pictures := filepath.Join(r.dir, "pictures")
	r.must(os.Rename(pictures, pictures+"-gone"))
	if w := r.from("127.0.0.1:1", "GET", "http://127.0.0.1/readyz", nil); w.Code != http.StatusServiceUnavailable {
		t.Errorf("ready without its pictures: status %d", w.Code)
	}
}
