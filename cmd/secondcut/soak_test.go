package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
)

var kills = flag.Int("kills", 20, "how often TestKilledAtAnyMoment kills the service")

// ledger is what the service has acknowledged.
type ledger struct {
	mu     sync.Mutex
	photos map[string]bool  // ids
	edits  map[int64]string // versions of the one piece that is edited, with their names
	gone   map[string]bool  // garments that were deleted
	drawn  map[string]bool  // exports, by job
}

// TestKilledAtAnyMoment kills the service at random moments while photos are sent,
// whole and in parts, edits are saved and garments drawn. Whatever was acknowledged is there in
// the end, every job has ended once, and nothing is left over.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces photos")
	}
	data := filepath.Join(t.TempDir(), "data")
	photos := variants(t, 5)
	p := startProgram(t, data)
	garment, piece := firstPiece(t, p, photos[0])
	var smock api.Garment
	file, err := os.ReadFile("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	mustRequest(t, "POST", p.base+"/garments/file", file, nil, &smock)
	l := &ledger{photos: map[string]bool{}, edits: map[int64]string{}, gone: map[string]bool{}, drawn: map[string]bool{}}
	random := rand.New(rand.NewPCG(5, uint64(*kills)))
	run := 0
	for ; run < *kills; run++ {
		ctx, stop := context.WithCancel(t.Context())
		var clients sync.WaitGroup
		clients.Go(func() { l.sendPhotos(ctx, p.base, garment, photos, run, *kills) })
		clients.Go(func() { l.sendParts(ctx, p.base, garment, photos[run%len(photos)], run) })
		clients.Go(func() { l.saveEdits(ctx, t, p.base, piece) })
		clients.Go(func() { l.deleteGarments(ctx, p.base) })
		clients.Go(func() { l.draw(ctx, p.base, smock, run) })
		most := 700
		if run%5 == 4 {
			most = 5000 // now and then there is time for a photo, also on a busy machine
		}
		time.Sleep(time.Duration(random.IntN(most)) * time.Millisecond)
		p.kill()
		stop()
		clients.Wait()
		p = startProgram(t, data)
	}
	g := l.settled(t, p.base, garment)
	l.check(t, p.base, g, piece)
	l.checkExports(t, p.base)
	p.stop(t)
	st, err := store.Open(t.Context(), data) // sweeps
	if err != nil {
		t.Fatal(err)
	}
	if err := st.Close(); err != nil {
		t.Fatal(err)
	}
	found, err := store.Examine(t.Context(), data)
	if err != nil || len(found) > 0 {
		t.Errorf("after %d kills: %+v, %v", run, found, err)
	}
	t.Logf("%d kills: %d photos, %d edits and %d exports acknowledged, all there", run, len(l.photos), len(l.edits), len(l.drawn))
}

// firstPiece makes a garment whose photo is traced.
func firstPiece(t *testing.T, p *program, photo []byte) (garment, piece string) {
	t.Helper()
	var g api.Garment
	mustRequest(t, "POST", p.base+"/garments", []byte(`{"name":"Soak"}`), nil, &g)
	mustRequest(t, "POST", p.base+"/garments/"+g.ID+"/photos", photo, map[string]string{"Content-Type": "image/jpeg"}, nil)
	for end := time.Now().Add(60 * time.Second); len(g.Pieces) == 0; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the first photo was not traced")
		}
		mustRequest(t, "GET", p.base+"/garments/"+g.ID, nil, nil, &g)
	}
	return g.ID, g.Pieces[0].ID
}

type acceptedPhoto struct {
	Photo api.Photo `json:"photo"`
}

// photoKey is the same in two runs that follow each other, so that what was not
// acknowledged is sent again.
func photoKey(run, i int) string { return fmt.Sprintf("photo %d %d", run/2, i) }

func (l *ledger) sendPhotos(ctx context.Context, base, garment string, photos [][]byte, run, runs int) {
	// Tracing is the slow part: no more are sent than can be traced in the end.
	if run%4 > 1 {
		return
	}
	for i := 0; i < 1+40/runs; i++ {
		var got acceptedPhoto
		headers := map[string]string{"Content-Type": "image/jpeg", "Idempotency-Key": photoKey(run, i)}
		status, _, err := request(ctx, "POST", base+"/garments/"+garment+"/photos", photos[(run/2+i)%len(photos)], headers, &got)
		if err != nil {
			return
		}
		if status == 202 {
			l.mu.Lock()
			l.photos[got.Photo.ID] = true
			l.mu.Unlock()
		}
	}
}

func (l *ledger) sendParts(ctx context.Context, base, garment string, photo []byte, run int) {
	if run%4 > 1 {
		return
	}
	var u api.Upload
	begin := fmt.Appendf(nil, `{"size":%d,"file_name":"parts.jpg"}`, len(photo))
	photo = bytes.Clone(photo)
	if _, _, err := request(ctx, "POST", base+"/garments/"+garment+"/uploads", begin, map[string]string{"Idempotency-Key": fmt.Sprint("parts ", run/4, len(photo))}, &u); err != nil || u.ID == "" {
		return
	}
	for at := u.Received; at < u.Size; {
		part := photo[at:min(at+100_000, u.Size)]
		status, _, err := request(ctx, "PUT", fmt.Sprintf("%s/uploads/%s?offset=%d", base, u.ID, at), part, map[string]string{"Content-Type": "application/octet-stream"}, &u)
		if err != nil || status != 200 {
			return
		}
		at = u.Received
	}
	var got acceptedPhoto
	if status, _, err := request(ctx, "POST", base+"/uploads/"+u.ID+"/finish", nil, nil, &got); err == nil && status == 202 {
		l.mu.Lock()
		l.photos[got.Photo.ID] = true
		l.mu.Unlock()
	}
}

