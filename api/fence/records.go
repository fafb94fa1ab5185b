package fence

import (
	"context"

	"secondcut/api"
)

// The methods that reach one record, or what belongs to it.

func (f fence) Garment(ctx context.Context, id string) (*api.Garment, error) {
	g, err := get(ctx, f, api.RecordGarment, id, func() (*api.Garment, error) { return f.all.Garment(ctx, id) })
	if scope, _ := api.ScopeOf(ctx); err == nil && scope.Garment != "" {
		g.Photos = []api.Photo{} // a link shows pieces; a photo may show a home
	}
	return g, err
}

func (f fence) EditGarment(ctx context.Context, id string, edit api.GarmentEdit, version int64) (*api.Garment, error) {
	return get(ctx, f, api.RecordGarment, id, func() (*api.Garment, error) { return f.all.EditGarment(ctx, id, edit, version) })
}

func (f fence) Pieces(ctx context.Context, garmentID string) ([]*api.Piece, error) {
	return get(ctx, f, api.RecordGarment, garmentID, func() ([]*api.Piece, error) { return f.all.Pieces(ctx, garmentID) })
}

func (f fence) DeleteGarment(ctx context.Context, id string) (string, error) {
	return get(ctx, f, api.RecordGarment, id, func() (string, error) { return f.all.DeleteGarment(ctx, id) })
}

func (f fence) GarmentVersions(ctx context.Context, id string) ([]api.Version, error) {
	return get(ctx, f, api.RecordGarment, id, func() ([]api.Version, error) { return f.all.GarmentVersions(ctx, id) })
}

func (f fence) RestoreGarment(ctx context.Context, id string, to, version int64) (*api.Garment, error) {
	return get(ctx, f, api.RecordGarment, id, func() (*api.Garment, error) { return f.all.RestoreGarment(ctx, id, to, version) })
}

func (f fence) AddPhoto(ctx context.Context, p api.NewPhoto, key api.Key) (*api.Photo, *api.Job, error) {
	if err := f.inside(ctx, api.RecordGarment, p.GarmentID); err != nil {
		return nil, nil, err
	}
	return f.all.AddPhoto(ctx, p, mine(ctx, key))
}

func (f fence) Photo(ctx context.Context, id string) (*api.Photo, error) {
	return get(ctx, f, api.RecordPhoto, id, func() (*api.Photo, error) { return f.all.Photo(ctx, id) })
}

func (f fence) Picture(ctx context.Context, photoID string, kind api.PictureKind) ([]byte, error) {
	return get(ctx, f, api.RecordPhoto, photoID, func() ([]byte, error) { return f.all.Picture(ctx, photoID, kind) })
}

func (f fence) KeepUpright(ctx context.Context, photoID string, jpeg []byte) error {
	if err := f.inside(ctx, api.RecordPhoto, photoID); err != nil {
		return err
	}
	return f.all.KeepUpright(ctx, photoID, jpeg)
}

func (f fence) EditPhoto(ctx context.Context, id string, edit api.PhotoEdit) (*api.Photo, error) {
	return get(ctx, f, api.RecordPhoto, id, func() (*api.Photo, error) { return f.all.EditPhoto(ctx, id, edit) })
}

func (f fence) DeletePhoto(ctx context.Context, id string) (string, error) {
	return get(ctx, f, api.RecordPhoto, id, func() (string, error) { return f.all.DeletePhoto(ctx, id) })
}

func (f fence) AddSwatch(ctx context.Context, garmentID string, jpeg []byte) (string, error) {
	return get(ctx, f, api.RecordGarment, garmentID, func() (string, error) { return f.all.AddSwatch(ctx, garmentID, jpeg) })
}

func (f fence) Swatch(ctx context.Context, garmentID, name string) ([]byte, error) {
	return get(ctx, f, api.RecordGarment, garmentID, func() ([]byte, error) { return f.all.Swatch(ctx, garmentID, name) })
}

