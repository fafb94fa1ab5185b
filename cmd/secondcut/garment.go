package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"secondcut/geometry"
	"secondcut/geometry/intake"
	"secondcut/geometry/interchange"
	"secondcut/geometry/interchange/svg"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/vision"
)

func newGarmentCommand() *cobra.Command {
	var output, name, tall string
	cmd := &cobra.Command{
		Use:   "garment TRACE.json|PATTERN.dxf|PATTERN.svg... -o GARMENT.json",
		Short: "Start a garment file from traces, or from patterns as DXF or SVG",
		Long: `Garment gathers traced pieces into one garment file, which keeps their outlines
with names, edges and what is not sure about them. Each piece is named after the
file that it comes from.

Of a .dxf (after ASTM D6673, or a drawing with its cut lines on a layer CUT) it takes
outlines, holes, names, how often each piece is cut, grain lines, notches, drill holes,
lines and words. Where a sewing line runs inside an edge at one distance, that is the
edge's old allowance. What is not taken is said.

Of a .svg it takes closed outlines, or those in groups whose names say what they are
(cut line, stitch line, grain ...). It has to say its size with a unit; where it does not,
--tall says how tall its largest piece is.`,
		Example: `  secondcut trace front.jpg -o front.json
  secondcut trace sleeve.jpg -o sleeve.json
  secondcut garment front.json sleeve.json --name "Smock" -o smock.json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("name at least one trace, such as sleeve.json from 'secondcut trace sleeve.jpg -o sleeve.json'")
			}
			if output == "" {
				return errors.New("where should the garment go? Add -o garment.json, or -o - for standard output")
			}
			opt, err := tallFlag(tall)
			if err != nil {
				return err
			}
			g, findings, err := gather(name, args, opt)
			if err != nil {
				return err
			}
			for _, f := range findings {
				fmt.Fprintf(cmd.ErrOrStderr(), "%s: %s %s\n", f.Severity, f.Message, f.Remedy)
			}
			return writeFile(cmd.OutOrStdout(), output, func(w io.Writer) error { return pattern.Write(w, g) })
		},
	}
	cmd.Flags().StringVarP(&output, "output", "o", "", `file to write, or "-" for standard output`)
	cmd.Flags().StringVar(&name, "name", "Garment", "what the garment is called")
	cmd.Flags().StringVar(&tall, "tall", "", "how tall the largest piece of an .svg is, such as `640mm` or 25in, where the file does not say its unit")
	return cmd
}

// tallFlag reads the height of the largest piece.
func tallFlag(s string) (intake.Options, error) {
	if s == "" {
		return intake.Options{}, nil
	}
	mm, err := measure.Parse(s, measure.Millimetre)
	if err != nil || !(mm >= 1 && mm <= 20000) {
		return intake.Options{}, fmt.Errorf("--tall %q: say a length such as 640mm or 25in", s)
	}
	return intake.Options{TallMM: mm}, nil
}

// gather reads traces and makes a garment of all their pieces.
func gather(name string, files []string, opt intake.Options) (pattern.Garment, []geometry.Finding, error) {
	g := pattern.Garment{Format: pattern.Format, Name: name}
	var findings []geometry.Finding
	for _, file := range files {
		found, err := addFile(&g, file, opt)
		if err != nil {
			return g, nil, err
		}
		findings = append(findings, found...)
	}
	return g, findings, nil
}

// addFile adds the pieces of a trace, of a DXF or of an SVG to a garment.
func addFile(g *pattern.Garment, file string, opt intake.Options) ([]geometry.Finding, error) {
	if intake.Takes(file) {
		return addPattern(g, file, opt)
	}
	t, err := readTrace(file)
	if err != nil {
		return nil, err
	}
	return addTraced(g, strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)), t)
}

// addTraced adds traced pieces, named after their photo.
func addTraced(g *pattern.Garment, base string, t vision.Trace) (findings []geometry.Finding, err error) {
	for i, p := range t.Pieces {
		label := base
		if len(t.Pieces) > 1 {
			label = fmt.Sprintf("%s %d", base, i+1)
		}
		found, err := addPiece(g, label, traced(p))
		if err != nil {
			return nil, fmt.Errorf("%s: %w", base, err)
		}
		findings = append(findings, found...)
	}
	return findings, nil
}

func addPiece(g *pattern.Garment, label string, t pattern.Traced) ([]geometry.Finding, error) {
	piece, found, err := pattern.NewPiece(fmt.Sprintf("p%d", len(g.Pieces)+1), label, t)
	g.Pieces = append(g.Pieces, piece)
	return found, err
}

// addPattern adds the pieces of a pattern as others write it, and says what is not taken.
func addPattern(g *pattern.Garment, file string, opt intake.Options) ([]geometry.Finding, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, fileError("pattern", file, err)
	}
	p, err := intake.Read(data, opt)
	if errors.Is(err, svg.ErrNoUnit) {
		return nil, fmt.Errorf("%s: %w. %s Such as --tall 640mm", file, err, intake.Remedy(err))
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w. %s", file, err, intake.Remedy(err))
	}
	findings, err := interchange.Add(g, p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return findings, nil
}

// readTrace reads a trace document and refuses other kinds and versions.
func readTrace(file string) (t vision.Trace, err error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return t, fileError("trace", file, err)
	}
	if err := json.Unmarshal(data, &t); err != nil {
		return t, fmt.Errorf("%s is not a trace: %v; make one with 'secondcut trace PHOTO -o %s'", file, err, filepath.Base(file))
	}
	switch {
	case t.Format == vision.TraceFormat:
		return t, nil
	case strings.HasPrefix(t.Format, "secondcut-trace/"):
		return t, fmt.Errorf("%s is a %s, and this program reads %s; a newer program may read it", file, t.Format, vision.TraceFormat)
	default:
		return t, fmt.Errorf("%s is not a trace; make one with 'secondcut trace PHOTO -o trace.json'", file)
	}
}

func traced(p vision.TracedPiece) pattern.Traced {
	return pattern.Traced{
		Outline: p.Knots, Holes: p.HoleKnots, UncertaintyMM: p.UncertaintyMM, Unsure: p.Unsure, Grain: p.Grain,
	}
}
