package drawing

import (
	"bytes"
	"encoding/json"
	"fmt"

	"secondcut/api"
	"secondcut/geometry/export"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// Work is a garment with its making sheet.
type Work struct {
	Garment pattern.Garment `json:"garment"`
	Making  sheet.Making    `json:"making"`
}

// WorkSource writes what [Drawer] draws a making sheet or a set of. The same gives the
// same bytes.
func WorkSource(w Work) ([]byte, error) { return json.Marshal(w) }

// DrawWork draws the making sheet of a garment as PDF; of a whole set, all its pieces at
// true size follow. What cannot be drawn is CodeInvalid.
func DrawWork(w Work, e api.Export) ([]byte, error) {
	opt, err := page(e)
	if err != nil {
		return nil, err
	}
	d, err := sheet.DrawMaking(w.Garment, w.Making, measure.Unit(e.Unit), opt)
	if err != nil {
		return nil, unprintable(err)
	}
	d.Title = w.Garment.Name + " making sheet"
	if e.What == api.WhatSet {
		r, err := Review(w.Garment, pattern.Options{Unit: measure.Unit(e.Unit), Unfold: e.Unfold, Unwashed: e.Unwashed})
		if err != nil {
			return nil, unprintable(err)
		}
		pieces, err := sheet.Draw(w.Garment.Name, printed(w.Garment, r), opt)
		if err != nil {
			return nil, unprintable(err)
		}
		d.Title = w.Garment.Name + " whole set"
		d.Pages = append(d.Pages, pieces.Pages...)
	}
	var b bytes.Buffer
	if err := export.WritePDF(&b, d); err != nil {
		return nil, unprintable(err)
	}
	return b.Bytes(), nil
}

// checkWork answers CodeInvalid when a making sheet cannot be drawn so.
func checkWork(e api.Export, opt sheet.Options) error {
	switch {
	case !e.OfWork():
		return nil
	case e.Format != "pdf":
		return api.Invalid("format", fmt.Sprintf("A making sheet is not written as %s.", e.Format), "Choose pdf.")
	case opt.Paper.Height == 0 || len(opt.Tiles) > 0:
		return api.Invalid("paper", "A making sheet is words on pages, and all of them.", "Choose A4, Letter, A3 or Tabloid, without single sheets.")
	}
	return nil
}
