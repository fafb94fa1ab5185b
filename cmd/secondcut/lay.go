package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"secondcut/geometry/export"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// layFlags are the flags of the lay command as given.
type layFlags struct {
	out, cloth, width, spread, gap, length, end, unit string
	repeatLength, repeatAcross, widths, plot          string
	making, size                                      string
	seconds, shrinkLength, shrinkCross, grainTol      float64
	price                                             float64
	seed                                              uint64
	nap, rightOut                                     bool
	given                                             func(flag string) bool
}

func newLayCommand() *cobra.Command {
	var f layFlags
	cmd := &cobra.Command{
		Use:   "lay FILE.json -o LAYOUT.json",
		Short: "Lay pieces on cloth and say how much to buy",
		Long: `Lay looks for the shortest length of cloth that all pieces of a garment file fit on,
with their grain along it, and writes where each piece lies: .json, or .svg and .pdf
to look at (a tenth of true size; --size full for a roll to lay the cloth on). The
first plan is there within about a second. A better one is looked for until the time
is up; what is found so far is shown, and Ctrl-C ends the search early and writes it.

How the cloth lies, its nap, stripes, flaws, what there is of it and what it costs
stand in the garment file; a flag holds over the file. Stripes and checks meet along
the seams that the file marks for it, at their notches.

--widths lists what to buy of cloth of other widths. --making writes the making sheet
(.pdf or .json) with the plan in it: all that is needed at the cutting table.

FILE may also be a plain list of outlines and a strip to lay them on ("strip_width",
"pieces"); the layout then has the form {"length", "placements"}.

Exit codes: 0 laid; 1 something cannot be laid.`,
		Example: `  secondcut lay smock.json --width 140cm --spread lengthwise -o plan.svg
  secondcut lay smock.json --width 45in --nap --seconds 30 -o plan.json
  secondcut lay smock.json --widths 90cm,115cm,150cm --making sheet.pdf -o plan.pdf`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("lay takes one file, but %d were named; see 'secondcut lay --help'", len(args))
			}
			f.given = cmd.Flags().Changed
			return runLay(cmd, args[0], f)
		},
	}
	flags := cmd.Flags()
	flags.StringVarP(&f.out, "output", "o", "-", `file to write; its ending chooses .json, .svg or .pdf ("-" for JSON on standard output)`)
	flags.StringVar(&f.size, "size", "tenth", "size of an .svg or .pdf: tenth, or full for a roll")
	flags.Float64Var(&f.seconds, "seconds", 10, "how long to look for a better plan")
	flags.Uint64Var(&f.seed, "seed", 0, "another number tries other random choices")
	flags.StringVar(&f.cloth, "cloth", "", "id of the cloth in the garment file; without it the main one")
	flags.StringVar(&f.width, "width", "", "width between the selvages, such as 140cm or 55in")
	flags.StringVar(&f.spread, "spread", "", "how the cloth lies: open, lengthwise (folded along its length) or crosswise (folded across)")
	flags.BoolVar(&f.rightOut, "right-side-out", false, "a fold brings wrong sides together, so that a print can be seen and matched")
	flags.BoolVar(&f.nap, "nap", false, "all pieces the same way up: pile, shine, a print with a direction")
	flags.StringVar(&f.repeatLength, "repeat-length", "", "distance from stripe to stripe along the cloth, such as 80mm")
	flags.StringVar(&f.repeatAcross, "repeat-across", "", "the same across it")
	flags.StringVar(&f.gap, "gap", "", "room to keep between pieces, such as 5mm")
	flags.StringVar(&f.length, "length", "", "how much cloth there is; without it as much as is needed")
	flags.StringVar(&f.end, "end", "", "what to add for ends that are cut askew, such as 2cm")
	flags.Float64Var(&f.grainTol, "grain-tolerance", 0, "how many degrees a piece may be turned off the grain, 0 to 5")
	flags.Float64Var(&f.shrinkLength, "shrink-length", 0, "per cent that washing before cutting takes off the length")
	flags.Float64Var(&f.shrinkCross, "shrink-cross", 0, "the same of the width")
	flags.Float64Var(&f.price, "price", 0, "what a metre costs")
	flags.StringVar(&f.widths, "widths", "", `list what to buy of other widths: "usual", or such as 90cm,115cm,60in`)
	flags.StringVar(&f.plot, "plot", "", "with --widths: a picture of the same, .svg or .pdf")
	flags.StringVar(&f.making, "making", "", "also write the making sheet: a .pdf, or a .json with the same")
	flags.StringVar(&f.unit, "unit", "mm", "unit of the flags without one, and of what is printed: mm, cm or in")
	return cmd
}

