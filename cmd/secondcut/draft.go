package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"secondcut/geometry"
	"secondcut/geometry/export/dxf"
	"secondcut/geometry/interchange"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// draftFlags are the flags of the draft command as given.
type draftFlags struct {
	out, unit string
	print     printFlags
	unfold    bool
	plain     bool
	unwashed  bool
}

func newDraftCommand() *cobra.Command {
	var f draftFlags
	cmd := &cobra.Command{
		Use:   "draft GARMENT.json... -o OUT.pdf",
		Short: "Turn the pieces of a garment file into a pattern to cut",
		Long: `Draft gives every edge of every piece the finish that the garment file says (seam
allowance, hem, casing, ...), draws the line to cut along, and writes the pattern.
The ending of the file name chooses the form: .pdf (full size on pages), .svg, .dxf
(for pattern programs and cutters, after ASTM D6673; for others with --plain), .png (a picture to look at) or .json.

A .pdf is tiled for home paper, or comes as large sheets for a copy shop, or as one
page for a roll. A sheet that went wrong can be printed again by itself (--tiles), and
a printer that does not print true can be corrected for (--print-scale).

Several garment files make one .pdf, with a list of what is on which pages.

An edge that has no finish is cut as it was traced. Where a new finish is wanted
but it is not known how much allowance the old edge had, nothing is added: the edge
stays as it was traced, and a line says what to measure.

Exit codes: 0 all pieces are drawn; 1 some or none could be, and a line says which and
why. The others are written.`,
		Example: `  secondcut draft smock.json -o smock.pdf
  secondcut draft smock.json --paper letter --unit in -o smock.pdf
  secondcut draft smock.json --tiles B2,C1 -o again.pdf
  secondcut draft smock.json --print-scale 149.5/150,200.3/200 -o smock.pdf
  secondcut draft smock.json --paper roll:914 -o smock.pdf
  secondcut draft smock.json --plain -o smock.dxf
  secondcut draft smock.json cape.json -o wardrobe.pdf`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 && strings.EqualFold(filepath.Ext(f.out), ".pdf") {
				return runDraftSet(cmd, args, f)
			}
			if len(args) != 1 {
				return fmt.Errorf("draft takes one garment file, but %d were named; only a .pdf may hold several. Make one with 'secondcut garment TRACE.json -o garment.json'", len(args))
			}
			return runDraft(cmd, args[0], f)
		},
	}
	cmd.Flags().StringVarP(&f.out, "output", "o", "", `file to write; its ending chooses .pdf, .svg, .dxf, .png or .json ("-" for JSON on standard output)`)
	f.print.add(cmd)
	cmd.Flags().StringVar(&f.unit, "unit", "mm", "unit of widths on the labels: mm, cm or in")
	cmd.Flags().BoolVar(&f.unfold, "unfold", false, "draw pieces on the fold whole, to cut in a single layer")
	cmd.Flags().BoolVar(&f.plain, "plain", false, "write a .dxf as a plain drawing in mm with its layers in words, for programs that draw or machines that cut along lines")
	cmd.Flags().BoolVar(&f.unwashed, "unwashed", false, "draw pieces larger by what the garment file says their cloth shrinks, to cut it before it is washed")
	return cmd
}

func runDraft(cmd *cobra.Command, file string, f draftFlags) error {
	write, err := draftWriter(f)
	if err != nil {
		return err
	}
	unit, err := unitFlag(f.unit)
	if err != nil {
		return err
	}
	g, drafts, err := draftFile(cmd, file, f, unit)
	if err != nil {
		return err
	}
	if err := writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return write(w, g, drafts) }); err != nil {
		return err
	}
	return undrawn(drafts)
}

// runDraftSet writes the patterns of several garments in one PDF.
func runDraftSet(cmd *cobra.Command, files []string, f draftFlags) error {
	opt, err := f.print.options(".pdf")
	if err != nil {
		return err
	}
	unit, err := unitFlag(f.unit)
	if err != nil {
		return err
	}
	var parts []sheet.SetPart
	var all []pattern.Drafted
	for _, file := range files {
		g, drafts, err := draftFile(cmd, file, f, unit)
		if err != nil {
			return err
		}
		parts, all = append(parts, sheet.SetPart{Title: g.Name, Pieces: sheet.Drafts(g, drafts)}), append(all, drafts...)
	}
	title := fmt.Sprintf("%d patterns", len(parts))
	if err := writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return sheet.SetPDF(w, title, parts, opt) }); err != nil {
		return err
	}
	return undrawn(all)
}

