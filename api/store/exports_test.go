package store_test

import (
	"context"
	"io"
	"os"
	"testing"
	"time"

	"github.com/pressly/goose/v3"

	"secondcut/api"
	"secondcut/api/store/storetest"
)

// ofGarment is an export of the garment; equal digests are equal exports.
func ofGarment(id, digest string) api.NewExport {
	return api.NewExport{GarmentID: id, Export: api.Export{Format: "pdf", Paper: "a4"}, Source: []byte(`{"name":"smock"}`), Digest: digest}
}

// An export is made once, answered with while it is there, kept for its time and then
// swept with its file; the pictures stay.
func TestExportIsMadeOnce(t *testing.T) {
	s, dir, p := rig(t)
	first := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d")))
	if first.Kind != api.JobExport || first.Export == nil || first.Export.Format != "pdf" || first.PhotoID != "" || first.GoneAt == nil || time.Until(*first.GoneAt) < 23*time.Hour {
		t.Errorf("job %+v", first)
	}
	_, err := s.ExportFile(t.Context(), first.ID)
	wants(t, "the file before it is drawn", err, api.CodeNotReady)
	if again := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d"))); again.ID != first.ID {
		t.Error("an equal export that waits was queued again")
	}
	other := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "e")))
	if other.ID == first.ID {
		t.Error("another export was answered with the first")
	}
	w := must[*api.Work](t)(s.ClaimJob(t.Context(), first.ID))
	if string(w.Source) != `{"name":"smock"}` || w.Export.Paper != "a4" {
		t.Errorf("work %+v", w)
	}
	out := api.Outcome{Status: api.JobDone, File: []byte("%PDF-1.4 a pattern")}
	if err := s.FinishJob(t.Context(), first.ID, out); err != nil {
		t.Fatal(err)
	}
	if again := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d"))); again.ID != first.ID || again.Status != api.JobDone {
		t.Errorf("an equal export that is done: %+v", again)
	}
	if file := must[[]byte](t)(s.ExportFile(t.Context(), first.ID)); string(file) != string(out.File) {
		t.Errorf("file %q", file)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	must[[]byte](t)(s.ExportFile(t.Context(), first.ID))
	day := api.ExportLife.Milliseconds()
	if _, err := s.Exec(`UPDATE jobs SET created_at = created_at - ?`, day+1000); err != nil {
		t.Fatal(err)
	}
	if err := s.Sweep(t.Context()); err != nil {
		t.Fatal(err)
	}
	_, err = s.Job(t.Context(), first.ID)
	wants(t, "the export after its time", err, api.CodeNotFound)
	if j := must[*api.Job](t)(s.Job(t.Context(), other.ID)); j.Status != api.JobQueued {
		t.Errorf("one that still waits is %s", j.Status)
	}
	if n := len(pictures(t, dir)); n != 1 {
		t.Errorf("%d files, want the photo alone", n)
	}
	must[[]byte](t)(s.Picture(t.Context(), p.PhotoID, api.PictureOriginal))
}

// Exports can be made again: they are in no archive and go with their garment, which
// comes back from the trash without them.
func TestExportsAreNotKept(t *testing.T) {
	s, _, p := rig(t)
	j := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d")))
	before := exported(t, s)
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobDone, File: []byte("a file")}); err != nil {
		t.Fatal(err)
	}
	if string(exported(t, s)) != string(before) {
		t.Error("an export changed the archive")
	}
	entry := must[string](t)(s.DeleteGarment(t.Context(), p.GarmentID))
	_, err := s.Job(t.Context(), j.ID)
	wants(t, "the export of a deleted garment", err, api.CodeNotFound)
	if _, _, err := s.Restore(t.Context(), entry); err != nil {
		t.Fatal(err)
	}
	must[*api.Piece](t)(s.Piece(t.Context(), p.ID))
	_, err = s.AddExport(t.Context(), ofGarment("none", "d"))
	wants(t, "an export of no garment", err, api.CodeNotFound)
}

// A file that was lost is made again, not asked for for ever.
func TestLostExportIsMadeAgain(t *testing.T) {
	s, _, p := rig(t)
	j := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d")))
	must[*api.Work](t)(s.ClaimJob(t.Context(), j.ID))
	if err := s.FinishJob(t.Context(), j.ID, api.Outcome{Status: api.JobDone, File: []byte("a file")}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Exec(`UPDATE jobs SET file = replace(file, substr(file, 1, 4), '0000') WHERE id = ?`, j.ID); err != nil {
		t.Fatal(err)
	}
	_, err := s.ExportFile(t.Context(), j.ID)
	wants(t, "a lost file", err, api.CodeNotReady)
	if again := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, "d"))); again.ID == j.ID || again.Status != api.JobQueued {
		t.Errorf("asked for again: %+v", again)
	}
}

// A job says how many of its like are ahead of it.
func TestJobsAhead(t *testing.T) {
	s, _, p := rig(t)
	for want := range 3 {
		j := must[*api.Job](t)(s.AddExport(t.Context(), ofGarment(p.GarmentID, string(rune('a'+want)))))
		if _, err := s.Exec(`UPDATE jobs SET created_at = created_at + ? WHERE id = ?`, want, j.ID); err != nil {
			t.Fatal(err)
		}
		if j = must[*api.Job](t)(s.Job(t.Context(), j.ID)); j.Ahead != want {
			t.Errorf("%d are ahead of job %d", j.Ahead, want)
		}
	}
	_, photo, err := s.AddPhoto(t.Context(), api.NewPhoto{GarmentID: p.GarmentID, Data: []byte("later")}, api.Key{})
	if err != nil {
		t.Fatal(err)
	}
	if photo.Ahead != 0 {
		t.Errorf("%d are ahead of a photo, for which exports do not stand in line", photo.Ahead)
	}
	if u := must[api.Usage](t)(s.Usage(t.Context())); u.QueuedJobs != 4 || u.QueuedExports != 3 {
		t.Errorf("usage %+v", u)
	}
}

// A database of before there were exports opens with its jobs.
func TestJobsOfBefore(t *testing.T) {
	storetest.FolderOnly(t, "it begins with a former form of the database")
	s, dir, p := rig(t)
	before := must[[]api.Job](t)(s.RequeueJobs(context.WithoutCancel(t.Context())))
	g := must[*api.Garment](t)(s.Garment(t.Context(), p.GarmentID))
	provider := must[*goose.Provider](t)(goose.NewProvider(goose.DialectSQLite3, s.DB(), os.DirFS("migrations")))
	must[[]*goose.MigrationResult](t)(provider.DownTo(t.Context(), 9))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	t.Cleanup(func() { s.Close() })
	if after := must[[]api.Job](t)(s.RequeueJobs(t.Context())); len(after) != len(before) {
		t.Errorf("%d jobs wait, want %d", len(after), len(before))
	}
	if j := must[*api.Job](t)(s.Job(t.Context(), g.Photos[0].JobID)); j.Status != api.JobDone || j.PhotoID != p.PhotoID || j.GoneAt != nil {
		t.Errorf("job %+v", j)
	}
	if _, err := s.Export(t.Context(), io.Discard); err != nil {
		t.Error(err)
	}
}
