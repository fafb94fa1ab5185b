package rest

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"path"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"

	"secondcut/api"
	"secondcut/vision"
)

type photoAnswer struct {
	Body *api.Photo
}

type photoAccepted struct {
	Body struct {
		Photo *api.Photo `json:"photo"`
		JobID string     `json:"job_id"`
	}
}

type jobAccepted struct {
	Body struct {
		JobID string `json:"job_id"`
	}
}

// uploadTimeout is how long a slow phone may take to send a photo.
const uploadTimeout = 10 * time.Minute

func (s *service) photoRoutes(h huma.API) {
	up := op("POST", "/garments/{id}/photos", "add-photo", "Upload a photo and trace it", 202, 400, 404, 409, 413, 415, 422, 503, 507)
	// huma answers 413 when the limit is reached, not when it is passed.
	up.MaxBodyBytes, up.BodyReadTimeout = s.Limits.FileBytes()+1, uploadTimeout
	up.RequestBody = &huma.RequestBody{}
	up.Middlewares = huma.Middlewares{s.takeTurn}
	route(s, h, up, s.addPhoto)
	up.RequestBody.Required = false // so that an empty file is called that
	up.RequestBody.Content = map[string]*huma.MediaType{"image/*": {}}
	route(s, h, op("GET", "/photos/{id}", "get-photo", "Get a photo with its trace", 200, 404), s.getPhoto)
	route(s, h, op("PATCH", "/photos/{id}", "edit-photo", "Say which side faces up or how the cards are printed, or rename a photo", 200, 400, 404), s.editPhoto)
	route(s, h, op("DELETE", "/photos/{id}", "delete-photo", "Move a photo with its pieces into the trash", 204, 404), s.deletePhoto)
	route(s, h, op("POST", "/photos/{id}/trace", "trace-photo", "Trace a photo again, with strokes or anew", 202, 400, 404, 422, 503), s.tracePhoto)
	jpeg := func(id, path, summary string) huma.Operation {
		o := op("GET", path, id, summary, 200, 404)
		o.Responses = map[string]*huma.Response{"200": {Description: "The picture", Content: map[string]*huma.MediaType{
			"image/jpeg": {},
		}}}
		return o
	}
	route(s, h, jpeg("get-photo-image", "/photos/{id}/image", "The upright photo, longer side at most 2000 px"), s.photoImage)
	route(s, h, jpeg("get-photo-plane", "/photos/{id}/plane", "The photo seen from straight above"), s.photoPlane)
}

// takeTurn lets a few uploads through at a time, before their bodies are read.
func (s *service) takeTurn(h huma.Context, next func(huma.Context)) {
	select {
	case s.sending <- struct{}{}:
		defer func() { <-s.sending }()
		next(h)
	case <-h.Context().Done():
	}
}

