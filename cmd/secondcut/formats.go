package main

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
	"secondcut/vision"
)

// writer writes one trace; name is the photo's, without its ending.
type writer func(w io.Writer, name string, t *vision.Trace) error

// traceWriter chooses the form of the output by the ending of its file name.
func traceWriter(f traceFlags) (writer, error) {
	paper, err := sheet.PaperNamed(f.paper)
	if err != nil {
		return nil, fmt.Errorf("--paper %q: choose a4, letter, a3, tabloid or one", f.paper)
	}
	opt := sheet.Options{Paper: paper}
	switch ext := strings.ToLower(filepath.Ext(f.out)); {
	case f.out == "" || f.out == "-" || ext == ".json":
		return writeJSON, nil
	case ext == ".svg":
		return func(w io.Writer, name string, t *vision.Trace) error {
			return sheet.SVG(w, name, sheetPieces(name, t), opt)
		}, nil
	case ext == ".pdf":
		return func(w io.Writer, name string, t *vision.Trace) error {
			return sheet.PDF(w, name, sheetPieces(name, t), opt)
		}, nil
	case ext == ".png":
		return func(w io.Writer, name string, t *vision.Trace) error {
			return sheet.PNG(w, sheetPieces(name, t), opt)
		}, nil
	case ext == ".dxf":
		return nil, fmt.Errorf("%s: .dxf is not written yet; choose .svg, which cutters read too, or .json, .pdf, .png", f.out)
	default:
		return nil, fmt.Errorf("%s: the ending of the file name must be .json, .svg, .pdf or .png", f.out)
	}
}

func writeJSON(w io.Writer, _ string, t *vision.Trace) error {
	return json.NewEncoder(w).Encode(t)
}

// sheetPieces turns a trace into what is printed; pieces are named after the
// photo.
func sheetPieces(name string, t *vision.Trace) []sheet.Piece {
	out := make([]sheet.Piece, len(t.Pieces))
	for i, p := range t.Pieces {
		out[i] = sheet.Piece{
			Name: name, Outline: p.Knots, Holes: p.HoleKnots, UncertaintyMM: p.UncertaintyMM, Unsure: p.Unsure,
		}
		if len(t.Pieces) > 1 {
			out[i].Name = fmt.Sprintf("%s %d", name, i+1)
		}
		if p.Grain != nil && p.Grain.Sure >= pattern.GrainSure {
			out[i].GrainDeg = &p.Grain.Deg
		}
	}
	return out
}
