package rest_test

import (
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

// may says who may use an operation.
type may int

const (
	mayPaired may = iota // this machine, devices that were let in, and who has the token
	mayOwn               // this machine and who has the token
)

// operationRules must name every operation of the document: a new one without a
// rule fails the test.
var operationRules = map[string]may{
	"list-garments": mayPaired, "create-garment": mayPaired, "get-garment": mayPaired, "edit-garment": mayPaired,
	"delete-garment": mayPaired, "garment-events": mayPaired, "export-garment": mayPaired,
	"add-export": mayPaired, "get-job-file": mayPaired,
	"list-garment-versions": mayPaired, "restore-garment-version": mayPaired,
	"add-photo": mayPaired, "get-photo": mayPaired, "edit-photo": mayPaired, "delete-photo": mayPaired, "trace-photo": mayPaired,
	"get-photo-image": mayPaired, "get-photo-plane": mayPaired,
	"begin-upload": mayPaired, "get-upload": mayPaired, "send-part": mayPaired, "finish-upload": mayPaired, "drop-upload": mayPaired,
	"get-piece": mayPaired, "save-piece": mayPaired, "smooth-piece": mayPaired, "delete-piece": mayPaired, "export-piece": mayPaired,
	"list-piece-versions": mayPaired, "restore-piece-version": mayPaired,
	"get-job": mayPaired, "cancel-job": mayPaired, "job-events": mayPaired,
	"list-trash": mayPaired, "restore-trash": mayPaired, "delete-trash": mayPaired, "empty-trash": mayPaired,
	"get-garment-file": mayPaired, "import-garment-file": mayPaired, "draft-garment": mayPaired, "check-garment": mayPaired,
	"get-making": mayPaired, "export-making": mayPaired, "get-lay": mayPaired, "check-lay": mayPaired, "export-lay": mayPaired, "lay-garment": mayPaired, "lay-widths": mayPaired,
	"add-swatch": mayPaired, "get-swatch": mayPaired, "remake-garment": mayPaired, "garment-picture": mayPaired,
	"amend-piece": mayPaired, "rederive-piece": mayPaired, "derive-piece": mayPaired, "try-size": mayPaired,
	"reconcile-garment": mayPaired, "accept-reconciled": mayPaired, "compare-twins": mayPaired, "borrow-edge": mayPaired,
	"draft-piece": mayPaired, "draft-edit": mayPaired, "list-presets": mayPaired, "garment-schema": mayPaired,
	"get-session": mayPaired, "sign-in": mayPaired, "sign-out": mayPaired, "list-links": mayPaired, "add-link": mayPaired, "revoke-link": mayPaired,
	"card-sheet": mayPaired, "get-lan": mayPaired,
	"export-all": mayOwn, "import-all": mayOwn,
}

const bearer = "a-token-of-some-length"

// Every operation of the document, asked for by all kinds of peers, answers as its
// rule says.
func TestWhoMayDoWhat(t *testing.T) {
	r := newLAN(t)
	r.opt.Token = bearer
	r.opt.Room.Burst = 5000
	h := rest.New(r.opt)
	ask := func(peer, method, url string, headers map[string]string) *httptest.ResponseRecorder {
		req := httptest.NewRequestWithContext(r.Context(), method, url, nil)
		req.RemoteAddr = peer
		for name, value := range headers {
			req.Header.Set(name, value)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, req)
		return w
	}
	pair := ask(phone, "GET", r.opt.Pairing.URL(), nil)
	if pair.Code != http.StatusSeeOther || pair.Header().Get("Location") != "/" {
		t.Fatalf("pairing: status %d to %s", pair.Code, pair.Header().Get("Location"))
	}
	cookie := pair.Result().Cookies()[0]
	if !cookie.HttpOnly || cookie.SameSite != http.SameSiteStrictMode || cookie.Secure || cookie.Path != "/" {
		t.Errorf("cookie: %+v", cookie)
	}
	stranger := func(w *httptest.ResponseRecorder) bool {
		return w.Code == http.StatusUnauthorized && strings.Contains(w.Body.String(), `"code":"sign-in"`)
	}
	forbidden := func(w *httptest.ResponseRecorder) bool { return w.Code == http.StatusForbidden }
	served := func(w *httptest.ResponseRecorder) bool {
		return w.Code != http.StatusUnauthorized && w.Code != http.StatusForbidden && w.Code < 500
	}
	seen := map[string]bool{}
	for path, methods := range document(r).Paths.Map() {
		for method, o := range methods.Operations() {
			rule, ok := operationRules[o.OperationID]
			if !ok {
				t.Errorf("%s %s (%s) has no rule: say in operationRules who may use it", method, path, o.OperationID)
				continue
			}
			seen[o.OperationID] = true
			url := rest.Base + strings.NewReplacer("{id}", "nobody", "{n}", "1", "{link}", "nobody").Replace(path)
			paired := served
			if rule == mayOwn {
				paired = forbidden
			}
			changes := method != "GET"
			crossed := served
			if changes {
				crossed = forbidden
			}
			for _, tt := range []struct {
				who, peer, house string
				headers          map[string]string
				want             func(*httptest.ResponseRecorder) bool
			}{
				{"stranger", phone, house, nil, stranger},
				{"guessed session", phone, house, header("Cookie", "secondcut_session=guess"), stranger},
				{"wrong token", phone, house, header("Authorization", "Bearer guess"), stranger},
				{"no token", phone, house, header("Authorization", "Bearer "), stranger},
				{"paired phone", phone, house, header("Cookie", cookie.String()), paired},
				{"token", phone, house, header("Authorization", "Bearer "+bearer), served},
				{"this machine", "127.0.0.1:1", "http://127.0.0.1", nil, served},
				{"another page here", "127.0.0.1:1", "http://127.0.0.1", header("Sec-Fetch-Site", "cross-site"), crossed},
				{"another name", "127.0.0.1:1", "http://evil.example", nil, func(w *httptest.ResponseRecorder) bool { return w.Code == http.StatusMisdirectedRequest }},
			} {
				w := ask(tt.peer, method, tt.house+url, tt.headers)
				if !tt.want(w) {
					t.Errorf("%s %s by %s: status %d: %.200s", method, path, tt.who, w.Code, w.Body)
				}
				if o.Responses.Status(w.Code) == nil {
					t.Errorf("%s %s by %s: status %d is not in the document", method, path, tt.who, w.Code)
				}
			}
		}
	}
	for id := range operationRules {
		if !seen[id] {
			t.Errorf("the rule for %s is about no operation", id)
		}
	}
	if w := ask(phone, "GET", house+"/api/v1/lan", header("Cookie", cookie.String())); w.Body.String() != `{"enabled":false}`+"\n" {
		t.Errorf("the link for a paired phone: %s", w.Body)
	}
	for _, url := range []string{"/metrics"} {
		if w := ask(phone, "GET", house+url, header("Cookie", cookie.String())); w.Code != http.StatusForbidden {
			t.Errorf("%s for a paired phone: status %d", url, w.Code)
		}
	}
	if w := ask(phone, "GET", house+"/pair/"+bearer, nil); w.Code != http.StatusSeeOther || len(w.Result().Cookies()) != 1 {
		t.Errorf("the link with the token: status %d", w.Code)
	}
	for _, url := range []string{"/", "/built/main-ABCDEFGH.js", "/healthz", "/readyz", "/metrics", "/api/v1/openapi.json", "/api/v1/docs", "/api/v1/docs.css"} {
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
	csp := res.Header.Get("Content-Security-Policy")
	if !strings.Contains(csp, "script-src 'self';") || strings.Contains(csp, "unsafe") {
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
	js, _ := r.do("GET", "/built/main-ABCDEFGH.js", nil, nil)
	if js.StatusCode != 200 || js.Header.Get("Content-Type") != "text/javascript; charset=utf-8" || js.Header.Get("Cache-Control") != "public, max-age=31536000, immutable" {
		t.Errorf("script: status %d, header %v", js.StatusCode, js.Header)
	}
	if sign, _ := r.do("GET", "/app/sign.svg", nil, nil); sign.StatusCode != 200 || sign.Header.Get("Cache-Control") != "no-cache" {
		t.Errorf("picture: status %d, header %v", sign.StatusCode, sign.Header)
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
