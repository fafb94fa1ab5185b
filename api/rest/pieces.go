package rest

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
)

type pieceAnswer struct {
	ETag string `header:"ETag"`
	Body *api.Piece
}

func (s *service) pieceRoutes(h huma.API) {
	route(s, h, op("GET", "/pieces/{id}", "get-piece", "Get a piece", 200, 404), s.getPiece)
	route(s, h, op("PUT", "/pieces/{id}", "save-piece", "Save a piece", 200, 400, 404, 412, 428), s.savePiece)
	route(s, h, op("POST", "/pieces/{id}/smooth", "smooth-piece", "Draw the outline as traced anew, more or less smooth; nothing is saved", 200, 400, 404), s.smoothPiece)
	route(s, h, op("DELETE", "/pieces/{id}", "delete-piece", "Move a piece into the trash", 204, 404), s.deletePiece)
}

func (s *service) getPiece(ctx context.Context, in *byID) (*pieceAnswer, error) {
	return answerPiece(s.Store.Piece(ctx, in.ID))
}

func (s *service) savePiece(ctx context.Context, in *struct {
	ID      string `path:"id" maxLength:"64"`
	IfMatch string `header:"If-Match" maxLength:"100" doc:"The ETag of the version that the edit starts from; required."`
	Body    api.PieceEdit
},
) (*pieceAnswer, error) {
	version, err := versionOf(in.IfMatch)
	if err != nil {
		return nil, err
	}
	edit, err := in.Body.Check()
	if err != nil {
		return nil, err
	}
	return answerPiece(s.Store.SavePiece(ctx, in.ID, edit, version))
}

func (s *service) deletePiece(ctx context.Context, in *byID) (*deletedAnswer, error) {
	return deleted(s.Store.DeletePiece(ctx, in.ID))
}

func answerPiece(p *api.Piece, err error) (*pieceAnswer, error) {
	if err != nil {
		return nil, err
	}
	return &pieceAnswer{ETag(p.Version), p}, nil
}
