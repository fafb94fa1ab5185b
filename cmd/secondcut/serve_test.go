package main

import (
	"bufio"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/rest"
)

func TestAddresses(t *testing.T) {
	for _, tt := range []struct {
		addr  string
		reach reach
		want  string // the addresses, "..." for those of this machine, or words of the error
	}{
		{"127.0.0.1:8080", reachMachine, "127.0.0.1:8080"},
		{"localhost:0", reachMachine, "127.0.0.1:0"},
		{"[::1]:8080", reachMachine, "[::1]:8080"},
		{"0.0.0.0:8080", reachMachine, "error --lan"},
		{":8080", reachMachine, "error --lan"},
		{"192.168.1.5:8080", reachMachine, "error --lan"},
		{"192.168.1.5:8080", reachLAN, "127.0.0.1:8080 192.168.1.5:8080"},
		{"8.8.8.8:8080", reachLAN, "error private"},
		{"0.0.0.0:8080", reachContainer, "0.0.0.0:8080"},
		{"8080", reachMachine, "error such as"},
		{"127.0.0.1:http", reachMachine, "error such as"},
		{"example.org:80", reachMachine, "error numbers"},
		{"127.0.0.1:70000", reachMachine, "error such as"},
	} {
		at, err := addresses(tt.addr, tt.reach)
		if words, bad := strings.CutPrefix(tt.want, "error "); bad {
			if err == nil || !strings.Contains(err.Error(), words) {
				t.Errorf("%s: got %v, %v, want an error with %q", tt.addr, at, err, words)
			}
			continue
		}
		var got []string
		for _, a := range at {
			got = append(got, a.String())
		}
		if err != nil || strings.Join(got, " ") != tt.want {
			t.Errorf("%s: got %v, %v, want %s", tt.addr, got, err, tt.want)
		}
	}
}

func TestLANAddressesArePrivate(t *testing.T) {
	at, err := addresses("127.0.0.1:8080", reachLAN)
	if err != nil {
		if !strings.Contains(err.Error(), "private network") {
			t.Error(err)
		}
		return
	}
	if at[0] != netip.MustParseAddrPort("127.0.0.1:8080") || len(at) < 2 {
		t.Fatalf("addresses %v", at)
	}
	seen := map[netip.AddrPort]bool{}
	for _, a := range at[1:] {
		if !a.Addr().IsPrivate() || a.Port() != 8080 || seen[a] {
			t.Errorf("address %v of %v", a, at)
		}
		seen[a] = true
	}
}

// running is the service as the command runs it.
type running struct {
	base string
	stop func() error
}

func startServing(t *testing.T, f serveFlags) running {
	t.Helper()
	if f.addr == "" {
		f.addr = "127.0.0.1:0"
	}
	ctx, cancel := context.WithCancel(context.Background())
	r, w := io.Pipe()
	ended := make(chan error, 1)
	go func() {
		err := serve(ctx, w, f)
		_ = w.CloseWithError(io.EOF)
		ended <- err
	}()
	stop := func() error { cancel(); return <-ended }
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("the service did not start: %v", stop())
	}
	go io.Copy(io.Discard, r)
	_, rest, _ := strings.Cut(line, " at ")
	return running{strings.Fields(rest)[0], stop}
}

func (s running) get(t *testing.T, path string, out any) {
	t.Helper()
	res, err := http.Get(s.base + path)
	if err != nil {
		t.Fatal(err)
	}
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != 200 {
		t.Fatalf("%s: status %d, %v: %s", path, res.StatusCode, err, data)
	}
	if out != nil {
		if err := json.Unmarshal(data, out); err != nil {
			t.Fatal(err)
		}
	}
}

func demoFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	photo, err := os.ReadFile("../../testdata/photos/d18_refuse_no_cloth.jpg")
	if err != nil {
		t.Fatal(err)
	}
	smock, err := os.ReadFile("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{
		"one.jpg":    photo,
		"demo.json":  []byte(`{"garment":"Smock","photos":[{"file":"one.jpg","name":"Front","face":"right"}],"patterns":[{"file":"smock.json","name":"A pattern"}]}`),
		"smock.json": smock,
	} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// The demo is loaded once; what it made is there after a restart; and stopping is
