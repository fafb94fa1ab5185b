package rest_test

import (
	"bufio"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
)

// A body shorter than its Content-Length is refused when the client breaks off,
// and leaves nothing.
func TestBodyCutShort(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	at := strings.TrimPrefix(r.server.URL, "http://")
	conn, err := net.Dial("tcp", at)
	r.must(err)
	defer conn.Close()
	photo := photoBytes(400, 300)
	_, err = fmt.Fprintf(conn, "POST /api/v1/garments/%s/photos HTTP/1.1\r\nHost: %s\r\nContent-Type: image/jpeg\r\nContent-Length: %d\r\n\r\n%s", g.ID, at, len(photo), photo[:len(photo)/2])
	r.must(err)
	r.must(conn.(*net.TCPConn).CloseWrite())
	res, err := http.ReadResponse(bufio.NewReader(conn), nil)
	r.must(err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	r.must(err)
	if res.StatusCode != http.StatusBadRequest {
		t.Errorf("status %d: %s", res.StatusCode, data)
	}
	isProblem(t, res, data)
	r.play([]scenario{{name: "nothing is left", method: "GET", url: "/api/v1/garments/" + g.ID, status: 200, must: []string{`"photos":[]`}}})
	if n := r.leftovers(); n != 0 {
		t.Errorf("%d picture files are left", n)
	}
}

// A garment that cannot be read any more is listed, and can be deleted.
func TestDamagedGarmentCanBeDeleted(t *testing.T) {
	r := newRig(t)
	g := r.garment()
	if _, err := r.store.DB().Exec(`UPDATE garments SET pattern = '{' WHERE id = ?`, g.ID); err != nil {
		t.Fatal(err)
	}
	url := "/api/v1/garments/" + g.ID
	r.play([]scenario{
		{name: "opened", method: "GET", url: url, status: 500, must: []string{`"damaged"`}},
		{name: "listed", method: "GET", url: "/api/v1/garments", status: 200, must: []string{g.ID}},
		{name: "deleted", method: "DELETE", url: url, status: 204},
		{name: "gone", method: "GET", url: url, status: 404},
	})
}