func runLay(cmd *cobra.Command, file string, f layFlags) error {
	if !(f.seconds > 0 && f.seconds <= 86_400) {
		return fmt.Errorf("--seconds %g: choose a time above 0, up to a day (86400)", f.seconds)
	}
	unit, err := unitFlag(f.unit)
	if err != nil {
		return err
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return fileError("file", file, err)
	}
	var head struct {
		Format string           `json:"format"`
		Strip  *json.RawMessage `json:"strip_width"`
	}
	if json.Unmarshal(data, &head) == nil && head.Format == "" && head.Strip != nil {
		return layInstance(cmd, file, data, f)
	}
	g, err := readGarment(file)
	if err != nil {
		return err
	}
	return layGarment(cmd, g, f, unit)
}

// layInstance lays a plain list of outlines.
func layInstance(cmd *cobra.Command, file string, data []byte, f layFlags) error {
	if ext := strings.ToLower(filepath.Ext(f.out)); f.out != "-" && ext != ".json" {
		return fmt.Errorf("%s: the layout of a plain list of outlines is written as .json", f.out)
	}
	in, err := lay.ReadInstance(bytes.NewReader(data))
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	show := newTicker(cmd.ErrOrStderr(), f.seconds)
	say := func(l lay.Layout) { show.tell("length %.6g, %.2f %% used", l.LengthMM, 100*in.Utilisation(l)) }
	l, err := lay.Nest(cmd.Context(), in, f.options(), say)
	show.stop()
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	show.last("no plan can be shorter than %.6g", in.LowerBoundMM())
	return writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return lay.WriteLayout(w, l) })
}

// options are those of the search.
func (f layFlags) options() lay.Options {
	return lay.Options{Time: time.Duration(f.seconds * float64(time.Second)), Seed: f.seed}
}

// layGarment lays the pieces of a garment file.
func layGarment(cmd *cobra.Command, g pattern.Garment, f layFlags, unit measure.Unit) error {
	cloth, err := clothOf(g, f, unit)
	if err != nil {
		return err
	}
	write, err := planWriter(g, f)
	if err != nil {
		return err
	}
	plot, err := plotWriter(g, f, unit)
	if err != nil {
		return err
	}
	if err := checkMaking(f.making); err != nil {
		return err
	}
	widths, err := widthsOf(f.widths, unit)
	if err != nil {
		return err
	}
	plan, err := layCloth(cmd, g, f.cloth, cloth, f, unit)
	if err != nil {
		return err
	}
	if err := writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return write(w, plan) }); err != nil {
		return err
	}
	if err := layWidths(cmd, g, cloth, widths, plan, f, unit, plot); err != nil {
		return err
	}
	if f.making == "" {
		return nil
	}
	return writeMaking(cmd, g, plan, f, unit)
}

// layCloth lays what is cut from one cloth.
func layCloth(cmd *cobra.Command, g pattern.Garment, id string, cloth lay.Cloth, f layFlags, unit measure.Unit) (lay.Plan, error) {
	task, err := lay.NewTask(g, id, cloth)
	if err != nil {
		return lay.Plan{}, err
	}
	printFindings(cmd.ErrOrStderr(), task.Findings)
	length := func(mm float64) string { return measure.Format(mm, unit) }
	show := newTicker(cmd.ErrOrStderr(), f.seconds)
	plan, err := task.Nest(cmd.Context(), f.options(), nil, func(p lay.Plan) {
		if p.Cloth.Remnant != nil {
			show.tell("lies on %s, %.0f %% used", length(p.LaidLengthMM), p.UsedPct)
			return
		}
		show.tell("lies on %s, buy %s", length(p.LaidLengthMM), length(p.BuyMM))
	})
	show.stop()
	switch {
	case errors.Is(err, lay.ErrTooWide):
		way := cloth.WayOut()
		if cloth.Spread == lay.Lengthwise {
			way += " (--spread open)"
		}
		return plan, fmt.Errorf("%w; %s", err, way)
	case errors.Is(err, lay.ErrTooLong):
		return plan, fmt.Errorf("%w; look longer (--seconds), allow a smaller gap, or take a wider cloth", err)
	case err != nil:
		return plan, err
	}
	cost := ""
	if plan.Cost > 0 {
		cost = strings.TrimRight(fmt.Sprintf(", %.2f %s", plan.Cost, plan.Cloth.Currency), " ")
	}
	show.last("no plan can be shorter than %s; %.0f %% used%s", length(plan.BoundMM), plan.UsedPct, cost)
	return plan, nil
}

