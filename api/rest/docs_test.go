package rest_test

import (
	"regexp"
	"strings"
	"testing"

	"secondcut/api/rest"
)

// The page of the interface names every operation and record of the document, and
// neither runs nor fetches anything but its style.
func TestDocsPage(t *testing.T) {
	r := newRig(t)
	res, data := r.do("GET", rest.Base+"/docs", nil, nil)
	page := string(data)
	if res.StatusCode != 200 || res.Header.Get("Content-Type") != "text/html; charset=utf-8" {
		t.Fatalf("status %d, type %s", res.StatusCode, res.Header.Get("Content-Type"))
	}
	if csp := res.Header.Get("Content-Security-Policy"); !strings.HasPrefix(csp, "default-src 'none'; style-src 'self';") || strings.Contains(csp, "script") || strings.Contains(csp, "unsafe") {
		t.Errorf("policy %q", csp)
	}
	doc := document(r)
	for path, methods := range doc.Paths.Map() {
		for method, o := range methods.Operations() {
			if !strings.Contains(page, `<section id="`+o.OperationID+`">`) || !strings.Contains(page, "<code>"+method+" "+rest.Base+path+"</code>") {
				t.Errorf("%s %s is not on the page", method, path)
			}
		}
	}
	for name := range doc.Components.Schemas {
		if !strings.Contains(page, `<section id="schema-`+name+`">`) {
			t.Errorf("record %s is not on the page", name)
		}
	}
	for _, m := range regexp.MustCompile(`href="#([^"]+)"`).FindAllStringSubmatch(page, -1) {
		if !strings.Contains(page, `id="`+m[1]+`"`) {
			t.Errorf("the link #%s leads nowhere", m[1])
		}
	}
	for _, bad := range []string{"<script", "style=", "http:", "https:", "<no value>", "%!"} {
		if strings.Contains(page, bad) {
			t.Errorf("the page has %q in it", bad)
		}
	}
	if css, _ := r.do("GET", rest.Base+"/docs.css", nil, nil); css.StatusCode != 200 || css.Header.Get("Content-Type") != "text/css; charset=utf-8" {
		t.Errorf("style: status %d, type %s", css.StatusCode, css.Header.Get("Content-Type"))
	}
	if again, body := r.do("GET", rest.Base+"/docs", nil, header("If-None-Match", res.Header.Get("ETag"))); again.StatusCode != 304 || len(body) != 0 {
		t.Errorf("asked again: status %d", again.StatusCode)
	}
}
