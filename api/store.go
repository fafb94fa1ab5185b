package api

import (
	"context"
	"io"

	"secondcut/vision"
)

// Key makes a creation idempotent: a second creation with the same Value and
// Scope answers with what the first one made. The zero Key does nothing.
type Key struct {
	// Value is what the client sent.
	Value string
	// Scope is the operation that the key belongs to.
	Scope string
	// Digest stands for the content of the request; the same key with another
	// digest is CodeKeyReused.
	Digest string
}

// NewPhoto is a photo to be kept. Data must be free of metadata but for
// orientation and focal length.
type NewPhoto struct {
	GarmentID     string
	FileName      string
	Face          Face
	Print         Print
	Width, Height int
	Data          []byte
}

// PictureKind names one of the pictures kept of a photo.
type PictureKind string

// The pictures of a photo: as uploaded less its metadata; upright and small, to
// look at; rectified, as the editor's backdrop.
const (
	PictureOriginal PictureKind = "original"
	PictureUpright  PictureKind = "upright"
	PicturePlane    PictureKind = "plane"
)

// Work is a claimed job with what it needs.
type Work struct {
	Job
	Strokes []Stroke
	// Source is what a JobExport draws of.
	Source []byte
	// Print is what the rulers measure: for a JobTrace what is known now, for a
	// JobRetrace what the plane was made with that its strokes lie on.
	Print Print
	// References are the things of known size, likewise.
	References []Reference
	// Attempt counts the claims of this job, from 1.
	Attempt int
	// Crashes counts how often the service died while the job ran.
	Crashes int
}

// Outcome is how a job ended. Status is final. Refusal goes with JobRefused and
// JobFailed, Trace with JobDone, the plane with JobDone and with a JobRefused
// whose scale cards were found, File with the JobDone of a JobExport.
type Outcome struct {
	Status    JobStatus
	Refusal   *vision.Refusal
	Trace     *vision.Trace
	Plane     *Plane
	PlaneJPEG []byte
	File      []byte
}

// AnyVersion is the version that an edit starts from which is to be kept whatever the
// present version is.
const AnyVersion int64 = -1

// Starts reports whether an edit that starts from a version starts from the present one.
func Starts(version, present int64) bool { return version == present || version == AnyVersion }

// Imported says what an archive has added. Jobs are to be queued.
type Imported struct {
	Garments int   `json:"garments" doc:"Garments that were added."`
	Skipped  int   `json:"skipped" doc:"Garments that were here already, and stayed as they are."`
	Jobs     []Job `json:"-"`
}

// Usage says how much a store holds.
type Usage struct {
	// PictureBytes is what the pictures take, and uploads that are under way will, about.
	PictureBytes int64
	// FreeBytes is what the disk has left for it; 0 where that is not known.
	FreeBytes int64
	// QueuedJobs wait to be run; QueuedExports are those of them that draw.
	QueuedJobs, QueuedExports int
}

