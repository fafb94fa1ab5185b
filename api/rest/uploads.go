package rest

import (
	"context"
	"errors"
	"fmt"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/vision"
)

// maxPart is the largest part of an upload in bytes. A phone that loses its
// connection repeats one part.
const maxPart = 8 << 20

type newUpload struct {
	Size     int64     `json:"size" minimum:"0" doc:"Length of the whole file in bytes."`
	FileName string    `json:"file_name,omitempty" maxLength:"500" doc:"The file's name."`
	Face     api.Face  `json:"face,omitempty" enum:"right,wrong," doc:"Which side of the cloth faces up."`
	Print    api.Print `json:"print,omitempty" doc:"What the printed rulers measure."`
}

type uploadAnswer struct {
	Body *api.Upload
}

func (s *service) uploadRoutes(h huma.API) {
	route(s, h, op("POST", "/garments/{id}/uploads", "begin-upload", "Begin to send a photo in parts", 201, 400, 404, 413, 415, 422, 503, 507), s.beginUpload)
	route(s, h, op("GET", "/uploads/{id}", "get-upload", "How much of a photo has arrived", 200, 404), func(ctx context.Context, in *byID) (*uploadAnswer, error) {
		u, err := s.Store.Upload(ctx, in.ID)
		return &uploadAnswer{u}, err
	})
	part := op("PUT", "/uploads/{id}", "send-part", "Send the next part of a photo, of 8 MB at most", 200, 400, 404, 409, 413, 507)
	part.MaxBodyBytes, part.BodyReadTimeout = maxPart+1, uploadTimeout
	part.Middlewares = huma.Middlewares{s.takeTurn}
	part.RequestBody = &huma.RequestBody{}
	route(s, h, part, s.sendPart)
	part.RequestBody.Content = map[string]*huma.MediaType{"application/octet-stream": {}} // bytes have no schema
	route(s, h, op("POST", "/uploads/{id}/finish", "finish-upload", "Make a photo of what has arrived, and trace it", 202, 400, 404, 409, 413, 415, 422, 503, 507), s.finishUpload)
	route(s, h, op("DELETE", "/uploads/{id}", "drop-upload", "Give up an upload", 204, 404), func(ctx context.Context, in *byID) (*none, error) {
		return &none{}, s.Store.EndUpload(ctx, in.ID, "")
	})
}

func (s *service) beginUpload(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Key  string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Body newUpload
},
) (*uploadAnswer, error) {
	b := in.Body
	if limit := s.Limits.FileBytes(); b.Size > limit {
		return nil, vision.Refuse(vision.CodeTooLarge, fmt.Sprintf("The file is larger than %d MB.", limit>>20), "Take the photo with the phone's normal setting, or save it as JPEG.")
	}
	if b.Size == 0 {
		_, err := vision.Header(nil, s.Limits) // which says what is wrong with an empty file
		return nil, err
	}
	if err := b.Print.Check(); err != nil {
		if e, ok := errors.AsType[*api.Error](err); ok {
			e.Field = "print." + e.Field
		}
		return nil, err
	}
	if err := s.hasRoom(ctx, b.Size, 1); err != nil {
		return nil, err
	}
	n := api.NewUpload{GarmentID: in.ID, FileName: fileName(b.FileName), Face: b.Face, Print: b.Print, Size: b.Size}
	u, err := s.Store.AddUpload(ctx, n, creationKey(in.Key, "POST /garments/"+in.ID+"/uploads", n.FileName, string(n.Face), fmt.Sprint(n.Print), fmt.Sprint(n.Size)))
	return &uploadAnswer{u}, err
}

func (s *service) sendPart(ctx context.Context, in *struct {
	ID      string `path:"id" maxLength:"64"`
	Offset  int64  `query:"offset" required:"true" minimum:"0" doc:"Where in the file the part begins: what received says."`
	RawBody []byte `contentType:"application/octet-stream"`
},
) (*uploadAnswer, error) {
	u, err := s.Store.AppendUpload(ctx, in.ID, in.Offset, in.RawBody)
	return &uploadAnswer{u}, err
}

// finishUpload may be asked for again: the photo is made once.
func (s *service) finishUpload(ctx context.Context, in *byID) (*photoAccepted, error) {
	unlock := s.previews.lock(in.ID)
	defer unlock()
	u, err := s.Store.Upload(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	if u.PhotoID != "" {
		p, err := s.Store.Photo(ctx, u.PhotoID)
		if err != nil {
			return nil, err
		}
		out := &photoAccepted{}
		out.Body.Photo, out.Body.JobID = p, p.JobID
		return out, nil
	}
	if err := s.hasRoom(ctx, 0, 1); err != nil { // its bytes were counted when it was begun
		return nil, err
	}
	data, err := s.Store.UploadData(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	n := api.NewPhoto{GarmentID: u.GarmentID, FileName: u.FileName, Face: u.Face, Print: u.Print}
	out, err := s.acceptPhoto(ctx, n, data, "upload "+u.ID)
	if _, refused := errors.AsType[*vision.Refusal](err); refused {
		// It never becomes a photo: what it says besides its pixels is not kept, and its place is free.
		return nil, errors.Join(err, s.Store.EndUpload(context.WithoutCancel(ctx), u.ID, ""))
	}
	if err != nil {
		return nil, err
	}
	return out, s.Store.EndUpload(context.WithoutCancel(ctx), u.ID, out.Body.Photo.ID)
}