type upload struct {
	ID          string  `path:"id" maxLength:"64"`
	Key         string  `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Name        string  `query:"name" maxLength:"500" doc:"The file's name."`
	Face        string  `query:"face" enum:"right,wrong," doc:"Which side of the cloth faces up."`
	AcrossMM    float64 `query:"ruler_across_mm" doc:"What the ruler of 150 mm across the card sheet measures, in mm: 135 to 165. Leave out when not measured."`
	UpMM        float64 `query:"ruler_up_mm" doc:"What the ruler of 200 mm up the card sheet measures, in mm: 180 to 220. Leave out when not measured."`
	ContentType string  `header:"Content-Type"`
	RawBody     []byte  `contentType:"image/*"`
}

func (s *service) addPhoto(ctx context.Context, in *upload) (*photoAccepted, error) {
	if err := pictureType(in.ContentType); err != nil {
		return nil, err
	}
	print := api.Print{AcrossMM: in.AcrossMM, UpMM: in.UpMM}
	if err := print.Check(); err != nil {
		return nil, inQuery(err)
	}
	if err := s.hasRoom(ctx, int64(len(in.RawBody)), 1); err != nil {
		return nil, err
	}
	n := api.NewPhoto{GarmentID: in.ID, FileName: fileName(in.Name), Face: api.Face(in.Face), Print: print}
	return s.acceptPhoto(ctx, n, in.RawBody, in.Key)
}

// acceptPhoto keeps a photo as it was sent, less its metadata, and has it traced. That
// there is room for it has been seen to.
func (s *service) acceptPhoto(ctx context.Context, n api.NewPhoto, raw []byte, key string) (*photoAccepted, error) {
	data, err := s.strip(ctx, raw)
	if err != nil {
		return nil, err
	}
	info, err := vision.Header(data, s.Limits)
	if err != nil {
		return nil, err
	}
	n.Data = data
	n.Width, n.Height = vision.UprightSize(data, info)
	sum := sha256.Sum256(raw)
	p, j, err := s.Store.AddPhoto(ctx, n, creationKey(key, "POST /garments/"+n.GarmentID+"/photos", n.FileName, string(n.Face), fmt.Sprint(n.Print), string(sum[:])))
	if err != nil {
		return nil, err
	}
	if err := s.enqueue(ctx, j); err != nil {
		return nil, err
	}
	out := &photoAccepted{}
	out.Body.Photo, out.Body.JobID = p, j.ID
	return out, nil
}

// inQuery says that the value in error stands in the address, not in the body.
func inQuery(err error) error {
	if e, ok := errors.AsType[*api.Error](err); ok && e.Field != "" {
		e.Field = queryPrefix + e.Field
	}
	return err
}

// enqueue asks for the job to be run. Asking twice, for a repeated request, does
// no harm: the store gives a job to one worker only.
func (s *service) enqueue(ctx context.Context, j *api.Job) error {
	if j.Status != api.JobQueued {
		return nil
	}
	// The job stands in the store already: the client's leaving must not lose it.
	return s.Queue.Enqueue(context.WithoutCancel(ctx), *j)
}

// pictureType refuses content that does not even say that it is a picture. Some
// systems do not know HEIC, so unnamed bytes pass: what they are is looked at.
func pictureType(contentType string) error {
	t, _, err := mime.ParseMediaType(contentType)
	if contentType == "" || err == nil && (strings.HasPrefix(t, "image/") || t == "application/octet-stream") {
		return nil
	}
	return vision.Refuse(vision.CodeNotImage, "The file is not a picture.", "Choose a photo as the phone saves it: JPEG, HEIC, PNG or WebP.")
}

// fileName keeps the last part of a file's name, without control characters.
func fileName(name string) string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	name = strings.TrimSpace(strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, strings.ToValidUTF8(name, "")))
	if r := []rune(name); len(r) > api.MaxName {
		name = string(r[:api.MaxName])
	}
	if name == "" || name == "." || name == "/" {
		return "photo"
	}
	return name
}

func (s *service) getPhoto(ctx context.Context, in *byID) (*photoAnswer, error) {
	p, err := s.Store.Photo(ctx, in.ID)
	return &photoAnswer{p}, err
}

func (s *service) editPhoto(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body api.PhotoEdit
},
) (*photoAnswer, error) {
	edit, err := in.Body.Check()
	if err != nil {
		return nil, err
	}
	if edit.References != nil {
		p, err := s.Store.Photo(ctx, in.ID)
		if err != nil {
			return nil, err
		}
		if err := api.CheckReferences(*edit.References, p.Width, p.Height); err != nil {
			return nil, err
		}
	}
	p, err := s.Store.EditPhoto(ctx, in.ID, edit)
	return &photoAnswer{p}, err
}

func (s *service) deletePhoto(ctx context.Context, in *byID) (*deletedAnswer, error) {
	entry, err := s.Store.DeletePhoto(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	s.Queue.Forget(in.ID)
	return deleted(entry, nil)
}

func (s *service) tracePhoto(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Key  string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Body struct {
		Strokes []api.Stroke `json:"strokes" nullable:"false" maxItems:"500"`
		Anew    bool         `json:"anew,omitempty" doc:"Make the photo's pieces and its plane again from the start. What was changed by hand is lost."`
	}
},
) (*jobAccepted, error) {
	if err := api.CheckStrokes(in.Body.Strokes); err != nil {
		return nil, err
	}
	if err := s.hasRoom(ctx, 0, 1); err != nil {
		return nil, err
	}
	before, err := s.Store.Photo(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	body, err := json.Marshal(in.Body)
	if err != nil {
		return nil, err
	}
	j, err := s.Store.AddTrace(ctx, in.ID, in.Body.Strokes, in.Body.Anew, creationKey(in.Key, "POST /photos/"+in.ID+"/trace", string(body)))
	if err != nil {
		return nil, err
	}
	if j.Kind == api.JobTrace && j.ID != before.JobID { // a running trace would hold up the one that takes its place
		if err := s.stop(ctx, before.JobID); err != nil {
			return nil, err
		}
	}
	out := &jobAccepted{}
	out.Body.JobID = j.ID
	return out, s.enqueue(ctx, j)
}

// uprightLongest is the longer side in pixels of the picture to look at.
const uprightLongest = 2000

// photoImage makes the upright picture when it is first asked for.
func (s *service) photoImage(ctx context.Context, in *byID) (*huma.StreamResponse, error) {
	unlock := s.previews.lock(in.ID)
	defer unlock()
	jpeg, err := s.Store.Picture(ctx, in.ID, api.PictureUpright)
	if api.CodeOf(err) != api.CodeNotReady {
		return picture(jpeg), err
	}
	data, err := s.Store.Picture(ctx, in.ID, api.PictureOriginal)
	if err != nil {
		return nil, err
	}
	done, err := s.readTurn(ctx)
	if err != nil {
		return nil, err
	}
	defer done()
	if jpeg, err = s.room.Preview(ctx, data, s.Limits, uprightLongest); err != nil {
		return nil, unreadable(err)
	}
	return picture(jpeg), s.Store.KeepUpright(ctx, in.ID, jpeg)
}

func (s *service) photoPlane(ctx context.Context, in *byID) (*huma.StreamResponse, error) {
	jpeg, err := s.Store.Picture(ctx, in.ID, api.PicturePlane)
	return picture(jpeg), err
}

// picture answers with a JPEG. The browser asks each time whether it is still
// the same, so that a deleted photo is gone at once.
func picture(jpeg []byte) *huma.StreamResponse {
	return &huma.StreamResponse{Body: func(h huma.Context) {
		c := humagin.Unwrap(h)
		c.Header("Content-Type", "image/jpeg")
		c.Header("Cache-Control", "private, no-cache")
		c.Header("ETag", contentTag(jpeg))
		http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(jpeg))
	}}
}

// contentTag is an ETag made from the content.
func contentTag(data []byte) string {
	sum := sha256.Sum256(data)
	return fmt.Sprintf(`"%x"`, sum[:12])
}