// clothOf returns the cloth of the garment file with what the flags say of it.
func clothOf(g pattern.Garment, f layFlags, unit measure.Unit) (lay.Cloth, error) {
	c, known := lay.ClothOf(g, f.cloth)
	if f.cloth != "" && !known {
		return c, fmt.Errorf("--cloth %q: the garment file has no cloth with this id", f.cloth)
	}
	if unit == measure.Inch {
		c.StepMM = lay.YardStepMM
	}
	for _, v := range []struct {
		flag, text string
		to         *float64
	}{
		{"width", f.width, &c.WidthMM},
		{"gap", f.gap, &c.GapMM},
		{"length", f.length, &c.LengthMM},
		{"end", f.end, &c.EndMM},
		{"repeat-length", f.repeatLength, &c.RepeatLengthMM},
		{"repeat-across", f.repeatAcross, &c.RepeatAcrossMM},
	} {
		if !f.given(v.flag) {
			continue
		}
		mm, err := measure.Parse(v.text, unit)
		if err != nil {
			return c, fmt.Errorf("--%s %q: %w", v.flag, v.text, err)
		}
		*v.to = mm
	}
	for _, v := range []struct {
		flag  string
		value float64
		to    *float64
	}{
		{"grain-tolerance", f.grainTol, &c.GrainTolDeg},
		{"shrink-length", f.shrinkLength, &c.ShrinkLengthPct},
		{"shrink-cross", f.shrinkCross, &c.ShrinkCrossPct},
		{"price", f.price, &c.PricePerM},
	} {
		if f.given(v.flag) {
			*v.to = v.value
		}
	}
	if f.given("spread") {
		c.Spread = lay.Spread(f.spread)
	}
	if f.given("nap") {
		c.Nap = f.nap
	}
	if f.given("right-side-out") {
		c.RightSideOut = f.rightOut
	}
	if f.given("width") || f.given("length") {
		c.Remnant = nil // the flags describe another cloth than the remnant
	}
	if c.WidthMM == 0 && c.Remnant == nil {
		return c, errors.New("how wide is the cloth? Add --width 140cm: the width between the selvages")
	}
	return c, nil
}

// planWriter chooses the form of the output by the ending of its file name.
func planWriter(g pattern.Garment, f layFlags) (func(io.Writer, lay.Plan) error, error) {
	scale, ok := map[string]float64{"tenth": 0.1, "full": 1}[f.size]
	if !ok {
		return nil, fmt.Errorf("--size %q: it is tenth or full", f.size)
	}
	draw := func(write func(io.Writer, export.Page) error) func(io.Writer, lay.Plan) error {
		return func(w io.Writer, p lay.Plan) error {
			page, err := lay.Draw(g, p, scale)
			if err != nil {
				return err
			}
			if err := write(w, page); errors.Is(err, export.ErrPageSize) {
				return fmt.Errorf("%w; write the plan as .svg, or a tenth of its size", err)
			} else if err != nil {
				return err
			}
			return nil
		}
	}
	if f.out == "-" || strings.EqualFold(filepath.Ext(f.out), ".json") {
		return func(w io.Writer, p lay.Plan) error { return writeIndented(w, p) }, nil
	}
	if write, ok := pageWriter(f.out, g.Name); ok {
		return draw(write), nil
	}
	return nil, fmt.Errorf("%s: the ending of the file name must be .json, .svg or .pdf", f.out)
}

// pageWriter chooses the form of a drawing of one page by the ending of its file name.
func pageWriter(name, title string) (func(io.Writer, export.Page) error, bool) {
	switch strings.ToLower(filepath.Ext(name)) {
	case ".svg":
		return func(w io.Writer, page export.Page) error { return export.WriteSVG(w, title, page) }, true
	case ".pdf":
		return func(w io.Writer, page export.Page) error {
			return export.WritePDF(w, export.Drawing{Title: title, Pages: sheet.Lengths(page)})
		}, true
	}
	return nil, false
}

func writeIndented(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	return e.Encode(v)
}
