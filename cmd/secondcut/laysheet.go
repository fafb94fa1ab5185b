package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// widthsOf reads a list of widths.
func widthsOf(list string, unit measure.Unit) ([]float64, error) {
	switch list {
	case "":
		return nil, nil
	case "usual":
		return lay.UsualWidths(), nil
	}
	var out []float64
	for _, text := range strings.Split(list, ",") {
		mm, err := measure.Parse(text, unit)
		if err != nil {
			return nil, fmt.Errorf("--widths %q: %w", text, err)
		}
		out = append(out, mm)
	}
	return out, nil
}

// plotWriter returns what draws the rows of other widths; it does nothing where no plot is
// asked for.
func plotWriter(g pattern.Garment, f layFlags, unit measure.Unit) (func([]lay.WidthRow) error, error) {
	if f.plot == "" {
		return func([]lay.WidthRow) error { return nil }, nil
	}
	write, ok := pageWriter(f.plot, g.Name)
	if !ok || f.widths == "" {
		return nil, fmt.Errorf("--plot %s: the ending of the file name must be .svg or .pdf, and --widths says which widths", f.plot)
	}
	return func(rows []lay.WidthRow) error {
		page := lay.DrawWidths(g.Name, rows, func(mm float64) string { return measure.Format(mm, unit) })
		return writeFile(nil, f.plot, func(w io.Writer) error { return write(w, page) })
	}, nil
}

// layWidths prints what to buy of other widths, with what the published chart makes of
// the plan as a rough check.
func layWidths(cmd *cobra.Command, g pattern.Garment, cloth lay.Cloth, widths []float64, plan lay.Plan, f layFlags, unit measure.Unit, plot func([]lay.WidthRow) error) error {
	if len(widths) == 0 {
		return nil
	}
	length := func(mm float64) string { return measure.Format(mm, unit) }
	rows, err := lay.Widths(cmd.Context(), g, f.cloth, cloth, widths, f.options(), func(r lay.WidthRow) {
		fmt.Fprintf(cmd.ErrOrStderr(), "%s wide: done\n", length(r.WidthMM))
	})
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(cmd.ErrOrStderr(), 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "width\tbuy\tlies on\tused\tcost\tby the chart")
	for _, r := range rows {
		if r.Why != "" {
			fmt.Fprintf(w, "%s\t%s\n", length(r.WidthMM), r.Why)
			continue
		}
		cost, chart := "", "outside it"
		if r.Cost > 0 {
			cost = fmt.Sprintf("%.2f", r.Cost)
		}
		if mm, ok := lay.ByChart(plan.NeedMM, plan.Cloth.WidthMM, r.WidthMM); ok {
			chart = length(mm)
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%.0f %%\t%s\t%s\n", length(r.WidthMM), length(r.BuyMM), length(r.LaidLengthMM), r.UsedPct, cost, chart)
	}
	fmt.Fprintln(w, "The chart is a published table for plain cloth: a rough check, not a rule.")
	if err := w.Flush(); err != nil {
		return err
	}
	return plot(rows)
}

func checkMaking(name string) error {
	if ext := strings.ToLower(filepath.Ext(name)); name != "" && ext != ".pdf" && ext != ".json" {
		return fmt.Errorf("--making %s: the ending of the file name must be .pdf or .json", name)
	}
	return nil
}

// writeMaking lays the other cloths whose width is known, and writes the making sheet.
func writeMaking(cmd *cobra.Command, g pattern.Garment, plan lay.Plan, f layFlags, unit measure.Unit) error {
	plans := map[string]lay.Plan{f.cloth: plan}
	for _, c := range g.Cloths {
		other, _ := lay.ClothOf(g, c.ID)
		if c.ID == f.cloth || f.cloth == "" && c.Use == pattern.ClothMain || other.WidthMM == 0 && other.Remnant == nil {
			continue
		}
		p, err := layCloth(cmd, g, c.ID, other, f, unit)
		if err != nil {
			fmt.Fprintf(cmd.ErrOrStderr(), "%s is not laid: %v\n", c.Name, err)
			continue
		}
		plans[c.ID] = p
	}
	m, err := sheet.NewMaking(g, plans, unit)
	if err != nil {
		return err
	}
	return writeFile(cmd.OutOrStdout(), f.making, func(w io.Writer) error {
		if strings.EqualFold(filepath.Ext(f.making), ".json") {
			return writeIndented(w, m)
		}
		return sheet.MakingPDF(w, g, m, unit, sheet.Options{})
	})
}
