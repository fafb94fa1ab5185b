package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"secondcut/geometry"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

func newCheckCommand() *cobra.Command {
	var unit string
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "check GARMENT.json",
		Short: "Check that what gets sewn together fits together",
		Long: `Check measures both sides of every seam of a garment file along the stitch line,
from notch to notch, and prints how much longer the first side is, less the ease
that is meant. It compares curves, finished measures with the body's, and elastics
with their casings, and says what else is amiss.

Exit codes: 0 every seam fits; 1 a seam does not, or could not be measured, or a piece
cannot be drawn; 3 the file is missing or is no garment file.`,
		Example: `  secondcut check smock.json
  secondcut check smock.json --unit in`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("check takes one garment file, but %d were named; see 'secondcut check --help'", len(args))
			}
			u, err := unitFlag(unit)
			if err != nil {
				return err
			}
			return runCheck(cmd, args[0], u, asJSON)
		},
	}
	cmd.Flags().StringVar(&unit, "unit", "mm", "unit of lengths in the table: mm, cm or in (to the nearest 1/16)")
	cmd.Flags().BoolVar(&asJSON, "json", false, "write the result as JSON, in mm, for other programs")
	return cmd
}

func runCheck(cmd *cobra.Command, file string, unit measure.Unit, asJSON bool) error {
	g, err := readGarment(file)
	if err != nil {
		return unreadable{err}
	}
	r, err := pattern.Check(g)
	if err != nil {
		return unreadable{fmt.Errorf("%s: %w", file, err)}
	}
	out := cmd.OutOrStdout()
	if asJSON {
		e := json.NewEncoder(out)
		e.SetIndent("", " ")
		if err := e.Encode(r); err != nil {
			return err
		}
	} else if err := printReport(out, r, unit); err != nil {
		return err
	}
	bad := 0
	for _, s := range r.Seams {
		if !s.OK {
			bad++
		}
	}
	if bad > 0 {
		return fmt.Errorf("%d of %d seams do not fit or could not be measured", bad, len(r.Seams))
	}
	for _, f := range r.Findings {
		if f.Code == pattern.CodeUndrawn {
			return errors.New("a piece cannot be drawn; the lines above say why")
		}
	}
	return nil
}

// printReport prints tables for people.
func printReport(out io.Writer, r pattern.Report, unit measure.Unit) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	row := func(cells ...string) { fmt.Fprintln(w, strings.Join(cells, "\t")) }
	length := func(mm float64) string {
		if mm < 0 {
			return "-" + measure.Format(-mm, unit)
		}
		return measure.Format(mm, unit)
	}
	if len(r.Seams) == 0 {
		row("No seams are paired in this garment file, so none was checked.")
	} else {
		row("SEAM", "FIRST SIDE", "SECOND SIDE", "EASE MEANT", "OFF BY", "ALLOWED", "")
	}
	for _, s := range r.Seams {
		row(s.Name, length(s.AMM), length(s.BMM), length(s.EaseMM), length(s.OffMM), length(s.LimitMM), verdict(s))
	}
	if len(r.Curves) > 0 {
		row("")
		row("CURVES", "LENGTHS", "CHORDS", "DEPTHS", "APART")
	}
	for _, c := range r.Curves {
		row(c.Name, length(c.A.LengthMM)+" / "+length(c.B.LengthMM), length(c.A.ChordMM)+" / "+length(c.B.ChordMM), length(c.A.DepthMM)+" / "+length(c.B.DepthMM), length(c.ApartMM))
	}
	if len(r.Measures) > 0 {
		row("")
		row("MEASURE", "FINISHED", "BODY", "EASE MEANT", "OFF BY", "ALLOWED", "")
	}
	for _, m := range r.Measures {
		if m.BodyMM == 0 {
			row(m.Name, length(m.FinishedMM))
			continue
		}
		row(m.Name, length(m.FinishedMM), length(m.BodyMM), length(m.EaseMM), length(m.OffMM), length(m.LimitMM), fits(m.OK))
	}
	if len(r.Elastics) > 0 {
		row("")
		row("ELASTIC", "CUT", "CASING", "PULLED")
	}
	for _, e := range r.Elastics {
		pulled := "not known"
		if e.PulledMM > 0 {
			pulled = length(e.PulledMM)
		}
		row(e.Name, length(e.LengthMM), length(e.OpeningMM), pulled)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if len(r.Findings) > 0 {
		fmt.Fprintln(out)
	}
	printFindings(out, r.Findings)
	return nil
}

func verdict(s pattern.SeamRow) string {
	switch {
	case !s.Known:
		return "not known"
	case s.OK:
		return "fits"
	case math.Abs(s.OffMM) <= s.LimitMM:
		return "DOES NOT FIT between notches (" + strconv.Itoa(len(s.Parts)) + " parts)"
	}
	return fits(false)
}

func fits(ok bool) string {
	if ok {
		return "fits"
	}
	return "DOES NOT FIT"
}

// printFindings prints one line each.
func printFindings(w io.Writer, findings []geometry.Finding) {
	for _, f := range findings {
		fmt.Fprintf(w, "%s: %s %s\n", f.Severity, f.Message, f.Remedy)
	}
}
