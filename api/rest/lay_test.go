package rest_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/geometry/lay"
)

// walkLay asks for all that laying a garment needs, good and bad.
func (r *rig) walkLay() {
	r.Helper()
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	r.want(404, "GET", url+"/lay/export?format=json", "", nil)
	r.want(200, "GET", url+"/lay", "", nil)
	r.want(422, "GET", url+"/lay?cloth=none", "", nil)
	r.want(422, "POST", url+"/lay?cloth=none", `{"seconds":0.2}`, nil)
	plan := r.lay(url, `{"seconds":0.2}`)
	r.keep(g, plan.Pieces)
	r.want(200, "POST", url+"/lay/check", laidJSON(plan.Pieces), nil)
	r.want(200, "POST", url+"/lay/widths", `{"seconds":0.1}`, nil)
	r.want(422, "POST", url+"/lay/widths?cloth=none", `{}`, nil)
	for _, f := range []string{"json", "svg", "pdf"} {
		r.want(200, "GET", url+"/lay/export?format="+f, "", nil)
	}
	r.want(200, "GET", url+"/making", "", nil)
	r.want(404, "GET", "/api/v1/garments/nobody/making", "", nil)
	r.want(200, "GET", url+"/making/pdf?set=true", "", nil)
	r.walkReconcile(url)
}

func laidJSON(pieces []lay.Laid) string {
	data, _ := json.Marshal(map[string]any{"pieces": pieces})
	return string(data)
}

// lay lays a garment and returns the last plan.
func (r *rig) lay(url, body string) lay.Plan {
	r.Helper()
	res, data := r.do("POST", url+"/lay", reader(body), nil)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "text/event-stream" {
		r.Fatalf("lay: status %d: %s", res.StatusCode, data)
	}
	all := readEvents(r, reader(string(data)), 0)
	for _, e := range all[:len(all)-1] {
		if e.name != "plan" {
			r.Fatalf("event %s: %s", e.name, e.data)
		}
	}
	if last := all[len(all)-1]; last.name != "done" {
		r.Fatalf("event %s: %s", last.name, last.data)
	}
	return mustJSON[lay.Plan](r, []byte(all[len(all)-1].data))
}

// keep keeps a layout with its garment.
func (r *rig) keep(g api.Garment, pieces []lay.Laid) {
	r.Helper()
	url := "/api/v1/garments/" + g.ID
	now := mustJSON[api.Garment](r, r.want(200, "GET", url, "", nil))
	body, err := json.Marshal(map[string]any{"lays": []api.Lay{{Pieces: pieces}}})
	r.must(err)
	r.want(200, "PATCH", url, string(body), header("If-Match", rest.ETag(now.Version)))
}

type layView struct {
	Shapes []struct {
		ID, Name string
		Count    int
		Outline  [][2]float64 `json:"outline_mm"`
		TopDeg   float64      `json:"top_deg"`
		Turns    []struct {
			RotationDeg float64 `json:"rotation_deg"`
			Mirrored    bool
		}
	}
	Plan     lay.Plan
	Troubles []lay.Trouble
}

