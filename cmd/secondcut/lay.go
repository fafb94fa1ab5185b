package main

import (
	"bytes"
	"cmp"
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
)

// layFlags are the flags of the lay command as given.
type layFlags struct {
	out, cloth, width, spread, gap, length, unit string
	seconds, shrinkLength, shrinkCross, grainTol float64
	seed                                         uint64
	nap                                          bool
}

func newLayCommand() *cobra.Command {
	var f layFlags
	cmd := &cobra.Command{
		Use:   "lay FILE.json -o LAYOUT.json",
		Short: "Lay pieces on cloth and say how much to buy",
		Long: `Lay looks for the shortest length of cloth that all pieces of a garment file fit on,
with their grain along it, and writes where each piece lies: .json, or .svg and .pdf
to look at (a tenth of true size). The best plan so far is kept until the time is up;
Ctrl-C ends the search early and writes it.

FILE may also be a plain list of outlines and a strip to lay them on ("strip_width",
"pieces"); the layout then has the form {"length", "placements"}.

Exit codes: 0 laid; 1 something cannot be laid.`,
		Example: `  secondcut lay smock.json --width 140cm --spread lengthwise -o plan.svg
  secondcut lay smock.json --width 45in --nap --seconds 30 -o plan.json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("lay takes one file, but %d were named; see 'secondcut lay --help'", len(args))
			}
			return runLay(cmd, args[0], f)
		},
	}
	flags := cmd.Flags()
	flags.StringVarP(&f.out, "output", "o", "-", `file to write; its ending chooses .json, .svg or .pdf ("-" for JSON on standard output)`)
	flags.Float64Var(&f.seconds, "seconds", 10, "how long to look for a better plan")
	flags.Uint64Var(&f.seed, "seed", 0, "another number tries other random choices")
	flags.StringVar(&f.cloth, "cloth", "", "id of the cloth in the garment file; without it the main one")
	flags.StringVar(&f.width, "width", "", `width between the selvages, such as 140cm or 55in; without it that of the garment file's cloth`)
	flags.StringVar(&f.spread, "spread", string(lay.Open), "how the cloth lies: open, lengthwise (folded along its length) or crosswise (folded across)")
	flags.BoolVar(&f.nap, "nap", false, "all pieces the same way up: pile, shine, a print with a direction")
	flags.StringVar(&f.gap, "gap", "0", "room to keep between pieces, such as 5mm")
	flags.StringVar(&f.length, "length", "", "how much cloth there is; without it as much as is needed")
	flags.Float64Var(&f.grainTol, "grain-tolerance", 0, "how many degrees a piece may be turned off the grain, 0 to 5")
	flags.Float64Var(&f.shrinkLength, "shrink-length", 0, "per cent that washing before cutting takes off the length; without it that of the garment file's cloth")
	flags.Float64Var(&f.shrinkCross, "shrink-cross", 0, "the same of the width")
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
	l, err := nest(cmd, in, f, func(l lay.Layout) string {
		return fmt.Sprintf("length %.6g, %.2f %% used", l.LengthMM, 100*in.Utilisation(l))
	})
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	return writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return lay.WriteLayout(w, l) })
}

// nest looks for a layout and shows how it gets better.
func nest(cmd *cobra.Command, in lay.Instance, f layFlags, say func(lay.Layout) string) (lay.Layout, error) {
	start, shown := time.Now(), time.Time{}
	show := func(l lay.Layout) {
		if time.Since(shown) > time.Second/2 {
			shown = time.Now()
			fmt.Fprintf(cmd.ErrOrStderr(), "%5.1f s: %s\n", time.Since(start).Seconds(), say(l))
		}
	}
	l, err := lay.Nest(cmd.Context(), in, lay.Options{Time: time.Duration(f.seconds * float64(time.Second)), Seed: f.seed}, show)
	if err == nil {
		fmt.Fprintf(cmd.ErrOrStderr(), "%5.1f s: %s; no plan can be shorter than %.6g\n", time.Since(start).Seconds(), say(l), in.LowerBoundMM())
	}
	return l, err
}