func (f fence) AddUpload(ctx context.Context, n api.NewUpload, key api.Key) (*api.Upload, error) {
	return get(ctx, f, api.RecordGarment, n.GarmentID, func() (*api.Upload, error) { return f.all.AddUpload(ctx, n, mine(ctx, key)) })
}

func (f fence) Upload(ctx context.Context, id string) (*api.Upload, error) {
	return get(ctx, f, api.RecordUpload, id, func() (*api.Upload, error) { return f.all.Upload(ctx, id) })
}

func (f fence) AppendUpload(ctx context.Context, id string, offset int64, part []byte) (*api.Upload, error) {
	return get(ctx, f, api.RecordUpload, id, func() (*api.Upload, error) { return f.all.AppendUpload(ctx, id, offset, part) })
}

func (f fence) UploadData(ctx context.Context, id string) ([]byte, error) {
	return get(ctx, f, api.RecordUpload, id, func() ([]byte, error) { return f.all.UploadData(ctx, id) })
}

func (f fence) EndUpload(ctx context.Context, id, photoID string) error {
	if err := f.inside(ctx, api.RecordUpload, id); err != nil {
		return err
	}
	return f.all.EndUpload(ctx, id, photoID)
}

func (f fence) Piece(ctx context.Context, id string) (*api.Piece, error) {
	return get(ctx, f, api.RecordPiece, id, func() (*api.Piece, error) { return f.all.Piece(ctx, id) })
}

func (f fence) SavePiece(ctx context.Context, id string, edit api.PieceEdit, version int64) (*api.Piece, error) {
	return get(ctx, f, api.RecordPiece, id, func() (*api.Piece, error) { return f.all.SavePiece(ctx, id, edit, version) })
}

func (f fence) AddPiece(ctx context.Context, p api.Piece, key api.Key) (*api.Piece, error) {
	return get(ctx, f, api.RecordGarment, p.GarmentID, func() (*api.Piece, error) { return f.all.AddPiece(ctx, p, mine(ctx, key)) })
}

func (f fence) DeletePiece(ctx context.Context, id string) (string, error) {
	return get(ctx, f, api.RecordPiece, id, func() (string, error) { return f.all.DeletePiece(ctx, id) })
}

func (f fence) PieceVersions(ctx context.Context, id string) ([]api.Version, error) {
	return get(ctx, f, api.RecordPiece, id, func() ([]api.Version, error) { return f.all.PieceVersions(ctx, id) })
}

func (f fence) RestorePiece(ctx context.Context, id string, to, version int64) (*api.Piece, error) {
	return get(ctx, f, api.RecordPiece, id, func() (*api.Piece, error) { return f.all.RestorePiece(ctx, id, to, version) })
}

func (f fence) Restore(ctx context.Context, trashID string) (*api.Trashed, []api.Job, error) {
	if err := f.inside(ctx, api.RecordTrash, trashID); err != nil {
		return nil, nil, err
	}
	return f.all.Restore(ctx, trashID)
}

func (f fence) AddTrace(ctx context.Context, photoID string, strokes []api.Stroke, anew bool, key api.Key) (*api.Job, error) {
	return get(ctx, f, api.RecordPhoto, photoID, func() (*api.Job, error) { return f.all.AddTrace(ctx, photoID, strokes, anew, mine(ctx, key)) })
}

func (f fence) AddExport(ctx context.Context, n api.NewExport) (*api.Job, error) {
	return get(ctx, f, api.RecordGarment, n.GarmentID, func() (*api.Job, error) { return f.all.AddExport(ctx, n) })
}

func (f fence) ExportFile(ctx context.Context, jobID string) ([]byte, error) {
	return get(ctx, f, api.RecordJob, jobID, func() ([]byte, error) { return f.all.ExportFile(ctx, jobID) })
}

func (f fence) Job(ctx context.Context, id string) (*api.Job, error) {
	return get(ctx, f, api.RecordJob, id, func() (*api.Job, error) { return f.all.Job(ctx, id) })
}
