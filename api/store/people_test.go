package store_test

import (
	"archive/tar"
	"bytes"
	"errors"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
)

// Accounts may be managed while a service has the folder open, and it sees that at once.
func TestPeopleBeside(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	ctx := t.Context()
	if has := must[bool](t)(s.HasAccounts(ctx)); has {
		t.Error("accounts at first")
	}
	beside := must[*store.Store](t)(store.OpenBeside(ctx, store.Place{Dir: dir}))
	a := must[*api.Account](t)(beside.AddAccount(ctx, api.Account{Name: "anna", Workspace: "east", Role: api.RoleOwner}))
	if err := beside.Close(); err != nil {
		t.Error(err)
	}
	if has := must[bool](t)(s.HasAccounts(ctx)); !has {
		t.Error("the service sees no account")
	}
	for hash, end := range map[string]time.Time{"token": {}, "sign-in": time.Now().Add(time.Hour), "past": time.Now().Add(-time.Hour)} {
		if err := s.Grant(ctx, a.ID, hash, end); err != nil {
			t.Fatal(err)
		}
	}
	known := func(want ...bool) {
		t.Helper()
		for i, hash := range []string{"token", "sign-in", "past", "guess"} {
			got, err := s.Granted(ctx, hash)
			if (err == nil) != want[i] || err == nil && got.Workspace != "east" || err != nil && api.CodeOf(err) != api.CodeNotFound {
				t.Errorf("%s: %+v, %v", hash, got, err)
			}
		}
	}
	known(true, true, false, false)
	if err := s.SetPassword(ctx, "anna", "hash"); err != nil {
		t.Error(err)
	}
	known(true, false, false, false) // who is signed in has to do so again; tokens stay
	if err := s.RevokeAll(ctx, "anna"); err != nil {
		t.Error(err)
	}
	known(false, false, false, false)
}

// An archive made by hand reaches neither a garment nor a picture of another workspace.
func TestArchiveReachesNoOtherWorkspace(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	east, west := api.WithScope(t.Context(), api.Scope{Workspace: "east"}), api.WithScope(t.Context(), api.Scope{Workspace: "west"})
	g := must[*api.Garment](t)(s.CreateGarment(east, "Smock", api.Key{}))
	secret := []byte("a photo of the east")
	if _, _, err := s.AddPhoto(east, api.NewPhoto{GarmentID: g.ID, FileName: "Front.jpg", Width: 1, Height: 1, Data: secret}, api.Key{}); err != nil {
		t.Fatal(err)
	}
	sum := pictures(t, dir)[0]
	photo := func(garment string) string {
		return `{"id":"p1","garment_id":"` + garment + `","file_name":"x","face":"","width":1,"height":1,"status":"queued","job_id":"j","original":"` + sum + `","created_at":1}` + "\n"
	}
	garment := `{"id":"g1","name":"Trap","version":1,"created_at":1,"updated_at":1,"workspace":"east"}` + "\n"
	// A row for somebody else's garment is refused.
	if _, err := s.Import(west, archiveWith(t, map[string]string{"photos": photo(g.ID)})); api.CodeOf(err) != api.CodeBadRequest {
		t.Errorf("a photo for another's garment: %v", err)
	}
	// A picture that the archive did not bring is lost, though the store has its bytes.
	if _, err := s.Import(west, archiveWith(t, map[string]string{"garments": garment, "photos": photo("g1")})); err != nil {
		t.Fatal(err)
	}
	if owner := must[api.Scope](t)(s.Owner(t.Context(), api.RecordGarment, "g1")); owner.Workspace != "west" {
		t.Errorf("taken into %q", owner.Workspace)
	}
	if data, err := s.Picture(west, "p1", api.PictureOriginal); err == nil {
		t.Errorf("the picture of the east: %q", data)
	}
	// Nor does an entry of the trash bring it back.
	entry := `{"id":"t1","kind":"photo","record_id":"p2","garment_id":"` + g.ID + `","name":"x","rows":"[]","pictures":"[]","deleted_at":4000000000000}` + "\n"
	if _, err := s.Import(west, archiveWith(t, map[string]string{"trash": entry})); err != nil {
		t.Fatal(err)
	}
	if list := must[[]api.Trashed](t)(s.Trash(west, api.Page{})); len(list) != 0 {
		t.Errorf("trash of the west: %+v", list)
	}
}

// archiveWith is an archive of the last schema with these rows by table, and no pictures.
func archiveWith(t *testing.T, tables map[string]string) *bytes.Buffer {
	t.Helper()
	var b bytes.Buffer
	w := tar.NewWriter(&b)
	add := func(name, text string) {
		err := w.WriteHeader(&tar.Header{Name: name, Size: int64(len(text)), Mode: 0o600})
		_, werr := w.Write([]byte(text))
		if err := errors.Join(err, werr); err != nil {
			t.Fatal(err)
		}
	}
	add("manifest.json", `{"format":"secondcut-archive/1","schema":12}`)
	for _, name := range []string{"workspaces", "accounts", "garments", "garment_versions", "swatches", "photos", "pieces", "piece_versions", "jobs", "trash"} {
		add("tables/"+name+".jsonl", tables[name])
	}
	add("end.json", `{"pictures":0,"lost":[]}`)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return &b
}