// layGarment lays the pieces of a garment file.
func layGarment(cmd *cobra.Command, g pattern.Garment, f layFlags, unit measure.Unit) error {
	cloth, err := clothOf(g, f, unit)
	if err != nil {
		return err
	}
	write, err := planWriter(g, f.out)
	if err != nil {
		return err
	}
	task, err := lay.NewTask(g, f.cloth, cloth)
	if err != nil {
		return err
	}
	printFindings(cmd.ErrOrStderr(), task.Findings)
	l, err := nest(cmd, task.Instance, f, func(l lay.Layout) string {
		return fmt.Sprintf("lies on %s, buy %s", measure.Format(l.LengthMM, unit), measure.Format(cloth.BuyMM(l.LengthMM), unit))
	})
	switch {
	case errors.Is(err, lay.ErrTooWide):
		open := ""
		if cloth.Spread == lay.Lengthwise {
			open = "lay the cloth open (--spread open), "
		}
		return fmt.Errorf("%w; %stake a wider one, or cut the piece in two and join it", err, open)
	case errors.Is(err, lay.ErrTooLong):
		return fmt.Errorf("%w; look longer (--seconds), allow a smaller gap, or take a wider cloth", err)
	case err != nil:
		return err
	}
	plan := task.Plan(l)
	return writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return write(w, plan) })
}

// clothOf returns the cloth that the flags and the garment file describe.
func clothOf(g pattern.Garment, f layFlags, unit measure.Unit) (lay.Cloth, error) {
	c := lay.Cloth{
		Spread: lay.Spread(f.spread), Nap: f.nap, GrainTolDeg: f.grainTol,
		ShrinkLengthPct: f.shrinkLength, ShrinkCrossPct: f.shrinkCross,
	}
	if unit == measure.Inch {
		c.StepMM = lay.YardStepMM
	}
	known := false
	for _, k := range g.Cloths {
		if k.ID == f.cloth || f.cloth == "" && k.Use == pattern.ClothMain && !known {
			c.Name, c.WidthMM, known = k.Name, k.WidthMM, true
			c.ShrinkLengthPct = cmp.Or(f.shrinkLength, k.ShrinkLengthPct)
			c.ShrinkCrossPct = cmp.Or(f.shrinkCross, k.ShrinkAcrossPct)
		}
	}
	if f.cloth != "" && !known {
		return c, fmt.Errorf("--cloth %q: the garment file has no cloth with this id", f.cloth)
	}
	for _, v := range []struct {
		flag, text string
		to         *float64
	}{{"--width", f.width, &c.WidthMM}, {"--gap", f.gap, &c.GapMM}, {"--length", f.length, &c.LengthMM}} {
		if v.text == "" {
			continue
		}
		mm, err := measure.Parse(v.text, unit)
		if err != nil {
			return c, fmt.Errorf("%s %q: %w", v.flag, v.text, err)
		}
		*v.to = mm
	}
	if c.WidthMM == 0 {
		return c, errors.New("how wide is the cloth? Add --width 140cm: the width between the selvages")
	}
	return c, nil
}

// planWriter chooses the form of the output by the ending of its file name.
func planWriter(g pattern.Garment, out string) (func(io.Writer, lay.Plan) error, error) {
	const scale = 0.1
	switch ext := strings.ToLower(filepath.Ext(out)); {
	case out == "-" || ext == ".json":
		return func(w io.Writer, p lay.Plan) error {
			e := json.NewEncoder(w)
			e.SetIndent("", " ")
			return e.Encode(p)
		}, nil
	case ext == ".svg":
		return func(w io.Writer, p lay.Plan) error {
			page, err := lay.Draw(g, p, scale)
			if err != nil {
				return err
			}
			return export.WriteSVG(w, g.Name, page)
		}, nil
	case ext == ".pdf":
		return func(w io.Writer, p lay.Plan) error {
			page, err := lay.Draw(g, p, scale)
			if err != nil {
				return err
			}
			return export.WritePDF(w, export.Drawing{Title: g.Name, Pages: []export.Page{page}})
		}, nil
	}
	return nil, fmt.Errorf("%s: the ending of the file name must be .json, .svg or .pdf", out)
}
