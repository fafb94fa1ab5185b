package store

import (
	"context"
	"fmt"
	"path"
	"regexp"
	"strings"
	"time"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/vision"
)

// FinishJob ends a running job.
func (s *Store) FinishJob(ctx context.Context, id string, out api.Outcome) error {
	defer s.holds.begin()()
	planeKey, err := s.putAny(ctx, out.PlaneJPEG)
	if err != nil {
		return err
	}
	fileKey, err := s.putAny(ctx, out.File)
	if err != nil {
		return err
	}
	var j *api.Job
	err = s.tx(ctx, func(tx *txn) (err error) {
		if j, err = job(ctx, tx, id); err != nil || j.Status != api.JobRunning {
			return err
		}
		if err := endJob(ctx, tx, *j, out); err != nil {
			return err
		}
		if j.Kind == api.JobExport {
			return endExport(ctx, tx, j.ID, fileKey)
		}
		if j.Kind != api.JobTrace || out.Status != api.JobDone && out.Plane == nil {
			return nil
		}
		return keepTrace(ctx, tx, *j, out, planeKey)
	})
	if api.CodeOf(err) == api.CodeNotFound {
		return nil // deleted while it ran
	}
	if err != nil {
		return err
	}
	s.watch.tell(id, j.GarmentID)
	return nil
}

// putAny keeps a picture where there is one.
func (s *Store) putAny(ctx context.Context, data []byte) (string, error) {
	if len(data) == 0 {
		return "", nil
	}
	key, err := s.put(ctx, data)
	if err != nil {
		return "", fmt.Errorf("store: %w", err)
	}
	return key, nil
}

// photoStatus is what a photo becomes when its trace job ends so.
var photoStatus = map[api.JobStatus]api.PhotoStatus{
	api.JobDone:      api.PhotoTraced,
	api.JobRefused:   api.PhotoRefused,
	api.JobFailed:    api.PhotoFailed,
	api.JobCancelled: api.PhotoFailed,
}

// endJob writes the end of a job into its row and, for a trace, the photo's. A
// trace document is kept once: with the photo for a trace, with the job for a
// retrace.
func endJob(ctx context.Context, tx *txn, j api.Job, out api.Outcome) error {
	why, err := text(out.Refusal)
	if err != nil {
		return err
	}
	doc := ""
	if j.Kind == api.JobRetrace {
		if doc, err = text(out.Trace); err != nil {
			return err
		}
	}
	_, err = tx.ExecContext(ctx, `UPDATE jobs SET status = ?, refusal = ?, trace = ?, sequence = sequence + 1 WHERE id = ?`, out.Status, why, doc, j.ID)
	if err != nil || j.Kind != api.JobTrace {
		return err
	}
	status := photoStatus[out.Status]
	if out.Trace == nil {
		made, err := hasPieces(ctx, tx, j.PhotoID)
		if err != nil {
			return err
		}
		if made { // a trace anew came to nothing: what was there stays, and counts
			status = api.PhotoTraced
		}
	}
	return setPhoto(ctx, tx, j, status, out.Refusal)
}

// keepTrace writes what a trace found: the document, the plane and the pieces,
// which replace those of an earlier trace of the photo.
func keepTrace(ctx context.Context, tx *txn, j api.Job, out api.Outcome, planeKey string) error {
	doc, err := text(out.Trace)
	if err != nil {
		return err
	}
	plane, err := text(out.Plane)
	if err != nil {
		return err
	}
	// A trace anew that found nothing leaves the pieces of the one before, with
	// the plane that they lie in.
	_, err = tx.ExecContext(ctx, `UPDATE photos SET trace = ?, plane = ?, plane_picture = ?, (traced_print, traced_things) = (SELECT print, known_things FROM jobs WHERE id = ?)
		WHERE id = ? AND (? = 1 OR NOT EXISTS (SELECT 1 FROM pieces WHERE photo_id = photos.id))`, doc, plane, planeKey, j.ID, j.PhotoID, out.Trace != nil)
	if err != nil || out.Trace == nil {
		return err
	}
	before, err := takePieces(ctx, tx, j.PhotoID)
	if err != nil {
		return err
	}
	var count int
	var file, strokes string
	err = tx.QueryRowContext(ctx, `SELECT (SELECT count(*) FROM pieces WHERE garment_id = ?), file_name, (SELECT strokes FROM jobs WHERE id = ?)
		FROM photos WHERE id = ?`, j.GarmentID, j.ID, j.PhotoID).Scan(&count, &file, &strokes)
	if err != nil {
		return err
	}
	ids := map[string]string{}
	for i, p := range out.Trace.Pieces {
		now := madePiece(j, p)
		now.Name = pieceName(file, i, len(out.Trace.Pieces), count)
		if len(before) == len(out.Trace.Pieces) {
			now = tracedAnew(now, before[i])
			ids[before[i].ID] = now.ID
		}
		if err := insertPiece(ctx, tx, now, strokes); err != nil {
			return err
		}
	}
	return follow(ctx, tx, j.GarmentID, ids)
}

