package rest_test

import (
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"testing"

	"secondcut/api/rest"
)

// from serves one request as if it came from that address.
func (r *rig) from(peer, method, url string, headers map[string]string) *httptest.ResponseRecorder {
	req := httptest.NewRequestWithContext(r.Context(), method, url, nil)
	req.RemoteAddr = peer
	for name, value := range headers {
		req.Header.Set(name, value)
	}
	w := httptest.NewRecorder()
	rest.New(r.opt).ServeHTTP(w, req)
	return w
}

const (
	phone = "192.168.1.7:50000"
	house = "http://192.168.1.5:8080"
)

func newLAN(t *testing.T) *rig {
	t.Helper()
	r := newRig(t)
	r.opt.Hosts = []netip.Addr{netip.MustParseAddr("192.168.1.5")}
	r.opt.Pairing = rest.NewPairing(house+"/", nil)
	return r
}

// Every operation of the document, asked for by a stranger, answers 401; the same
// by a device that has been let in does not.
func TestStrangersAreKeptOut(t *testing.T) {
	r := newLAN(t)
	pair := r.from(phone, "GET", r.opt.Pairing.URL(), nil)
	if pair.Code != http.StatusSeeOther || pair.Header().Get("Location") != "/" {
		t.Fatalf("pairing: status %d to %s", pair.Code, pair.Header().Get("Location"))
	}
	cookie := pair.Result().Cookies()[0]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Secure || cookie.Path != "/" {
		t.Errorf("cookie: %+v", cookie)
	}
	count := 0
	for path, methods := range document(r).Paths.Map() {
		for method := range methods.Operations() {
			count++
			url := house + rest.Base + strings.ReplaceAll(path, "{id}", "nobody")
			w := r.from(phone, method, url, nil)
			if w.Code != http.StatusUnauthorized || !strings.Contains(w.Body.String(), `"code":"sign-in"`) {
				t.Errorf("%s %s by a stranger: status %d", method, path, w.Code)
			}
			if w := r.from(phone, method, url, header("Cookie", "secondcut_session=guess")); w.Code != http.StatusUnauthorized {
				t.Errorf("%s %s with a guessed session: status %d", method, path, w.Code)
			}
			w = r.from(phone, method, url, header("Cookie", cookie.String()))
			if w.Code == http.StatusUnauthorized || w.Code >= 500 {
				t.Errorf("%s %s by a paired phone: status %d", method, path, w.Code)
			}
			if path == "/lan" && (w.Code != http.StatusOK || w.Body.String() != `{"enabled":false}`+"\n") {
				t.Errorf("the link for a paired phone: status %d: %s", w.Code, w.Body)
			}
		}
	}
	if count < 20 {
		t.Errorf("the document has %d operations", count)
	}
	for _, url := range []string{"/", "/app/main.js", "/healthz", "/api/v1/openapi.json"} {
		if w := r.from(phone, "GET", house+url, nil); w.Code != http.StatusUnauthorized {
			t.Errorf("%s by a stranger: status %d", url, w.Code)
		}
	}
	w := r.from(phone, "GET", house+"/", header("Accept", "text/html"))
	if w.Code != http.StatusUnauthorized || !strings.Contains(w.Body.String(), "Scan the code") {
		t.Errorf("page for a stranger: status %d: %s", w.Code, w.Body)
	}
}

func TestPairing(t *testing.T) {
	r := newLAN(t)
	link := r.opt.Pairing.URL()
	lan := r.from("127.0.0.1:1", "GET", "http://127.0.0.1/api/v1/lan", nil).Body.String()
	if !strings.Contains(lan, link) || !strings.Contains(lan, `\u003csvg`) && !strings.Contains(lan, "<svg") {
		t.Errorf("lan: %s", lan)
	}
	if w := r.from(phone, "GET", house+"/pair/guess", nil); w.Code != http.StatusGone || len(w.Result().Cookies()) != 0 {
		t.Errorf("guessed link: status %d", w.Code)
	}
	if w := r.from(phone, "GET", link, nil); w.Code != http.StatusSeeOther {
		t.Fatalf("link: status %d", w.Code)
	}
	if w := r.from(phone, "GET", link, header("Accept", "text/html")); w.Code != http.StatusGone || len(w.Result().Cookies()) != 0 {
		t.Errorf("link used again: status %d", w.Code)
	}
	if r.opt.Pairing.URL() == link {
		t.Error("the link stayed the same")
	}
	if code, err := r.opt.Pairing.Terminal(); err != nil || len(code) < 400 {
		t.Errorf("terminal code: %v, %d bytes", err, len(code))
	}
	r.opt.Pairing = nil
	if got := r.from("127.0.0.1:1", "GET", "http://127.0.0.1/api/v1/lan", nil).Body.String(); got != `{"enabled":false}`+"\n" {
		t.Errorf("lan when off: %s", got)
	}
	if w := r.from(phone, "GET", house+"/pair/x", nil); w.Code != http.StatusGone {
		t.Errorf("link when off: status %d", w.Code)
	}
}

