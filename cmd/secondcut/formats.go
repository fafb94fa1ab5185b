package main

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"secondcut/geometry/export/dxf"
	"secondcut/geometry/interchange"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
	"secondcut/vision"
)

// writer writes one trace; name is the photo's, without its ending.
type writer func(w io.Writer, name string, t *vision.Trace) error

// printFlags are the flags of what is printed, as given.
type printFlags struct {
	paper, scale string
	tiles        []string
	margin       float64
}

func (f *printFlags) add(cmd *cobra.Command) {
	cmd.Flags().StringVar(&f.paper, "paper", "a4", paperHelp)
	cmd.Flags().StringSliceVar(&f.tiles, "tiles", nil, "only these sheets of a .pdf, such as `B2,C1`")
	cmd.Flags().Float64Var(&f.margin, "margin", 10, "empty margin of each page of a .pdf in `MM`, 10 to 25")
	cmd.Flags().StringVar(&f.scale, "print-scale", "", "how large the printer prints, `ACROSS,UP`, each as a factor or as measured/meant; a .pdf is corrected by it")
}

const paperHelp = "`PAPER` of a .pdf: a4, letter, a3, tabloid, a2, a1, a0, one (a single page as large as needed), or a roll such as roll:914 or roll:36in"

// options reads the flags for a file with the given ending. What is about printing
// is refused where nothing is printed, so that nobody relies on it in vain.
func (f printFlags) options(ext string) (opt sheet.Options, err error) {
	if opt.Paper, err = sheet.PaperNamed(f.paper); err != nil {
		return opt, fmt.Errorf("--paper: %w", err)
	}
	if ext != ".pdf" && (len(f.tiles) > 0 || f.scale != "") {
		return opt, fmt.Errorf("--tiles and --print-scale are for a .pdf, not for a %s", ext)
	}
	if f.scale != "" {
		if opt.PrintScale, err = parsePrintScale(f.scale); err != nil {
			return opt, err
		}
	}
	opt.Tiles, opt.MarginMM = f.tiles, f.margin
	return opt, nil
}

// traceWriter chooses the form of the output by the ending of its file name.
func traceWriter(f traceFlags) (writer, error) {
	paper, err := sheet.PaperNamed(f.paper)
	if err != nil {
		return nil, fmt.Errorf("--paper: %w", err)
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
		return writeTraceDXF, nil
	default:
		return nil, fmt.Errorf("%s: the ending of the file name must be .json, .svg, .pdf, .dxf or .png", f.out)
	}
}

func writeJSON(w io.Writer, _ string, t *vision.Trace) error {
	return json.NewEncoder(w).Encode(t)
}

// writeTraceDXF writes the traced pieces as a pattern whose edges are kept as they are.
func writeTraceDXF(w io.Writer, name string, t *vision.Trace) error {
	g := pattern.Garment{Format: pattern.Format, Name: name}
	if _, err := addTraced(&g, name, *t); err != nil {
		return err
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		return err
	}
	return dxf.Write(w, interchange.FromDrafts(g, drafts))
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
