package rest

import (
	"context"

	"github.com/danielgtaylor/huma/v2"

	"secondcut/api"
	"secondcut/api/drawing"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

func (s *service) makingRoutes(h huma.API) {
	route(s, h, op("GET", "/garments/{id}/making", "get-making", "The making sheet: what to cut, to prepare and to sew, in order", 200, 404, 422), s.getMaking)
	route(s, h, fileOp("/garments/{id}/making/pdf", "export-making", "The making sheet to print, alone or with all pieces at true size behind it", "application/pdf"), s.exportMaking)
}

type makingInput struct {
	ID   string `path:"id" maxLength:"64"`
	Unit string `query:"unit" enum:"mm,cm,in" default:"cm" doc:"What lengths are written in."`
}

type makingAnswer struct{ Body sheet.Making }

func (s *service) getMaking(ctx context.Context, in *makingInput) (*makingAnswer, error) {
	w, err := s.makingOf(ctx, in.ID, in.Unit)
	return &makingAnswer{w.Making}, err
}

// makingOf makes the sheet with those layouts that can be cut as they are kept.
func (s *service) makingOf(ctx context.Context, id, unit string) (drawing.Work, error) {
	g, all, err := s.piecesOf(ctx, id)
	if err != nil {
		return drawing.Work{}, err
	}
	sound, _ := pattern.Sound(api.Compose(g, all))
	plans := map[string]lay.Plan{}
	for _, kept := range g.Lays {
		l, err := s.layingOf(ctx, OnCloth{ID: id, Cloth: kept.Cloth, Unit: unit})
		if err != nil || len(kept.Pieces) == 0 || len(l.task.Check(kept.Pieces)) > 0 {
			continue // it says so where it is laid
		}
		plans[kept.Cloth] = l.task.Placed(kept.Pieces)
	}
	if sound.Swatches, err = s.swatchesOf(ctx, g); err != nil {
		return drawing.Work{}, err
	}
	m, err := sheet.NewMaking(sound, plans, measure.Unit(unit))
	if err != nil {
		return drawing.Work{}, fileError(err)
	}
	return drawing.Work{Garment: sound, Making: m}, nil
}

type makingExport struct {
	ID    string `path:"id" maxLength:"64"`
	Unit  string `query:"unit" enum:"mm,cm,in" default:"cm" doc:"What lengths are written in."`
	Paper string `query:"paper" enum:"a4,letter,a3,tabloid" default:"a4"`
	Set   bool   `query:"set" doc:"The whole set: all pieces at true size follow."`
}

func (s *service) exportMaking(ctx context.Context, in *makingExport) (*huma.StreamResponse, error) {
	e := api.Export{Format: "pdf", What: api.WhatMaking, Unit: in.Unit, Paper: in.Paper}
	if in.Set {
		e.What = api.WhatSet
	}
	return s.fileWaitedFor(ctx, in.ID, e)
}
