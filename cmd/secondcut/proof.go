package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"secondcut/geometry/pattern"
	"secondcut/geometry/proof"
	"secondcut/vision"
)

// proofFlags are the flags of the proof command as given.
type proofFlags struct {
	piece, line, printScale string
	asJSON                  bool
}

func newProofCommand() *cobra.Command {
	var f proofFlags
	cmd := &cobra.Command{
		Use:   "proof GARMENT.json PHOTO|TRACE.json",
		Short: "Compare a piece with a photo of it laid on its print, or cut anew",
		Long: `Proof closes the loop: print a piece, lay the old piece on the print (or cut it anew),
put the scale cards around it and take another photo. The outline in the photo is laid on
that of the garment file, turned over if need be, and what differs is measured edge by edge,
larger or smaller. A difference of scale is told apart: that is the printer or the cards.

--line cut-line compares with the line to cut along, for a piece that was cut anew.

Exit codes: 0 the same within what cloth and photos can tell; 1 something differs, or
the comparison could not be made; 2 the photo was refused.`,
		Example: `  secondcut proof smock.json again.jpg --piece Sleeve
  secondcut proof smock.json again.jpg --piece Sleeve --line cut-line`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("proof takes a garment file and a photo, but %d files were named; see 'secondcut proof --help'", len(args))
			}
			return runProof(cmd, args[0], args[1], f)
		},
	}
	cmd.Flags().StringVar(&f.piece, "piece", "", "`NAME` of the piece in the photo; may be left out where the garment has one piece")
	cmd.Flags().StringVar(&f.line, "line", string(proof.LineOutline), "what is compared: outline (as it was traced) or cut-line")
	cmd.Flags().StringVar(&f.printScale, "print-scale", "", "true size of the printed cards, `ACROSS,UP`, each as a factor or as measured/meant")
	cmd.Flags().BoolVar(&f.asJSON, "json", false, "write the result as JSON, in mm, for other programs")
	return cmd
}

func runProof(cmd *cobra.Command, file, photo string, f proofFlags) error {
	if f.line != string(proof.LineOutline) && f.line != string(proof.LineCut) {
		return fmt.Errorf("--line %q: choose outline or cut-line", f.line)
	}
	g, err := readGarment(file)
	if err != nil {
		return err
	}
	i, err := pieceNamed(g, f.piece)
	if err != nil {
		return err
	}
	t, err := tracedAgain(cmd, photo, f)
	if err != nil {
		return err
	}
	all := make([]proof.Again, len(t.Pieces))
	for k, p := range t.Pieces {
		all[k] = proof.Again{Outline: p.Knots, UncertaintyMM: p.UncertaintyMM}
	}
	r, err := proof.Compare(g, i, all, proof.Line(f.line), proof.Doubts{AgainPct: t.Calibration.ScaleUncertaintyPct})
	if err != nil {
		return fmt.Errorf("%s: %w", photo, err)
	}
	if f.asJSON {
		err = json.NewEncoder(cmd.OutOrStdout()).Encode(r)
	} else {
		err = printProof(cmd.OutOrStdout(), r)
	}
	if err == nil && r.Verdict != proof.VerdictSame {
		err = errors.New(r.Text + " " + r.Remedy)
	}
	return err
}

// pieceNamed returns the place of the piece of a name.
func pieceNamed(g pattern.Garment, name string) (int, error) {
	var names []string
	for i, p := range g.Pieces {
		if strings.EqualFold(p.Name, name) || name == "" && len(g.Pieces) == 1 {
			return i, nil
		}
		names = append(names, p.Name)
	}
	return 0, fmt.Errorf("say with --piece which one is in the photo: %s", strings.Join(names, ", "))
}

// tracedAgain traces a photo, or reads the trace of one.
func tracedAgain(cmd *cobra.Command, photo string, f proofFlags) (*vision.Trace, error) {
	if strings.EqualFold(filepath.Ext(photo), ".json") {
		t, err := readTrace(photo)
		return &t, err
	}
	opt, err := traceFlags{printScale: f.printScale, thickness: 0.6}.options()
	if err != nil {
		return nil, err
	}
	data, err := readPhoto(photo, opt.Limits)
	if err != nil {
		return nil, refuse(cmd.OutOrStdout(), err)
	}
	t, err := trace(cmd.Context(), data, opt, nil)
	if err != nil {
		return nil, refuse(cmd.OutOrStdout(), err)
	}
	return t, nil
}

func printProof(w io.Writer, r proof.Report) error {
	side := ""
	if r.Mirrored {
		side = " The piece lay the other way up, and was compared turned over."
	}
	fmt.Fprintf(w, "%s%s\n\n", r.Text, side)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "edge\tmedian mm\t95 % within mm\tmost mm\t\t")
	for _, e := range r.Edges {
		mark := ""
		if e.Differs {
			mark = "differs"
		}
		fmt.Fprintf(t, "%s\t%+.2f\t%.2f\t%+.2f\t%s\t\n", e.Name, e.MedianMM, e.P95MM, e.MaxMM, mark)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "\nscale %+.2f %%, known within %.2f %%; outlines sure within %.2f and %.2f mm; + is larger in the photo\n", r.ScalePct, r.ScaleDoubtPct, r.UncertaintyMM, r.AgainMM)
	return err
}