// Store keeps garments, photos, pieces and jobs. Whatever a method has answered
// without error is on the disk. Missing records are CodeNotFound.
type Store interface {
	// Garments lists garments, last changed first.
	Garments(ctx context.Context, page Page) ([]GarmentSummary, error)
	Garment(ctx context.Context, id string) (*Garment, error)
	// CreateGarment may answer CodeKeyReused.
	CreateGarment(ctx context.Context, name string, key Key) (*Garment, error)
	// ImportGarment makes a garment with pieces that have no photo, all or nothing.
	// It may answer CodeKeyReused.
	ImportGarment(ctx context.Context, n NewGarment, key Key) (*Garment, error)
	// EditGarment answers CodeStale when version is not the present one, and
	// CodeInvalid when the edit cannot be accepted.
	EditGarment(ctx context.Context, id string, edit GarmentEdit, version int64) (*Garment, error)
	// Pieces returns all pieces of a garment, in the order of the garment.
	Pieces(ctx context.Context, garmentID string) ([]*Piece, error)
	// DeleteGarment moves the garment with its photos and pieces into the trash; it
	// returns the id of the entry there, as the other deletions do.
	DeleteGarment(ctx context.Context, id string) (string, error)
	// GarmentVersions lists the versions of what EditGarment changes, the present
	// one first.
	GarmentVersions(ctx context.Context, id string) ([]Version, error)
	// RestoreGarment makes a former version the present one, as a new version. It
	// answers CodeStale when version is not the present one.
	RestoreGarment(ctx context.Context, id string, to, version int64) (*Garment, error)

	// AddPhoto keeps a photo together with the queued job that traces it. It may
	// answer CodeKeyReused.
	AddPhoto(ctx context.Context, p NewPhoto, key Key) (*Photo, *Job, error)
	Photo(ctx context.Context, id string) (*Photo, error)
	// Picture returns the bytes of one picture of a photo; CodeNotReady while it
	// has not been made.
	Picture(ctx context.Context, photoID string, kind PictureKind) ([]byte, error)
	// KeepUpright keeps the upright picture of a photo.
	KeepUpright(ctx context.Context, photoID string, jpeg []byte) error
	// EditPhoto changes what the person may change of a photo.
	EditPhoto(ctx context.Context, id string, edit PhotoEdit) (*Photo, error)
	// DeletePhoto moves the photo with its pieces and jobs into the trash.
	DeletePhoto(ctx context.Context, id string) (string, error)

	// AddSwatch keeps a photo of a cloth for a garment, a JPEG without metadata, and
	// returns the name by which its cloths may refer to it. One to which no version of
	// the garment refers goes after a day.
	AddSwatch(ctx context.Context, garmentID string, jpeg []byte) (name string, err error)
	// Swatch returns a photo of a cloth.
	Swatch(ctx context.Context, garmentID, name string) ([]byte, error)

	// AddUpload begins an upload. It may answer CodeKeyReused.
	AddUpload(ctx context.Context, n NewUpload, key Key) (*Upload, error)
	Upload(ctx context.Context, id string) (*Upload, error)
	// AppendUpload adds a part at the offset; CodeOffset with the upload as it
	// stands when the part does not continue it.
	AppendUpload(ctx context.Context, id string, offset int64, part []byte) (*Upload, error)
	// UploadData returns all bytes of an upload; CodeNotReady when some are missing.
	UploadData(ctx context.Context, id string) ([]byte, error)
	// EndUpload notes the photo that an upload has become, or with "" gives it up.
	EndUpload(ctx context.Context, id, photoID string) error

	Piece(ctx context.Context, id string) (*Piece, error)
	// SavePiece answers CodeStale when version is not the present one, and
	// CodeInvalid when edges or marks cannot be accepted.
	SavePiece(ctx context.Context, id string, edit PieceEdit, version int64) (*Piece, error)
	// AddPiece keeps a new piece of a garment that has no photo. It may answer
	// CodeKeyReused.
	AddPiece(ctx context.Context, p Piece, key Key) (*Piece, error)
	// DeletePiece moves the piece into the trash.
	DeletePiece(ctx context.Context, id string) (string, error)
	// PieceVersions lists the versions of a piece, the present one first.
	PieceVersions(ctx context.Context, id string) ([]Version, error)
	// RestorePiece makes a former version the present one, as a new version. It
	// answers CodeStale when version is not the present one.
	RestorePiece(ctx context.Context, id string, to, version int64) (*Piece, error)

	// Trash lists what was deleted and can be brought back, last deleted first.
	Trash(ctx context.Context, page Page) ([]Trashed, error)
	// Restore brings back what was deleted and returns the jobs that are to be
	// queued; CodeNotReady when what it belongs to is deleted itself.
	Restore(ctx context.Context, trashID string) (*Trashed, []Job, error)
	// EmptyTrash deletes an entry of the trash for good; all when the id is "".
	EmptyTrash(ctx context.Context, trashID string) error

	// AddTrace queues another tracing of a photo: a JobRetrace when the photo is
	// traced, else, or when it is to be traced anew, a JobTrace. That replaces the
	// photo's pieces when it is done. It may answer CodeKeyReused.
	AddTrace(ctx context.Context, photoID string, strokes []Stroke, anew bool, key Key) (*Job, error)
	// AddExport queues an export, or answers with an equal one that waits, runs or is
	// done.
	AddExport(ctx context.Context, n NewExport) (*Job, error)
	// ExportFile returns what an export has made; CodeNotReady while it has not.
	ExportFile(ctx context.Context, jobID string) ([]byte, error)
	Job(ctx context.Context, id string) (*Job, error)
	// ClaimJob takes a queued job for running; nil when there is nothing to do,
	// because it is gone, taken or finished.
	ClaimJob(ctx context.Context, id string) (*Work, error)
	// StepJob notes where a running job stands.
	StepJob(ctx context.Context, id string, step Step) error
	// ReleaseJob puts a running job back into the queue. A job that did no wrong
	// (the service is stopping) gets its attempt back.
	ReleaseJob(ctx context.Context, id string, blameless bool) error
	// FinishJob ends a running job and, for a JobTrace, makes the pieces found.
	// A job that is no longer running is left as it is.
	FinishJob(ctx context.Context, id string, out Outcome) error
	// CancelJob ends a queued or running job; a finished one is left as it is.
	CancelJob(ctx context.Context, id string) (*Job, error)
	// RequeueJobs puts all running jobs back into the queue and returns the ids
	// of all that are queued, oldest first. Only for the start of the one process
	// that owns the store.
	RequeueJobs(ctx context.Context) ([]Job, error)

	// Export writes all that is kept as one archive, and returns the keys of
	// pictures that were lost.
	Export(ctx context.Context, w io.Writer) (lost []string, err error)
	// Import adds what an archive holds, all or nothing.
	Import(ctx context.Context, r io.Reader) (Imported, error)
	// Ready answers without error when records can be read and pictures written.
	Ready(ctx context.Context) error
	// Usage says how much there is.
	Usage(ctx context.Context) (Usage, error)

	// AddSession lets a device in; hash is the digest of its secret.
	AddSession(ctx context.Context, hash string) error
	HasSession(ctx context.Context, hash string) (bool, error)

	// Watch returns a channel that gets a value soon after the garment or job
	// with this id has changed, and a function that ends it. Changes may be
	// merged into one value.
	Watch(id string) (<-chan struct{}, func())
}

// Queue runs jobs that the store holds.
type Queue interface {
	// Enqueue asks for a job to be run soon.
	Enqueue(ctx context.Context, job Job) error
	// Cancel ends a job whether it waits or runs.
	Cancel(ctx context.Context, jobID string) (*Job, error)
	// Forget stops what runs on a photo and lets its picture go from memory.
	Forget(photoID string)
}