// draftFile reads and drafts a garment file, and says what is to be known of it.
func draftFile(cmd *cobra.Command, file string, f draftFlags, unit measure.Unit) (pattern.Garment, []pattern.Drafted, error) {
	g, err := readGarment(file)
	if err != nil {
		return g, nil, err
	}
	drafts, err := pattern.DraftAll(g, pattern.Options{Unit: unit, Unfold: f.unfold, Unwashed: f.unwashed})
	if err != nil {
		return g, nil, fmt.Errorf("%s: %w", file, err)
	}
	for _, d := range drafts {
		if !f.json() { // a print finds room for the label by itself
			d.Findings = slices.DeleteFunc(slices.Clone(d.Findings), func(f geometry.Finding) bool { return f.Code == pattern.CodeNoRoom })
		}
		printFindings(cmd.ErrOrStderr(), d.Findings)
	}
	printFindings(cmd.ErrOrStderr(), pattern.Cautions(g))
	if !slices.ContainsFunc(drafts, pattern.Drafted.Drawn) {
		return g, nil, fmt.Errorf("%s: no piece can be drawn, so nothing is written; the lines above say why", file)
	}
	if !f.json() {
		printFindings(cmd.ErrOrStderr(), sheet.Findings(g.Name, sheet.Drafts(g, drafts)))
	}
	return g, drafts, nil
}

// undrawn is an error where pieces could not be drawn, so that a script notices.
func undrawn(drafts []pattern.Drafted) error {
	var names []string
	for _, d := range drafts {
		if !d.Drawn() {
			names = append(names, d.Name)
		}
	}
	if len(names) == 0 {
		return nil
	}
	return fmt.Errorf("%d of %d pieces could not be drawn: %s; the others were", len(names), len(drafts), strings.Join(names, ", "))
}

// json reports whether the draft is written as data.
func (f draftFlags) json() bool {
	return f.out == "-" || strings.EqualFold(filepath.Ext(f.out), ".json")
}

// draftWriter chooses the form of the output by the ending of its file name.
func draftWriter(f draftFlags) (func(io.Writer, pattern.Garment, []pattern.Drafted) error, error) {
	if f.out == "" {
		return nil, errors.New("where should the pattern go? Add -o pattern.pdf, .svg, .png or .json")
	}
	ext := strings.ToLower(filepath.Ext(f.out))
	if f.json() {
		ext = ".json"
	}
	opt, err := f.print.options(ext)
	if err != nil {
		return nil, err
	}
	if f.plain && ext != ".dxf" {
		return nil, fmt.Errorf("--plain is for a .dxf, not for a %s", ext)
	}
	switch ext {
	case ".json":
		return func(w io.Writer, g pattern.Garment, drafts []pattern.Drafted) error {
			return pattern.WriteDraft(w, g.Name, drafts)
		}, nil
	case ".svg":
		return func(w io.Writer, g pattern.Garment, drafts []pattern.Drafted) error {
			return sheet.SVG(w, g.Name, sheet.Drafts(g, drafts), opt)
		}, nil
	case ".pdf":
		return func(w io.Writer, g pattern.Garment, drafts []pattern.Drafted) error {
			return sheet.PDF(w, g.Name, sheet.Drafts(g, drafts), opt)
		}, nil
	case ".png":
		return func(w io.Writer, g pattern.Garment, drafts []pattern.Drafted) error {
			return sheet.PNG(w, sheet.Drafts(g, drafts), opt)
		}, nil
	case ".dxf":
		return func(w io.Writer, g pattern.Garment, drafts []pattern.Drafted) error {
			if f.plain {
				return sheet.DXF(w, sheet.Drafts(g, drafts), opt)
			}
			return dxf.Write(w, interchange.FromDrafts(g, drafts))
		}, nil
	}
	return nil, fmt.Errorf("%s: the ending of the file name must be .pdf, .svg, .dxf, .png or .json", f.out)
}

// readGarment reads a garment file.
func readGarment(file string) (pattern.Garment, error) {
	r, err := os.Open(file)
	if err != nil {
		return pattern.Garment{}, fileError("garment file", file, err)
	}
	defer r.Close()
	g, err := pattern.Read(r)
	if errors.Is(err, pattern.ErrNotGarment) {
		return g, fmt.Errorf("%s: %w; make one with 'secondcut garment TRACE.json -o garment.json'", file, err)
	}
	if err != nil {
		return g, fmt.Errorf("%s: %w", file, err)
	}
	return g, nil
}

func unitFlag(s string) (measure.Unit, error) {
	switch u := measure.Unit(s); u {
	case measure.Millimetre, measure.Centimetre, measure.Inch:
		return u, nil
	}
	return "", fmt.Errorf("--unit %q: choose mm, cm or in", s)
}
