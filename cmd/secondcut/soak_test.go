package main

import (
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
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
}

// TestKilledAtAnyMoment kills the service at random moments while photos are sent,
// whole and in parts, and edits are saved. Whatever was acknowledged is there in
// the end, every job has ended once, and nothing is left over.
func TestKilledAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("it traces photos")
	}
	data := filepath.Join(t.TempDir(), "data")
	photos := variants(t, 5)
	p := startProgram(t, data)
	garment, piece := firstPiece(t, p, photos[0])
	l := &ledger{photos: map[string]bool{}, edits: map[int64]string{}, gone: map[string]bool{}}
	random := rand.New(rand.NewPCG(5, uint64(*kills)))
	run := 0
	for ; run < *kills; run++ {
		ctx, stop := context.WithCancel(t.Context())
		var clients sync.WaitGroup
		clients.Go(func() { l.sendPhotos(ctx, p.base, garment, photos, run, *kills) })
		clients.Go(func() { l.sendParts(ctx, p.base, garment, photos[run%len(photos)], run) })
		clients.Go(func() { l.saveEdits(ctx, t, p.base, piece) })
		clients.Go(func() { l.deleteGarments(ctx, p.base) })
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
	t.Logf("%d kills: %d photos and %d edits acknowledged, all there", run, len(l.photos), len(l.edits))
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
