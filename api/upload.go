package api

import "time"

// UploadLife is how long the parts of an upload are kept after it was begun.
const UploadLife = 24 * time.Hour

// MaxUploads is how many uploads may be under way.
const MaxUploads = 100

// NewUpload is a photo of Size bytes that will arrive in parts.
type NewUpload struct {
	GarmentID string
	FileName  string
	Face      Face
	Print     Print
	Size      int64
}

// Upload is a photo that arrives in parts: the first Received bytes are on the
// disk. PhotoID is set once all of it was accepted. What has come is private until
// then, is shown to nobody, and is deleted after [UploadLife].
type Upload struct {
	ID        string    `json:"id"`
	GarmentID string    `json:"garment_id"`
	Size      int64     `json:"size"`
	Received  int64     `json:"received"`
	PhotoID   string    `json:"photo_id,omitempty"`
	GoneAt    time.Time `json:"gone_at" doc:"When what has come is deleted."`
	FileName  string    `json:"-"`
	Face      Face      `json:"-"`
	Print     Print     `json:"-"`
}
