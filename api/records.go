package api

import (
	"time"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
	"secondcut/vision"
)

// GarmentSummary is a garment as it stands in a list.
type GarmentSummary struct {
	ID         string    `json:"id"`
	Name       string    `json:"name"`
	UpdatedAt  time.Time `json:"updated_at"`
	PieceCount int       `json:"piece_count"`
	PhotoCount int       `json:"photo_count"`
	Tags       []string  `json:"tags" nullable:"false"`
	Size       string    `json:"size" doc:"The size that was measured, else the one on the old label; empty where none is known."`
	Origin     *Origin   `json:"origin,omitempty"`
	Version    int64     `json:"version"`
}

// Garment is one garment with what belongs to it. Version grows by one with
// every change of the garment, its photos or its pieces.
type Garment struct {
	ID        string         `json:"id"`
	Name      string         `json:"name"`
	Version   int64          `json:"version"`
	CreatedAt time.Time      `json:"created_at"`
	UpdatedAt time.Time      `json:"updated_at"`
	Photos    []Photo        `json:"photos" nullable:"false"`
	Pieces    []PieceSummary `json:"pieces" nullable:"false"`
	GarmentParts
}

// Face says which side of the cloth faced the camera.
type Face string

// The sides of cloth; FaceUnknown while the person has not said.
const (
	FaceUnknown Face = ""
	FaceRight   Face = "right"
	FaceWrong   Face = "wrong"
)

// PhotoStatus is how far the tracing of a photo has come.
type PhotoStatus string

// The states of a photo. A refused photo cannot be traced as it is; on a failed
// one the service itself could not go on.
const (
	PhotoQueued  PhotoStatus = "queued"
	PhotoTracing PhotoStatus = "tracing"
	PhotoTraced  PhotoStatus = "traced"
	PhotoRefused PhotoStatus = "refused"
	PhotoFailed  PhotoStatus = "failed"
)

// Photo is an uploaded photo. Width and Height are those of the upright picture
// in pixels. Trace is left out in lists. A refused photo has a Plane too when its
// scale cards were found: strokes on it can help. Print is left out where nothing
// was measured, References where nothing was pointed out. PrintChanged says that plane
// and pieces were made with other measures: tracing the photo anew makes them right. The Refusal of
// a traced photo is that of a trace anew; its pieces are those of the one before.
type Photo struct {
	ID           string          `json:"id"`
	GarmentID    string          `json:"garment_id"`
	FileName     string          `json:"file_name"`
	Width        int             `json:"width"`
	Height       int             `json:"height"`
	Face         Face            `json:"face" enum:"right,wrong,"`
	Print        *Print          `json:"print,omitempty"`
	References   []Reference     `json:"references,omitempty"`
	Status       PhotoStatus     `json:"status" enum:"queued,tracing,traced,refused,failed"`
	JobID        string          `json:"job_id"`
	Refusal      *vision.Refusal `json:"refusal,omitempty"`
	Trace        *vision.Trace   `json:"trace,omitempty"`
	Plane        *Plane          `json:"plane,omitempty"`
	PrintChanged bool            `json:"print_changed,omitempty"`
	CreatedAt    time.Time       `json:"created_at"`
}

// Plane says how the rectified picture of a photo lies in the plane frame.
type Plane struct {
	// PxPerMM is the picture's scale in pixels a millimetre.
	PxPerMM float64 `json:"px_per_mm"`
	// Origin is the place of the centre of the top left pixel, in mm.
	Origin geometry.Point `json:"origin_mm"`
	// Width and Height of the picture in pixels.
	Width  int `json:"width"`
	Height int `json:"height"`
}

// JobKind says what a job does with its photo or garment.
type JobKind string

// The kinds of job: JobTrace makes the pieces of a photo that has none yet,
// JobRetrace traces again with strokes and changes no piece, JobExport draws the
// pattern of a garment as a file.
const (
	JobTrace   JobKind = "trace"
	JobRetrace JobKind = "retrace"
	JobExport  JobKind = "export"
)

// JobStatus is the state of a job.
type JobStatus string

// The states of a job. The last four are final.
const (
	JobQueued    JobStatus = "queued"
	JobRunning   JobStatus = "running"
	JobDone      JobStatus = "done"
	JobRefused   JobStatus = "refused"
	JobFailed    JobStatus = "failed"
	JobCancelled JobStatus = "cancelled"
)

// Final reports whether a job in this state will never change again.
func (s JobStatus) Final() bool { return s != JobQueued && s != JobRunning }

// Step is where a running job stands: step Index (from 1) of Count.
type Step struct {
	Name  string `json:"name"`
	Index int    `json:"index"`
	Count int    `json:"count"`
	Text  string `json:"text"`
}

// Job is a piece of work on a photo, or on a garment where PhotoID is empty. Sequence
// grows with every change of the job and numbers its events. Refusal says why a job was
// refused or failed. Trace is the result of a retrace. An export says what it draws; its
// file is there from when it is done until GoneAt. Ahead counts the jobs that were
// queued before it and wait still.
type Job struct {
	ID        string          `json:"id"`
	Kind      JobKind         `json:"kind" enum:"trace,retrace,export"`
	PhotoID   string          `json:"photo_id" doc:"Empty for an export."`
	GarmentID string          `json:"garment_id"`
	Status    JobStatus       `json:"status" enum:"queued,running,done,refused,failed,cancelled"`
	Step      *Step           `json:"step,omitempty"`
	Refusal   *vision.Refusal `json:"refusal,omitempty"`
	Trace     *vision.Trace   `json:"trace,omitempty"`
	Export    *Export         `json:"export,omitempty"`
	GoneAt    *time.Time      `json:"gone_at,omitempty" doc:"When an export and its file are deleted."`
	Ahead     int             `json:"ahead,omitempty" doc:"How many jobs wait that were queued before this one, while it waits."`
	Sequence  int64           `json:"-"`
	// Asked says that a person waits for the job: it overtakes uploads.
	Asked bool `json:"-"`
}