func TestHostAndOrigin(t *testing.T) {
	r := newLAN(t)
	for host, want := range map[string]int{
		"127.0.0.1:8080": 200, "localhost": 200, "LOCALHOST:1": 200, "[::1]:8080": 200, "192.168.1.5:8080": 200,
		"192.168.1.6:8080": 421, "evil.example": 421, "127.0.0.1.evil.example": 421, "0.0.0.0": 421,
	} {
		if w := r.from("127.0.0.1:1", "GET", "http://"+host+"/healthz", nil); w.Code != want {
			t.Errorf("host %s: status %d, want %d", host, w.Code, want)
		}
	}
	for _, tt := range []struct {
		name, value string
		want        int
	}{
		{"Origin", "http://evil.example", 403},
		{"Sec-Fetch-Site", "cross-site", 403},
		{"Sec-Fetch-Site", "same-site", 403},
		{"Sec-Fetch-Site", "same-origin", 404},
		{"Origin", "http://127.0.0.1", 404},
	} {
		if w := r.from("127.0.0.1:1", "DELETE", "http://127.0.0.1/api/v1/pieces/nobody", header(tt.name, tt.value)); w.Code != tt.want {
			t.Errorf("%s %s: status %d, want %d", tt.name, tt.value, w.Code, tt.want)
		}
	}
}

func TestContainerTrustsItsPort(t *testing.T) {
	r := newRig(t)
	r.opt.TrustPeers = true
	if w := r.from("172.17.0.1:999", "GET", "http://localhost:8080/api/v1/garments", nil); w.Code != 200 {
		t.Errorf("peer of a container: status %d", w.Code)
	}
	if w := r.from("172.17.0.1:999", "GET", "http://192.168.1.5:8080/api/v1/garments", nil); w.Code != 421 {
		t.Errorf("asked under the machine's own address: status %d", w.Code)
	}
}

func TestFiles(t *testing.T) {
	r := newRig(t)
	res, data := r.do("GET", "/", nil, nil)
	inline := sha256.Sum256([]byte(`{"imports":{}}`))
	csp := res.Header.Get("Content-Security-Policy")
	if !strings.Contains(csp, "script-src 'self' 'sha256-"+base64.StdEncoding.EncodeToString(inline[:])+"';") || strings.Contains(csp, "unsafe") {
		t.Errorf("policy %q", csp)
	}
	if !strings.HasPrefix(string(data), "<!doctype html>") {
		t.Errorf("page: %s", data)
	}
	for name, value := range map[string]string{
		"X-Content-Type-Options": "nosniff", "Cache-Control": "no-cache", "Content-Type": "text/html; charset=utf-8", "Referrer-Policy": "no-referrer",
	} {
		if got := res.Header.Get(name); got != value {
			t.Errorf("%s: %q, want %q", name, got, value)
		}
	}
	if again, body := r.do("GET", "/", nil, header("If-None-Match", res.Header.Get("ETag"))); again.StatusCode != 304 || len(body) != 0 {
		t.Errorf("asked again: status %d", again.StatusCode)
	}
	if js, _ := r.do("GET", "/app/main.js", nil, nil); js.StatusCode != 200 || js.Header.Get("Content-Type") != "text/javascript; charset=utf-8" {
		t.Errorf("module: status %d, type %s", js.StatusCode, js.Header.Get("Content-Type"))
	}
	r.play([]scenario{
		{name: "missing", method: "GET", url: "/app/none.js", status: 404},
		{name: "no page file", method: "GET", url: "/secret.go", status: 404},
		{name: "folder", method: "GET", url: "/app", status: 404},
		{name: "upwards", method: "GET", url: "/app/../../secret.go", status: 404},
		{name: "encoded upwards", method: "GET", url: "/%2e%2e/%2e%2e/etc/hosts.txt", status: 404},
		{name: "post", method: "POST", url: "/index.html", body: "{}", status: 404},
		{name: "health", method: "GET", url: "/healthz", status: 200, must: []string{"ok"}},
	})
}
