package rest_test

import (
	"bytes"
	"log/slog"
	"net/http"
	"strings"
	"testing"
)

// Who was let in by a token is let in no longer when the service has another.
func TestSessionsEndWithTheirToken(t *testing.T) {
	r := newLAN(t)
	r.opt.Pairing = nil
	r.opt.Token = bearer
	pair := r.from(phone, "GET", house+"/pair/"+bearer, nil)
	if pair.Code != http.StatusSeeOther {
		t.Fatalf("pairing: status %d", pair.Code)
	}
	cookie := header("Cookie", pair.Result().Cookies()[0].String())
	for _, tt := range []struct {
		token string
		want  int
	}{{bearer, 200}, {"another-token-of-some-length", 401}, {"", 401}, {bearer, 200}} {
		r.opt.Token = tt.token
		if got := r.from(phone, "GET", house+"/api/v1/garments", cookie).Code; got != tt.want {
			t.Errorf("with the token %q: status %d, want %d", tt.token, got, tt.want)
		}
	}
}

// The one address that is open to strangers opens no other.
func TestPairingOpensNothingElse(t *testing.T) {
	r := newLAN(t)
	for _, url := range []string{"/pair/../index.html", "/pair/../built/main-ABCDEFGH.js", "/pair/a/../../index.html", "/pair/"} {
		if got := r.from(phone, "GET", house+url, nil).Code; got != http.StatusUnauthorized {
			t.Errorf("%s by a stranger: status %d", url, got)
		}
	}
}

// A client chooses the method's word, so only those of the interface are written down.
func TestLogKeepsToItsWords(t *testing.T) {
	r := newRig(t)
	var b bytes.Buffer
	r.opt.Logger = slog.New(slog.NewTextHandler(&b, nil))
	r.from("127.0.0.1:1", "GET", "http://127.0.0.1/api/v1/garments", nil)
	r.from("127.0.0.1:1", "JANE-AT-HOME", "http://127.0.0.1/api/v1/garments", nil)
	if log := b.String(); strings.Contains(log, "JANE") || !strings.Contains(log, "method=GET") || !strings.Contains(log, "method=other") {
		t.Errorf("the log: %s", log)
	}
}