// Stroke is a brush stroke by which the person says what is cloth and what is
// not. Points are in the plane frame.
type Stroke struct {
	Kind    string           `json:"kind" enum:"cloth,not-cloth"`
	WidthMM float64          `json:"width_mm" exclusiveMinimum:"0" maximum:"500"`
	Points  []geometry.Point `json:"points_mm" nullable:"false" minItems:"1" maxItems:"5000"`
}

// PieceSummary is a piece as it stands in a garment. PhotoID is empty for a piece of
// an imported garment file.
type PieceSummary struct {
	ID            string    `json:"id"`
	PhotoID       string    `json:"photo_id"`
	Name          string    `json:"name"`
	UncertaintyMM float64   `json:"uncertainty_mm"`
	Version       int64     `json:"version"`
	UpdatedAt     time.Time `json:"updated_at"`
}

// Piece is one pattern piece as the person left it: its outline in the plane frame of
// its photo, and the parts that make a pattern piece of it. PhotoID is empty for a
// piece of an imported garment file. Face is that of the photo, where there is one.
// Findings are what a check of the outline noticed, and what became of edges and marks
// when it changed; they are made anew for every answer.
type Piece struct {
	ID            string             `json:"id"`
	GarmentID     string             `json:"garment_id"`
	PhotoID       string             `json:"photo_id"`
	Name          string             `json:"name"`
	Face          Face               `json:"face" enum:"right,wrong,"`
	Knots         geometry.Path      `json:"knots" nullable:"false"`
	Holes         []geometry.Path    `json:"holes" nullable:"false"`
	UncertaintyMM float64            `json:"uncertainty_mm"`
	FrayMM        float64            `json:"fray_mm"`
	Unsure        []geometry.Stretch `json:"unsure" nullable:"false"`
	Grain         *geometry.Grain    `json:"grain,omitempty"`
	Strokes       []Stroke           `json:"strokes" nullable:"false"`
	Findings      []geometry.Finding `json:"findings" nullable:"false"`
	Version       int64              `json:"version"`
	UpdatedAt     time.Time          `json:"updated_at"`
	PieceParts
	// Untouched says that nobody has given it any parts; they are FirstParts.
	Untouched bool `json:"-"`
}

// PieceEdit is what a person may change of a piece. Pattern parts that are left out
// stay: edges and marks are taken over to the new outline. What a tracing said about the
// outline (uncertainty, fray, unsure, grain) comes along when the outline was
// taken from a new tracing; what is left out stays as it was, but that a grain left
// out beside an uncertainty was not seen.
type PieceEdit struct {
	Name    string          `json:"name" maxLength:"200"`
	Knots   geometry.Path   `json:"knots" nullable:"false"`
	Holes   []geometry.Path `json:"holes,omitempty" nullable:"false"`
	Strokes []Stroke        `json:"strokes,omitempty" nullable:"false" maxItems:"500"`

	UncertaintyMM *float64           `json:"uncertainty_mm,omitempty" minimum:"0" maximum:"1000"`
	FrayMM        *float64           `json:"fray_mm,omitempty" minimum:"0" maximum:"1000"`
	Unsure        []geometry.Stretch `json:"unsure,omitempty" nullable:"false" maxItems:"500"`
	Grain         *geometry.Grain    `json:"grain,omitempty"`

	OutlineMeans pattern.Meaning  `json:"outline_means,omitempty" enum:"cut-edge,stitch-line"`
	Edges        []pattern.Edge   `json:"edges,omitempty" nullable:"false" doc:"Replace the edges; left out, the piece keeps those it has, on the new knots."`
	Marks        []pattern.Mark   `json:"marks,omitempty" nullable:"false" doc:"Replace the marks; in the piece frame."`
	Label        *pattern.Label   `json:"label,omitempty"`
	PlaneToPiece *geometry.Rigid  `json:"plane_to_piece,omitempty" doc:"Another piece frame, in which the marks then lie; counts beside edges."`
	Derived      *pattern.Derived `json:"derived,omitempty" doc:"How the piece was made of others; left out, that stays."`
}

// PhotoEdit is what a person may change of a photo; nil leaves it as it is.
type PhotoEdit struct {
	Face       *Face        `json:"face,omitempty" enum:"right,wrong,"`
	FileName   *string      `json:"file_name,omitempty" maxLength:"1000" doc:"What the photo is called."`
	References *[]Reference `json:"references,omitempty" nullable:"false" maxItems:"4" doc:"Things of known size that were pointed out, where no scale card could be printed; they replace those before, and count when the photo is traced anew. Much rougher than scale cards."`
	Print      *Print       `json:"print,omitempty" doc:"What the printed rulers measure; it replaces what was said before, and counts when the photo is traced anew."`
}
