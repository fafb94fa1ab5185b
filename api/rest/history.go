package rest

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
)

type versionList struct {
	Body struct {
		Items []api.Version `json:"items" nullable:"false"`
	}
}

type restoreInput struct {
	ID      string `path:"id" maxLength:"64"`
	N       int64  `path:"n" minimum:"1" doc:"The version to bring back."`
	IfMatch string `header:"If-Match" maxLength:"100" doc:"The ETag of the present version; required."`
}

func (s *service) historyRoutes(h huma.API) {
	route(s, h, op("GET", "/pieces/{id}/versions", "list-piece-versions", "List the versions of a piece, the present one first", 200, 404),
		func(ctx context.Context, in *byID) (*versionList, error) {
			return answerVersions(s.Store.PieceVersions(ctx, in.ID))
		})
	route(s, h, op("POST", "/pieces/{id}/versions/{n}/restore", "restore-piece-version", "Make a former version of a piece the present one", 200, 404, 412, 428),
		func(ctx context.Context, in *restoreInput) (*pieceAnswer, error) {
			version, err := versionOf(in.IfMatch)
			if err != nil {
				return nil, err
			}
			return answerPiece(s.Store.RestorePiece(ctx, in.ID, in.N, version))
		})
	route(s, h, op("GET", "/garments/{id}/versions", "list-garment-versions", "List the versions of a garment's name and pattern parts, the present one first", 200, 404),
		func(ctx context.Context, in *byID) (*versionList, error) {
			return answerVersions(s.Store.GarmentVersions(ctx, in.ID))
		})
	route(s, h, op("POST", "/garments/{id}/versions/{n}/restore", "restore-garment-version", "Make a former version of a garment's name and pattern parts the present one", 200, 404, 412, 428),
		func(ctx context.Context, in *restoreInput) (*garmentAnswer, error) {
			version, err := versionOf(in.IfMatch)
			if err != nil {
				return nil, err
			}
			return answerGarment(s.Store.RestoreGarment(ctx, in.ID, in.N, version))
		})
}

func answerVersions(items []api.Version, err error) (*versionList, error) {
	out := &versionList{}
	out.Body.Items = items
	return out, err
}