// takePieces deletes the pieces that an earlier trace of the photo made, which lie
// in another plane, and returns them in order.
func takePieces(ctx context.Context, tx *txn, photoID string) ([]*api.Piece, error) {
	rows, err := tx.QueryContext(ctx, pieceQuery+`WHERE p.photo_id = ? ORDER BY p.created_at, p.id`, photoID)
	if err != nil {
		return nil, err
	}
	before, err := collectSound(rows)
	if err != nil {
		return nil, err
	}
	_, err = tx.ExecContext(ctx, `DELETE FROM pieces WHERE photo_id = ?`, photoID)
	return before, err
}

// madePiece is the record of a traced piece.
func madePiece(j api.Job, p vision.TracedPiece) api.Piece {
	return api.Piece{
		ID: newID(), GarmentID: j.GarmentID, PhotoID: j.PhotoID, Knots: p.Knots, Holes: append([]geometry.Path{}, p.HoleKnots...),
		Unsure: append([]geometry.Stretch{}, p.Unsure...), Grain: p.Grain, UncertaintyMM: p.UncertaintyMM, FrayMM: p.FrayMM,
		Version: 1, Untouched: true,
	}
}

// tracedAnew gives a piece what the one before was called and had been given. It has
// an id of its own all the same: a page that still shows the one before, in the plane
// before, must not save that over it.
func tracedAnew(now api.Piece, before *api.Piece) api.Piece {
	now.Name, now.Untouched = before.Name, before.Untouched
	if !now.Untouched {
		now.PieceParts = before.Retraced(now.Knots)
	}
	return now
}

// follow lets what the garment says of pieces go on with others in their place.
func follow(ctx context.Context, tx *txn, garmentID string, ids map[string]string) error {
	g, err := garment(ctx, tx, garmentID)
	if err != nil || len(ids) == 0 {
		return err
	}
	if err := keepParts(ctx, tx, g.ID, g.Name, g.GarmentParts.Renamed(ids)); err != nil {
		return err
	}
	rows, err := pieceRows(ctx, tx, garmentID)
	if err != nil {
		return err
	}
	all, err := collectSound(rows)
	if err != nil {
		return err
	}
	for _, p := range all { // those that are made of others
		if p.Derived == nil {
			continue
		}
		p.Derived = p.Derived.Renamed(ids)
		doc, err := text(&p.PieceParts)
		if err == nil {
			err = changed(ctx, tx, "piece", `UPDATE pieces SET pattern = ? WHERE id = ?`, doc, p.ID)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// insertPiece keeps the strokes that helped to find the piece with it: without
// them it would not be found when it is traced again.
func insertPiece(ctx context.Context, tx *txn, p api.Piece, strokes string) error {
	col, err := pieceColumns(p)
	if err != nil {
		return err
	}
	col[4] = strokes // as they stand with the job
	now := millis(time.Now())
	_, err = tx.ExecContext(ctx, `INSERT INTO pieces (`+pieceColumnNames+`, id, garment_id, photo_id, uncertainty_mm, fray_mm, version, created_at, updated_at)
		VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`, append(col, p.ID, p.GarmentID, p.PhotoID, p.UncertaintyMM, p.FrayMM, p.Version, now, now)...)
	return err
}

// numbered are file names that a camera gave, which say nothing to a person.
var numbered = regexp.MustCompile(`\d{3,}|^(?i:image|photo|picture|foto|img|blob)\W*\d*$`)

// pieceName names piece i of n in a photo after its file, where a person has
// named that, else by its number in the garment, which has count pieces already.
func pieceName(file string, i, n, count int) string {
	stem := strings.TrimSpace(strings.TrimSuffix(file, path.Ext(file)))
	switch {
	case stem == "" || numbered.MatchString(stem):
		return fmt.Sprintf("Piece %d", count+i+1)
	case n > 1:
		return fmt.Sprintf("%s %d", stem, i+1)
	}
	return stem
}
