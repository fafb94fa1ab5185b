package rest

import (
	"context"
	"encoding/json"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/pattern"
)

func (s *service) amendRoutes(h huma.API) {
	route(s, h, op("POST", "/pieces/{id}/amend", "amend-piece", "A piece with a change made to it: opened, taken in, mirrored, a dart; nothing is saved", 200, 400, 404, 422), s.amendPiece)
	route(s, h, op("POST", "/pieces/{id}/rederive", "rederive-piece", "A piece that was made of others, made anew of what those are now; nothing is saved", 200, 404, 422), s.rederivePiece)
	route(s, h, op("POST", "/garments/{id}/pieces", "derive-piece", "Make a piece of others: a facing, casing, binding, interfacing, pocket bag or lining", 201, 400, 404, 422), s.derivePiece)
	route(s, h, op("POST", "/garments/{id}/size", "try-size", "What another size would change; nothing is saved", 200, 400, 404, 422), s.trySize)
}

// changedAnswer is a piece as it would be. Its findings are what became of edges and marks.
type changedAnswer struct{ Body *api.Piece }

func changedPiece(p api.Piece, findings []geometry.Finding) *changedAnswer {
	p.Findings = append(append([]geometry.Finding{}, findings...), api.OutlineFindings(p.Knots, p.Holes)...)
	return &changedAnswer{&p}
}

func (s *service) amendPiece(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body struct {
		Piece *api.PieceEdit `json:"piece,omitempty" doc:"The piece as it is being edited; left out, as it is saved."`
		Op    amend.Op       `json:"op"`
	}
},
) (*changedAnswer, error) {
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	now := *p
	var findings []geometry.Finding
	if in.Body.Piece != nil {
		edit, err := in.Body.Piece.Check()
		if err != nil {
			return nil, err
		}
		if now, findings, err = p.Edited(edit); err != nil {
			return nil, err
		}
	}
	now, more, err := now.Amended(in.Body.Op)
	if err != nil {
		return nil, err
	}
	return changedPiece(now, append(findings, more...)), nil
}

func (s *service) rederivePiece(ctx context.Context, in *byID) (*changedAnswer, error) {
	p, err := s.Store.Piece(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	g, all, err := s.piecesOf(ctx, p.GarmentID)
	if err != nil {
		return nil, err
	}
	now, findings, err := api.Rederived(g, all, p.ID)
	if err != nil {
		return nil, err
	}
	return changedPiece(now, findings), nil
}

func (s *service) derivePiece(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Key  string `header:"Idempotency-Key" maxLength:"200" doc:"Any text; the same creation with the same key is done once."`
	Body struct {
		Name   string          `json:"name,omitempty" maxLength:"200" doc:"Left out, it is named after the piece that it is made of."`
		Recipe pattern.Derived `json:"recipe"`
	}
},
) (*pieceAnswer, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	p, findings, err := api.Derive(g, all, in.Body.Recipe)
	if err != nil {
		return nil, err
	}
	if in.Body.Name != "" {
		if p.Name, err = api.CleanName(in.Body.Name); err != nil {
			return nil, err
		}
	}
	recipe, err := json.Marshal(in.Body.Recipe)
	if err != nil {
		return nil, err
	}
	made, err := s.Store.AddPiece(ctx, p, creationKey(in.Key, "POST /garments/pieces", in.ID, p.Name, string(recipe)))
	if err != nil {
		return nil, err
	}
	made.Findings = append(made.Findings, findings...)
	return answerPiece(made, nil)
}

type sizeAnswer struct{ Body amend.Resized }

func (s *service) trySize(ctx context.Context, in *struct {
	ID   string `path:"id" maxLength:"64"`
	Body struct {
		Wants []amend.Want `json:"wants" nullable:"false" minItems:"1" maxItems:"50"`
	}
},
) (*sizeAnswer, error) {
	g, all, err := s.piecesOf(ctx, in.ID)
	if err != nil {
		return nil, err
	}
	sound, lost := pattern.Sound(api.Compose(g, all))
	_, report, err := api.Resize(sound, in.Body.Wants)
	if err != nil {
		return nil, err
	}
	report.Findings = append(report.Findings, lost...)
	return &sizeAnswer{report}, nil
}
