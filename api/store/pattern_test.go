package store_test

import (
	"database/sql"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/pressly/goose/v3"

	"secondcut/api"
	"secondcut/api/store/storetest"
	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// older makes a data folder as it was before pieces had pattern parts, with one piece.
func older(t *testing.T, dir string) {
	t.Helper()
	db, err := sql.Open("sqlite", "file:"+filepath.Join(dir, "secondcut.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	provider := must[*goose.Provider](t)(goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations")))
	must[[]*goose.MigrationResult](t)(provider.UpTo(t.Context(), 4))
	for _, q := range []string{
		`INSERT INTO garments VALUES ('g', 'Smock', 3, 1, 1)`,
		`INSERT INTO photos (id, garment_id, file_name, face, width, height, status, job_id, original, created_at) VALUES ('f', 'g', 'a.jpg', 'wrong', 10, 10, 'traced', 'j', 'x', 1)`,
		`INSERT INTO pieces (id, garment_id, photo_id, name, knots, holes, unsure, strokes, uncertainty_mm, fray_mm, version, created_at, updated_at)
			VALUES ('p', 'g', 'f', 'Front', '[{"at":[10,10],"corner":true},{"at":[110,10],"corner":true},{"at":[110,210],"corner":true}]', '[]', '[]', '[]', 0.3, 0.8, 5, 1, 1)`,
	} {
		must[sql.Result](t)(db.ExecContext(t.Context(), q))
	}
}

// Pieces kept before there were patterns get edges by their corners, and keep them
// from the first edit on.
func TestOlderPiecesGetParts(t *testing.T) {
	storetest.FolderOnly(t, "it begins with a former form of the database")
	dir := t.TempDir()
	older(t, dir)
	s := open(t, dir)
	p := must[*api.Piece](t)(s.Piece(t.Context(), "p"))
	if p.Version != 5 || p.PhotoID != "f" || p.Face != api.FaceWrong || !p.Untouched || len(p.Edges) != 3 || p.Edges[0].Name != "bottom" || p.PlaneToPiece.Move.X != -10 {
		t.Fatalf("piece %+v", p)
	}
	knots := append(slices.Clone(p.Knots), geometry.Knot{At: geometry.Point{X: 10, Y: 100}, Corner: true})
	saved := must[*api.Piece](t)(s.SavePiece(t.Context(), "p", api.PieceEdit{Name: "Front", Knots: knots}, 5))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	defer s.Close()
	again := must[*api.Piece](t)(s.Piece(t.Context(), "p"))
	if again.Untouched || again.Version != 6 || len(again.Edges) != 3 || again.Edges[2] != saved.Edges[2] || again.Edges[2].Knot != 2 {
		t.Errorf("after an edit: %+v", again.Edges)
	}
	g := must[*api.Garment](t)(s.Garment(t.Context(), "g"))
	if g.SeamPairs == nil || len(g.Pieces) != 1 {
		t.Errorf("garment %+v", g)
	}
	if _, err := s.DeletePhoto(t.Context(), "f"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Piece(t.Context(), "p"); api.CodeOf(err) != api.CodeNotFound {
		t.Errorf("the piece outlived its photo: %v", err)
	}
}

// What is wrong changes nothing, whatever else the edit says.
func TestRefusedPartsChangeNothing(t *testing.T) {
	storetest.FolderOnly(t, "it begins with a former form of the database")
	dir := t.TempDir()
	older(t, dir)
	s := open(t, dir)
	defer s.Close()
	before := must[*api.Piece](t)(s.Piece(t.Context(), "p"))
	edit := api.PieceEdit{Name: "Other", Knots: before.Knots, Edges: []pattern.Edge{{ID: "a", Name: "a", Knot: 7}}}
	if _, err := s.SavePiece(t.Context(), "p", edit, before.Version); api.CodeOf(err) != api.CodeInvalid {
		t.Errorf("an edge that begins nowhere: %v", err)
	}
	notes := "new"
	seam := []pattern.SeamPair{{ID: "s", Name: "s", A: []pattern.Run{{Piece: "p", Edge: "edge-1"}}, B: []pattern.Run{{Piece: "p", Edge: "edge-1"}}}}
	if _, err := s.EditGarment(t.Context(), "g", api.GarmentEdit{Notes: &notes, SeamPairs: seam}, 3); api.CodeOf(err) != api.CodeInvalid {
		t.Errorf("a seam with itself: %v", err)
	}
	g := must[*api.Garment](t)(s.Garment(t.Context(), "g"))
	if after := must[*api.Piece](t)(s.Piece(t.Context(), "p")); after.Version != before.Version || after.Name != before.Name || g.Version != 3 || g.Notes != "" {
		t.Errorf("piece %+v, garment %+v", after, g)
	}
}

// A file is brought in whole or not at all.
func TestImportIsAllOrNothing(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	piece := api.Piece{ID: "front", Name: "Front", Holes: []geometry.Path{}, Unsure: []geometry.Stretch{}, Strokes: []api.Stroke{}}
	piece.Knots = geometry.Path{{At: geometry.Point{X: 0, Y: 0}}, {At: geometry.Point{X: 9, Y: 0}}, {At: geometry.Point{X: 9, Y: 9}}}
	piece.Edges = pattern.NewEdges(piece.Knots)
	bad := piece
	bad.ID, bad.Knots = "back", geometry.Path{{At: geometry.Point{X: math.NaN()}}} // cannot be written
	if _, err := s.ImportGarment(t.Context(), api.NewGarment{Name: "Smock", Pieces: []api.Piece{piece, bad}}, api.Key{}); err == nil {
		t.Fatal("a coordinate that is no number was kept")
	}
	if all := must[[]api.GarmentSummary](t)(s.Garments(t.Context(), api.Page{})); len(all) != 0 {
		t.Errorf("half a garment is left: %+v", all)
	}
	g := must[*api.Garment](t)(s.ImportGarment(t.Context(), api.NewGarment{Name: "Smock", Pieces: []api.Piece{piece}, Parts: api.GarmentParts{Notes: "n"}}, api.Key{}))
	if g.Notes != "n" || len(g.Pieces) != 1 || g.Pieces[0].ID == "front" {
		t.Errorf("garment %+v", g)
	}
}
