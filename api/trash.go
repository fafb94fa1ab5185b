package api

import "time"

// TrashLife is how long what was deleted can be brought back. After that it is
// removed with its pictures and versions.
const TrashLife = 7 * 24 * time.Hour

// TrashKind says what was deleted.
type TrashKind string

// The kinds of record that can be deleted and brought back.
const (
	TrashGarment TrashKind = "garment"
	TrashPhoto   TrashKind = "photo"
	TrashPiece   TrashKind = "piece"
)

// Trashed is something deleted that can be brought back until GoneAt.
type Trashed struct {
	ID        string    `json:"id"`
	Kind      TrashKind `json:"kind" enum:"garment,photo,piece"`
	RecordID  string    `json:"record_id"`
	GarmentID string    `json:"garment_id"`
	Name      string    `json:"name"`
	DeletedAt time.Time `json:"deleted_at"`
	GoneAt    time.Time `json:"gone_at" doc:"When it is removed for good."`
}

// Version is one version of a piece or garment.
type Version struct {
	Version int64     `json:"version"`
	Name    string    `json:"name"`
	SavedAt time.Time `json:"saved_at"`
}

// Page is a part of a list that runs from new to old: the entries after the one
// with this time and id. The zero Page is all of it.
type Page struct {
	At    time.Time
	ID    string
	Limit int
}
