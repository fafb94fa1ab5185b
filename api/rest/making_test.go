package rest_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

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