// A garment is laid, kept, moved by hand, and laid anew round what stays.
func TestLay(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	empty := mustJSON[layView](r, r.want(200, "GET", url+"/lay", "", nil))
	if len(empty.Shapes) == 0 || len(empty.Plan.Pieces) != 0 || len(empty.Troubles) != 0 || empty.Plan.LaidWidthMM < 1300 {
		t.Fatalf("before: %d shapes, %d pieces, troubles %v, width %.0f", len(empty.Shapes), len(empty.Plan.Pieces), empty.Troubles, empty.Plan.LaidWidthMM)
	}
	plan := r.lay(url, `{"seconds":0.5}`)
	count := 0
	for _, s := range empty.Shapes {
		count += s.Count
		for _, p := range plan.Pieces {
			// The top of a piece looks along the cloth, up or down its length.
			top := s.TopDeg
			if p.Mirrored {
				top = 180 - top
			}
			period := 180.0
			if s.Name == "Oil can bag" {
				period = 90 // on the bias, which lies at 45 degrees to either side
			}
			if off := math.Abs(math.Remainder(top+p.RotationDeg, period)); p.ID == s.ID && off > 1e-6 {
				t.Errorf("%s lies with its top %.3f degrees off the grain", s.Name, off)
			}
		}
		if len(s.Turns) == 0 || len(s.Outline) < 3 {
			t.Errorf("%s may lie in %d ways, and has %d points", s.Name, len(s.Turns), len(s.Outline))
		}
	}
	if len(plan.Pieces) != count || plan.BuyMM < plan.LaidLengthMM || plan.BoundMM > plan.LaidLengthMM || plan.UsedPct < 30 || plan.UsedPct > 100 {
		t.Errorf("laid %d of %d pieces on %.0f mm, buy %.0f, bound %.0f, used %.0f %%", len(plan.Pieces), count, plan.LaidLengthMM, plan.BuyMM, plan.BoundMM, plan.UsedPct)
	}
	r.keep(g, plan.Pieces)
	kept := mustJSON[layView](r, r.want(200, "GET", url+"/lay", "", nil))
	if !slices.Equal(kept.Plan.Pieces, plan.Pieces) || len(kept.Troubles) != 0 || math.Abs(kept.Plan.LaidLengthMM-plan.LaidLengthMM) > 0.2 {
		t.Errorf("kept: %d pieces on %.2f mm, want %.2f; troubles %v", len(kept.Plan.Pieces), kept.Plan.LaidLengthMM, plan.LaidLengthMM, kept.Troubles)
	}

	moved := slices.Clone(plan.Pieces)
	moved[0].X, moved[0].Y = moved[1].X+1, moved[1].Y+1
	checked := mustJSON[layView](r, r.want(200, "POST", url+"/lay/check", laidJSON(moved), nil))
	if len(checked.Troubles) == 0 || len(checked.Troubles[0].Copies) == 0 || checked.Troubles[0].Message == "" {
		t.Errorf("a piece on another one: troubles %+v", checked.Troubles)
	}
	r.keep(g, moved)
	if body := r.want(422, "GET", url+"/lay/export?format=pdf", "", nil); !strings.Contains(string(body), "cannot be cut") {
		t.Errorf("export of a layout with an overlap: %s", body)
	}

	fixed := slices.Clone(plan.Pieces[:1])
	fixed[0].X += 400
	body, err := json.Marshal(map[string]any{"seconds": 0.3, "fixed": fixed})
	r.must(err)
	again := r.lay(url, string(body))
	i := slices.IndexFunc(again.Pieces, func(l lay.Laid) bool { return l.Fixed })
	if i < 0 || again.Pieces[i].X != fixed[0].X || again.Pieces[i].Y != fixed[0].Y || len(again.Pieces) != count {
		t.Errorf("laid round a pinned piece: %+v", again.Pieces)
	}
	if bad := mustJSON[layView](r, r.want(200, "POST", url+"/lay/check", laidJSON(again.Pieces), nil)).Troubles; len(bad) > 0 {
		t.Errorf("laid round a pinned piece: %v", bad)
	}
}

// Each width is told, from narrow to wide, with the reason where a piece is wider.
func TestLayWidths(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	body := r.want(200, "POST", "/api/v1/garments/"+g.ID+"/lay/widths", `{"seconds":0.1,"widths_mm":[150,900,1400]}`, nil)
	all := readEvents(r, reader(string(body)), 0)
	if len(all) != 4 || all[3].name != "done" {
		t.Fatalf("events %v", all)
	}
	var rows []lay.WidthRow
	for _, e := range all[:3] {
		rows = append(rows, mustJSON[lay.WidthRow](r, []byte(e.data)))
	}
	if !strings.Contains(rows[0].Why, "wider") || rows[0].BuyMM != 0 || rows[1].BuyMM <= rows[2].BuyMM || rows[2].BuyMM == 0 {
		t.Errorf("rows %+v", rows)
	}
	for _, e := range all[:3] {
		if strings.Contains(e.data, "chart_mm") {
			t.Errorf("by the chart, before anything was laid: %s", e.data)
		}
	}

	// Beside what was laid stands what the chart says: for the same width nothing, nor
	// where a piece is wider than the cloth.
	r.keep(g, r.lay("/api/v1/garments/"+g.ID, `{"seconds":0.3}`).Pieces)
	body = r.want(200, "POST", "/api/v1/garments/"+g.ID+"/lay/widths", `{"seconds":0.1,"widths_mm":[150,914.4,1400,1524]}`, nil)
	var chart [4]float64
	for i, e := range readEvents(r, reader(string(body)), 0)[:4] {
		row := mustJSON[struct {
			ChartMM float64 `json:"chart_mm"`
			NeedMM  float64 `json:"need_mm"`
		}](r, []byte(e.data))
		chart[i] = row.ChartMM
		// It is no law: its columns differ by up to 11 % from the same area (calculated from
		// the chart), and a quarter of a yard is added by custom.
		if row.ChartMM > 0 && math.Abs(row.ChartMM-row.NeedMM) > 0.11*row.NeedMM+914.4/4 {
			t.Errorf("the chart says %.0f mm, %.0f are needed", row.ChartMM, row.NeedMM)
		}
	}
	if chart[0] != 0 || chart[2] != 0 || chart[1] <= chart[3] || chart[3] == 0 {
		t.Errorf("by the chart: %v", chart)
	}
}