// no error.
func TestServe(t *testing.T) {
	f := serveFlags{data: filepath.Join(t.TempDir(), "data"), demo: demoFolder(t)}
	var list struct{ Items []api.GarmentSummary }
	for round := range 2 {
		s := startServing(t, f)
		s.get(t, "/healthz", nil)
		s.get(t, "/", nil)
		deadline := time.Now().Add(30 * time.Second)
		for list.Items = nil; len(list.Items) < 2 || list.Items[0].PhotoCount == 0; time.Sleep(20 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("round %d: no demo: %+v", round, list)
			}
			s.get(t, rest.Base+"/garments", &list)
		}
		if len(list.Items) != 2 || list.Items[0].Name != "Smock" || list.Items[0].PhotoCount != 1 || list.Items[1].Name != "A pattern" || list.Items[1].PieceCount < 4 {
			t.Errorf("round %d: garments %+v", round, list.Items)
		}
		if err := s.stop(); err != nil {
			t.Errorf("round %d: stopping: %v", round, err)
		}
	}
}

func TestServeRefuses(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	s := startServing(t, serveFlags{data: data})
	port := s.base[strings.LastIndex(s.base, ":")+1:]
	for _, tt := range []struct {
		name, words string
		flags       serveFlags
	}{
		{"folder in use", "another Secondcut", serveFlags{addr: "127.0.0.1:0", data: data}},
		{"port in use", "another program", serveFlags{addr: "127.0.0.1:" + port, data: t.TempDir()}},
		{"open to all", "--lan", serveFlags{addr: "0.0.0.0:0", data: t.TempDir()}},
	} {
		if err := serve(t.Context(), io.Discard, tt.flags); err == nil || !strings.Contains(err.Error(), tt.words) {
			t.Errorf("%s: %v", tt.name, err)
		}
	}
	if err := s.stop(); err != nil {
		t.Error(err)
	}
}

func TestDemoManifest(t *testing.T) {
	for name, text := range map[string]string{"no JSON": "{", "no garment": `{"photos":[{"file":"a.jpg"}]}`, "no photos": `{"garment":"a"}`} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "demo.json"), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := readManifest(dir); err == nil || !strings.Contains(err.Error(), "--demo") {
			t.Errorf("%s: %v", name, err)
		}
	}
	m, err := readManifest("../../testdata/demo")
	if err != nil || len(m.Photos) == 0 || len(m.Patterns) == 0 {
		t.Errorf("the demo that comes with the project: %+v, %v", m, err)
	}
	for _, p := range m.Patterns {
		if _, err := readGarment(filepath.Join("../../testdata/demo", p.File)); err != nil {
			t.Error(err)
		}
	}
}

// The link leads to the address of the network, not to the machine's own, and
// the next one is shown when it has been used.
func TestPairingLink(t *testing.T) {
	listeners, err := listen([]netip.AddrPort{netip.MustParseAddrPort("127.0.0.1:0"), netip.MustParseAddrPort("127.0.0.2:0")})
	if err != nil {
		t.Skip("this machine has one loopback address only")
	}
	for _, l := range listeners {
		defer l.Close()
	}
	var out strings.Builder
	hosts, p := pairing(listeners, &out)
	if len(hosts) != 1 || hosts[0] != netip.MustParseAddr("127.0.0.2") {
		t.Errorf("hosts %v", hosts)
	}
	first := p.URL()
	if !strings.HasPrefix(first, baseURL(listeners[1])+"/pair/") {
		t.Errorf("link %s", first)
	}
	if err := greet(&out, "http://127.0.0.1:1", p); err != nil || !strings.Contains(out.String(), first) || !strings.Contains(out.String(), "not encrypted") {
		t.Errorf("greeting: %v\n%s", err, out.String())
	}
	out.Reset()
	h := rest.New(rest.Options{Pairing: p, Store: nil, Hosts: hosts, TrustPeers: true})
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest("GET", baseURL(listeners[1])+"/pair/wrong", nil))
	if w.Code != http.StatusGone || out.Len() != 0 || p.URL() != first {
		t.Errorf("a wrong link: status %d, wrote %q", w.Code, out.String())
	}
}
