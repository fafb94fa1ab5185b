package jobs_test

import (
	"os"
	"path/filepath"
	"testing"

	"secondcut/api"
	"secondcut/api/jobs"
)

// The disk as a killed process leaves it: the job is running for the store and
// for River alike. The next process runs it at once, not when River would call it
// stuck, and only once.
func TestKilledWhileRunning(t *testing.T) {
	r := newRig(t)
	tr, begun := blocking()
	r.start(tr, jobs.Options{})
	<-begun
	left := &rig{T: t, dir: t.TempDir(), photo: r.photo, job: r.job}
	_, err := r.store.DB().Exec(`VACUUM INTO ?`, filepath.Join(left.dir, "secondcut.db"))
	r.must(err)
	r.must(os.CopyFS(filepath.Join(left.dir, "pictures"), os.DirFS(filepath.Join(r.dir, "pictures"))))

	left.open()
	var atRiver string
	r.must(left.store.DB().QueryRow(`SELECT state FROM river_job`).Scan(&atRiver))
	if j, err := left.store.Job(t.Context(), r.job.ID); err != nil || j.Status != api.JobRunning || atRiver != "running" {
		t.Fatalf("the job is not running in the copy: %+v, %v, river: %s", j, err, atRiver)
	}
	again := &fakeTracer{trace: onePiece}
	left.start(again, jobs.Options{})
	left.await(r.job.ID, api.JobDone)
	g, err := left.store.Garment(t.Context(), r.photo.GarmentID)
	r.must(err)
	if len(g.Pieces) != 1 || again.opened.Load() != 1 {
		t.Errorf("%d pieces, photo read %d times, want one each", len(g.Pieces), again.opened.Load())
	}
}
