package jobs_test

import (
	"context"
	"errors"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/vision"
)

// fakeDrawer draws by draw, which sees how often it was asked.
type fakeDrawer struct {
	asked atomic.Int32
	draw  func(ctx context.Context, n int32) ([]byte, error)
}

func (f *fakeDrawer) Draw(ctx context.Context, source []byte, _ api.Export) ([]byte, error) {
	if string(source) != "a garment" {
		return nil, errors.New("another source")
	}
	return f.draw(ctx, f.asked.Add(1))
}

// export queues an export of the rig's garment.
func (r *rig) export() *api.Job {
	r.Helper()
	j, err := r.store.AddExport(r.Context(), api.NewExport{GarmentID: r.photo.GarmentID, Export: api.Export{Format: "pdf"}, Source: []byte("a garment"), Digest: "d"})
	r.must(err)
	return j
}

// An export is tried again when it fails or brings the process down that draws, refused
// once, given up in words of its own, and has a file when it is done.
func TestExportsEnd(t *testing.T) {
	for name, tt := range map[string]struct {
		draw   func(ctx context.Context, n int32) ([]byte, error)
		opt    jobs.Options
		status api.JobStatus
		asked  int32
		says   string
	}{
		"at once": {draw: func(context.Context, int32) ([]byte, error) { return []byte("a file"), nil }, status: api.JobDone, asked: 1},
		"at the third try": {draw: func(_ context.Context, n int32) ([]byte, error) {
			if n < 3 {
				return nil, jobs.ErrTracerDied
			}
			return []byte("a file"), nil
		}, status: api.JobDone, asked: 3},
		"refused": {draw: func(context.Context, int32) ([]byte, error) {
			return nil, vision.Refuse("invalid", "There is no sheet Z99.", "Choose another.")
		}, status: api.JobRefused, asked: 1, says: "Z99"},
		"given up": {draw: func(context.Context, int32) ([]byte, error) { return nil, jobs.ErrTracerDied }, status: api.JobFailed, asked: 3, says: "could not be drawn"},
		"a panic":  {draw: func(context.Context, int32) ([]byte, error) { panic("drawn over") }, status: api.JobFailed, asked: 3, says: "could not be drawn"},
		"slow": {draw: func(ctx context.Context, _ int32) ([]byte, error) {
			<-ctx.Done()
			return nil, ctx.Err()
		}, opt: jobs.Options{Timeout: time.Millisecond}, status: api.JobFailed, asked: 1, says: "too long"},
	} {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			d := &fakeDrawer{draw: tt.draw}
			tt.opt.Drawer = d
			j := r.export()
			r.start(&fakeTracer{trace: onePiece}, tt.opt)
			j = r.await(j.ID, tt.status)
			if d.asked.Load() != tt.asked || (j.Refusal == nil) != (tt.says == "") || j.Refusal != nil && !strings.Contains(j.Refusal.Message, tt.says) {
				t.Errorf("asked %d times, refusal %+v; want %d and %q", d.asked.Load(), j.Refusal, tt.asked, tt.says)
			}
			file, err := r.store.ExportFile(t.Context(), j.ID)
			if (err == nil) != (tt.status == api.JobDone) || err == nil && string(file) != "a file" {
				t.Errorf("file %q, %v", file, err)
			}
		})
	}
}

// An export that was being drawn when the service stopped is drawn at the next start.
func TestExportOutlivesAStop(t *testing.T) {
	r := newRig(t)
	drawing := make(chan bool)
	d := &fakeDrawer{draw: func(ctx context.Context, n int32) ([]byte, error) {
		if n == 1 {
			drawing <- true
			<-ctx.Done()
			return nil, ctx.Err()
		}
		return []byte("a file"), nil
	}}
	j := r.export()
	_, stop := r.start(&fakeTracer{trace: onePiece}, jobs.Options{Drawer: d})
	<-drawing
	stop()
	r.start(&fakeTracer{trace: onePiece}, jobs.Options{Drawer: d})
	r.await(j.ID, api.JobDone)
}
