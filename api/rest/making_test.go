package rest_test

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"secondcut/api/rest"
	"secondcut/geometry/sheet"
)

// The making sheet says what the kept layout says, and the whole set is the sheet with
// the sheets of the pieces behind it, read back with poppler.
func TestMaking(t *testing.T) {
	if _, err := exec.LookPath("pdfinfo"); err != nil {
		if os.Getenv("CI") == "" {
			t.Skip("no poppler-utils here; 'make test' installs it")
		}
		t.Fatal(err)
	}
	r := newRig(t)
	text, want := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	before := mustJSON[sheet.Making](r, r.want(200, "GET", url+"/making", "", nil))
	if len(before.Pieces) < len(want.Pieces) || len(before.Seams) != len(want.SeamPairs) || len(before.Steps) == 0 {
		t.Errorf("%d pieces, %d seams, %d steps", len(before.Pieces), len(before.Seams), len(before.Steps))
	}
	r.keep(g, r.lay(url, `{"seconds":0.3}`).Pieces)
	laid := 0
	for _, c := range mustJSON[sheet.Making](r, r.want(200, "GET", url+"/making?unit=in", "", nil)).Cloths {
		if c.Plan != nil {
			laid++
		}
	}
	if laid != 1 {
		t.Errorf("%d cloths have a layout", laid)
	}
	alone, set, pieces := pages(r, url+"/making/pdf"), pages(r, url+"/making/pdf?set=true"), pages(r, url+"/export?format=pdf&unit=cm")
	if alone < 1 || set != alone+pieces {
		t.Errorf("%d pages alone, %d with the pieces, which have %d", alone, set, pieces)
	}
	if letter := pages(r, url+"/making/pdf?paper=letter"); letter < 1 {
		t.Errorf("%d pages on letter", letter)
	}
}

// Sheet and set are drawn by jobs, of which the link gives the same file, and the photo of
// a cloth stands in them (poppler lists it).
func TestMakingByJob(t *testing.T) {
	if _, err := exec.LookPath("pdfimages"); err != nil {
		if os.Getenv("CI") == "" {
			t.Skip("no poppler-utils here; 'make test' installs it")
		}
		t.Fatal(err)
	}
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	g.Cloths[0].Swatch = r.swatch(url, photoBytes(900, 600))
	cloths, err := json.Marshal(map[string]any{"cloths": g.Cloths})
	r.must(err)
	r.want(200, "PATCH", url, string(cloths), header("If-Match", rest.ETag(g.Version)))
	for what, name := range map[string]string{"making": "making sheet", "set": "whole set"} {
		j, at := r.export(g.ID, `{"format":"pdf","what":"`+what+`","paper":"letter","unit":"in"}`)
		r.events(j.ID, 0, nil)
		res, file := r.do("GET", at+"/file", nil, nil)
		if res.StatusCode != 200 || !strings.Contains(res.Header.Get("Content-Disposition"), name) {
			t.Fatalf("%s: status %d, %v: %.200s", what, res.StatusCode, res.Header, file)
		}
		link := url + "/making/pdf?paper=letter&unit=in"
		if what == "set" {
			link += "&set=true"
		}
		if waited := r.want(200, "GET", link, "", nil); !bytes.Equal(waited, file) {
			t.Errorf("%s: who waits gets another file", what)
		}
		name := filepath.Join(r.TempDir(), "a.pdf")
		r.must(os.WriteFile(name, file, 0o600))
		list, err := exec.CommandContext(r.Context(), "pdfimages", "-list", name).Output()
		if err != nil || strings.Count(string(list), " 640 ") != 1 || !strings.Contains(string(list), "jpeg") {
			t.Errorf("%s: pictures in it: %v\n%s", what, err, list)
		}
	}
	exports := url + "/exports"
	r.play([]scenario{
		{name: "no PDF", method: "POST", url: exports, body: `{"format":"svg","what":"set"}`, status: 422, must: []string{`"body.format"`}},
		{name: "a roll", method: "POST", url: exports, body: `{"format":"pdf","what":"set","paper":"roll:914"}`, status: 422, must: []string{`"body.paper"`}},
		{name: "one sheet", method: "POST", url: exports, body: `{"format":"pdf","what":"making","tiles":["A1"]}`, status: 422, must: []string{`"body.paper"`}},
		{name: "something else", method: "POST", url: exports, body: `{"format":"pdf","what":"hat"}`, status: 422},
	})
}

// pages returns how many pages a PDF of the service has.
func pages(r *rig, url string) int {
	r.Helper()
	file := filepath.Join(r.TempDir(), "a.pdf")
	r.must(os.WriteFile(file, r.want(200, "GET", url, "", nil), 0o600))
	out, err := exec.CommandContext(r.Context(), "pdfinfo", file).Output()
	r.must(err)
	n, err := strconv.Atoi(strings.TrimSpace(regexp.MustCompile(`Pages:\s+\d+`).FindString(string(out))[6:]))
	r.must(err)
	return n
}