func (l *ledger) saveEdits(ctx context.Context, t *testing.T, base, piece string) {
	var p api.Piece
	if _, _, err := request(ctx, "GET", base+"/pieces/"+piece, nil, nil, &p); err != nil || p.ID == "" {
		return
	}
	for {
		name := fmt.Sprintf("edit %d", rand.Uint64())
		body, err := json.Marshal(api.PieceEdit{Name: name, Knots: p.Knots, Holes: p.Holes})
		if err != nil {
			t.Error(err)
			return
		}
		status, answer, err := request(ctx, "PUT", base+"/pieces/"+piece, body, asHeader(p.Version), &p)
		if err != nil {
			return
		}
		if status != 200 {
			t.Errorf("saving: status %d: %.300s", status, answer)
			return
		}
		l.mu.Lock()
		l.edits[p.Version] = name
		l.mu.Unlock()
		time.Sleep(5 * time.Millisecond)
	}
}

func (l *ledger) deleteGarments(ctx context.Context, base string) {
	for {
		var g api.Garment
		if _, _, err := request(ctx, "POST", base+"/garments", []byte(`{"name":"Short-lived"}`), nil, &g); err != nil || g.ID == "" {
			return
		}
		status, _, err := request(ctx, "DELETE", base+"/garments/"+g.ID, nil, nil, nil)
		if err != nil {
			return
		}
		if status == 204 {
			l.mu.Lock()
			l.gone[g.ID] = true
			l.mu.Unlock()
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// draw has a garment drawn in different ways, and in some that were asked for before.
func (l *ledger) draw(ctx context.Context, base string, g api.Garment, run int) {
	for i := range 4 {
		var j api.Job
		ask := fmt.Appendf(nil, `{"format":"svg","paper":"roll:%d"}`, 600+(run/2)*2+i%3)
		status, _, err := request(ctx, "POST", base+"/garments/"+g.ID+"/exports", ask, nil, &j)
		if err != nil {
			return
		}
		if status == 202 {
			l.mu.Lock()
			l.drawn[j.ID] = true
			l.mu.Unlock()
		}
		time.Sleep(200 * time.Millisecond)
	}
}

// checkExports waits for what was to be drawn: each is done, once, and has its file.
func (l *ledger) checkExports(t *testing.T, base string) {
	t.Helper()
	end := time.Now().Add(10 * time.Minute)
	for id := range l.drawn {
		var j api.Job
		for mustRequest(t, "GET", base+"/jobs/"+id, nil, nil, &j); !j.Status.Final(); mustRequest(t, "GET", base+"/jobs/"+id, nil, nil, &j) {
			if time.Now().After(end) {
				t.Fatalf("export %s is still %s", id, j.Status)
			}
			time.Sleep(100 * time.Millisecond)
		}
		status, file, err := request(t.Context(), "GET", base+"/jobs/"+id+"/file", nil, nil, nil)
		if err != nil || status != 200 || !bytes.Contains(file, []byte("</svg>")) {
			t.Errorf("export %s is %s (%+v); its file: status %d, %d bytes, %v", id, j.Status, j.Refusal, status, len(file), err)
		}
	}
}

// settled waits until no photo waits or is traced any more.
func (l *ledger) settled(t *testing.T, base, garment string) api.Garment {
	t.Helper()
	for end := time.Now().Add(10 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
		var g api.Garment
		mustRequest(t, "GET", base+"/garments/"+garment, nil, nil, &g)
		busy := 0
		for _, p := range g.Photos {
			if p.Status == api.PhotoQueued || p.Status == api.PhotoTracing {
				busy++
			}
		}
		if busy == 0 {
			return g
		}
		if time.Now().After(end) {
			t.Fatalf("%d photos still wait", busy)
		}
	}
}

func (l *ledger) check(t *testing.T, base string, g api.Garment, piece string) {
	t.Helper()
	made := map[string]int{}
	for _, p := range g.Pieces {
		made[p.PhotoID]++
	}
	there := map[string]bool{}
	for _, p := range g.Photos {
		there[p.ID] = true
		if p.Status != api.PhotoTraced || made[p.ID] != 1 {
			t.Errorf("photo %s is %s (%+v) with %d pieces", p.ID, p.Status, p.Refusal, made[p.ID])
		}
		var j api.Job
		if mustRequest(t, "GET", base+"/jobs/"+p.JobID, nil, nil, &j); j.Status != api.JobDone {
			t.Errorf("job %s is %s", j.ID, j.Status)
		}
	}
	for id := range l.photos {
		if !there[id] {
			t.Errorf("photo %s was acknowledged and is gone", id)
		}
	}
	// As many versions are kept as are; those before cannot be looked at any more.
	var versions struct{ Items []api.Version }
	mustRequest(t, "GET", base+"/pieces/"+piece+"/versions", nil, nil, &versions)
	name := map[int64]string{}
	for _, v := range versions.Items {
		name[v.Version] = v.Name
	}
	oldest := versions.Items[len(versions.Items)-1].Version
	for version, want := range l.edits {
		if got := name[version]; got != want && version >= oldest {
			t.Errorf("version %d was acknowledged as %q and is %q", version, want, got)
		}
	}
	for id := range l.gone {
		if status, _, err := request(t.Context(), "GET", base+"/garments/"+id, nil, nil, nil); err != nil || status != 404 {
			t.Errorf("a deleted garment is back: status %d, %v", status, err)
		}
	}
}