// The first plan comes at once, long before the time is up, and each is shorter than the
// one before.
func TestLayTellsAtOnce(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	res := r.begin(ctx, g.ID, 60)
	e := readEvents(r, res.Body, 1)[0]
	if e.name != "plan" || len(mustJSON[lay.Plan](r, []byte(e.data)).Pieces) == 0 {
		t.Errorf("first event %s: %.200s", e.name, e.data)
	}
}

// begin begins to lay a garment for as many seconds.
func (r *rig) begin(ctx context.Context, id string, seconds int) *http.Response {
	r.Helper()
	req, err := http.NewRequestWithContext(ctx, "POST", r.server.URL+"/api/v1/garments/"+id+"/lay", reader(fmt.Sprintf(`{"seconds":%d}`, seconds)))
	r.must(err)
	req.Header.Set("Content-Type", "application/json")
	res, err := http.DefaultClient.Do(req)
	r.must(err)
	r.Cleanup(func() { res.Body.Close() })
	return res
}

// As many are laid at a time as there are processors; the next is told when to come
// again, other requests are answered, and who goes makes room.
func TestLayIsBounded(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	ctx, stop := context.WithCancel(r.Context())
	defer stop()
	for range runtime.NumCPU() {
		if res := r.begin(ctx, g.ID, 120); res.StatusCode != 200 {
			t.Fatalf("status %d", res.StatusCode)
		}
	}
	res := r.begin(r.Context(), g.ID, 1)
	data, err := io.ReadAll(res.Body)
	r.must(err)
	if res.StatusCode != 503 || res.Header.Get("Retry-After") == "" || !strings.Contains(string(data), `"code":"queue-full"`) {
		t.Errorf("one too many: status %d, retry after %q: %s", res.StatusCode, res.Header.Get("Retry-After"), data)
	}
	r.want(200, "GET", "/api/v1/garments/"+g.ID+"/draft", "", nil)
	stop()
	for end := time.Now().Add(30 * time.Second); ; {
		res := r.begin(r.Context(), g.ID, 1)
		if res.Body.Close(); res.StatusCode == 200 {
			break
		}
		if time.Now().After(end) {
			t.Fatal("those who have gone still take up room")
		}
	}
}

// What cannot be laid is said in plain words, with what to do.
func TestLayRefuses(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	narrow := strings.Replace(cloths(r, g), `"width_mm":1400`, `"width_mm":200`, 1)
	r.want(200, "PATCH", url, narrow, header("If-Match", rest.ETag(g.Version)))
	r.play([]scenario{
		{name: "too narrow", method: "POST", url: url + "/lay", body: `{"seconds":0.2}`, status: 422, must: []string{" across, but the cloth as it lies is only 19.4 cm wide", "cut the piece in two", `"code":"invalid"`}, mustNot: []string{g.Pieces[0].ID}},
		{name: "no such cloth", method: "POST", url: url + "/lay?cloth=silk", body: `{}`, status: 422, must: []string{"no such cloth", "query.cloth"}},
		{name: "no such garment", method: "POST", url: "/api/v1/garments/nobody/lay", body: `{}`, status: 404},
		{name: "no time", method: "POST", url: url + "/lay", body: `{"seconds":0}`, status: 422},
		{name: "too long", method: "POST", url: url + "/lay", body: `{"seconds":3000}`, status: 422},
		{name: "nowhere", method: "POST", url: url + "/lay/check", body: `{"pieces":[{"piece":"a","name":"a","id":"a","x":1e9,"y":0,"rotation_deg":0,"mirrored":false,"layers":1}]}`, status: 422, must: []string{"no proper place"}},
		{name: "a stranger's piece", method: "POST", url: url + "/lay/check", body: `{"pieces":[{"piece":"a","name":"a","id":"a","x":1,"y":0,"rotation_deg":0,"mirrored":false,"layers":1}]}`, status: 200, must: []string{"lay-extra"}},
		{name: "a stranger's pin", method: "POST", url: url + "/lay", body: `{"fixed":[{"piece":"a","name":"a","id":"a","x":1,"y":0,"rotation_deg":0,"mirrored":false,"layers":1}]}`, status: 422, must: []string{"pinned"}},
	})
}

// cloths is an edit with the cloths that a garment has.
func cloths(r *rig, g api.Garment) string {
	data, err := json.Marshal(map[string]any{"cloths": g.Cloths})
	r.must(err)
	return string(data)
}
