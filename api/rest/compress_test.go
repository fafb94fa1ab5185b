package rest_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"io"
	"net/http"
	"strings"
	"testing"

	"secondcut/api/rest"
)

// plainly sends a request whose answer is taken as it comes, as a browser's
// network layer sees it.
func (r *rig) plainly(method, url, body string, headers map[string]string) (*http.Response, []byte) {
	r.Helper()
	if _, ok := headers["Accept-Encoding"]; !ok {
		headers["Accept-Encoding"] = "gzip, deflate, br"
	}
	var in io.Reader
	if body != "" {
		in = reader(body)
	}
	return r.do(method, url, in, headers)
}

func unzipped(t *testing.T, data []byte) string {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	out, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func TestFilesAreCompressed(t *testing.T) {
	script := strings.Repeat("export const answer = 42;\n", 200)
	r := newRig(t)
	r.opt.Files = func() (map[string][]byte, error) {
		return map[string][]byte{"big.js": []byte(script), "small.js": []byte("export {}\n")}, nil
	}
	r.server.Config.Handler = rest.New(r.opt)

	res, data := r.plainly("GET", "/big.js", "", map[string]string{})
	tag := res.Header.Get("ETag")
	if res.Header.Get("Content-Encoding") != "gzip" || unzipped(t, data) != script || len(data) > len(script)/4 {
		t.Errorf("header %v, %d bytes", res.Header, len(data))
	}
	if !strings.HasSuffix(tag, `-gzip"`) || res.Header.Get("Vary") != "Accept-Encoding" {
		t.Errorf("tag %s, vary %q", tag, res.Header.Get("Vary"))
	}
	res, data = r.plainly("GET", "/big.js", "", header("If-None-Match", tag))
	if res.StatusCode != 304 || len(data) != 0 || res.Header.Get("ETag") != tag {
		t.Errorf("asked again: %d, %d bytes, tag %s want %s", res.StatusCode, len(data), res.Header.Get("ETag"), tag)
	}
	for what, headers := range map[string]map[string]string{
		"not accepted": {"Accept-Encoding": "gzip;q=0, br"},
		"a range":      {"Range": "bytes=0-9"},
	} {
		res, data = r.plainly("GET", "/big.js", "", headers)
		if res.Header.Get("Content-Encoding") != "" || !strings.HasPrefix(script, string(data)) || res.Header.Get("ETag") == tag {
			t.Errorf("%s: %v", what, res.Header)
		}
	}
	res, data = r.plainly("GET", "/small.js", "", map[string]string{})
	if res.Header.Get("Content-Encoding") != "" || string(data) != "export {}\n" || res.Header.Get("Vary") != "Accept-Encoding" {
		t.Errorf("a small file: %v %q", res.Header, data)
	}
	if res, _ = r.plainly("HEAD", "/big.js", "", map[string]string{}); res.StatusCode != 200 {
		t.Errorf("HEAD: %d", res.StatusCode)
	}
}

// What is there in gzip already is sent as it is, and kept for good where its name says
// what it holds.
func TestFilesThatAreCompressedAlready(t *testing.T) {
	script, small := "export const answer = 42;\n", []byte("stands for the same in gzip")
	r := newRig(t)
	r.opt.Files = func() (map[string][]byte, error) {
		return map[string][]byte{"built/a-ABCDEFGH.js": []byte(script), "built/a-ABCDEFGH.js.gz": small}, nil
	}
	r.server.Config.Handler = rest.New(r.opt)
	const url, kept = "/built/a-ABCDEFGH.js", "public, max-age=31536000, immutable"

	res, data := r.plainly("GET", url, "", map[string]string{})
	if res.Header.Get("Content-Encoding") != "gzip" || !bytes.Equal(data, small) || res.Header.Get("Vary") != "Accept-Encoding" || res.Header.Get("Cache-Control") != kept {
		t.Errorf("header %v, %q", res.Header, data)
	}
	tag := res.Header.Get("ETag")
	if res, data = r.plainly("GET", url, "", header("If-None-Match", tag)); res.StatusCode != 304 || len(data) != 0 {
		t.Errorf("asked again: %d, %q", res.StatusCode, data)
	}
	for what, headers := range map[string]map[string]string{
		"not accepted": {"Accept-Encoding": "gzip;q=0, br"},
		"a range":      {"Range": "bytes=0-9"},
	} {
		res, data = r.plainly("GET", url, "", headers)
		if res.Header.Get("Content-Encoding") != "" || !strings.HasPrefix(script, string(data)) || res.Header.Get("ETag") == tag || res.Header.Get("Vary") != "Accept-Encoding" {
			t.Errorf("%s: %v %q", what, res.Header, data)
		}
	}
	if res, _ = r.plainly("GET", url+".gz", "", map[string]string{}); res.StatusCode != 404 {
		t.Errorf("the compressed file by its own name: %d", res.StatusCode)
	}
}

// A page that could not be made is a fault of the service.
func TestBrokenPage(t *testing.T) {
	r := newRig(t)
	r.opt.Files = func() (map[string][]byte, error) { return nil, errors.New("no script") }
	r.server.Config.Handler = rest.New(r.opt)
	if res, _ := r.plainly("GET", "/", "", map[string]string{}); res.StatusCode != 500 {
		t.Errorf("status %d", res.StatusCode)
	}
}

// The tag of a compressed piece is good for saving it; pictures and events pass
// as they are.
func TestAnswersAreCompressed(t *testing.T) {
	r := newRig(t)
	photo, piece := r.traced()
	at := "/api/v1/pieces/" + piece.ID
	var knots strings.Builder
	for i := range 200 {
		knots.WriteString(strings.Repeat(",", min(i, 1)) + `{"at":[` + strings.Repeat("1", i%3+1) + `,` + strings.Repeat("2", i%2+1) + `],"corner":true}`)
	}
	body := `{"name":"a","knots":[` + knots.String() + `]}`
	r.want(200, "PUT", at, body, header("If-Match", `"v1"`))
	res, data := r.plainly("GET", at, "", map[string]string{})
	if tag := res.Header.Get("ETag"); tag != `"v2-gzip"` || !strings.Contains(unzipped(t, data), `"version":2`) {
		t.Errorf("tag %s", tag)
	}
	r.want(200, "PUT", at, body, header("If-Match", `"v2-gzip"`))
	r.want(412, "PUT", at, body, header("If-Match", `"v2-gzip"`))
	for _, url := range []string{"/image", "/plane"} {
		if res, _ := r.plainly("GET", "/api/v1/photos/"+photo.ID+url, "", map[string]string{}); res.Header.Get("Content-Encoding") != "" {
			t.Errorf("%s is compressed", url)
		}
	}
	if res, _ := r.plainly("GET", "/api/v1/openapi.json", "", map[string]string{}); res.Header.Get("Content-Encoding") != "gzip" {
		t.Errorf("the interface's description: %v", res.Header)
	}
	if res, data := r.plainly("GET", "/api/v1/jobs/"+photo.JobID+"/events", "", map[string]string{}); res.Header.Get("Content-Encoding") != "" || !bytes.Contains(data, []byte("event: done")) {
		t.Errorf("events: %v %s", res.Header, data)
	}
}
