package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"secondcut/geometry"
	"secondcut/geometry/amend"
	"secondcut/geometry/derive"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

func newAmendCommand() *cobra.Command {
	var piece, op, seam, who, out string
	var flat bool
	cmd := &cobra.Command{
		Use:   "amend GARMENT.json",
		Short: "Change a piece: open, take in, dart, mirror, symmetric, grain, fair, length",
		Long: `Amend makes one change of a piece, as scissors and ruler would, or makes the two sides
of a seam agree. Marks, names and finishes come along; what cannot is kept, and said.

A change is written as JSON, with points in mm in the piece frame:
  {"kind":"open","line_mm":[[0,250],[100,250]],"mm":30}    longer by 30 mm at that line; negative takes in
  {"kind":"spread","line_mm":[[120,0],[120,500]],"mm":40}  opened at the first point, hinged at the second
  {"kind":"dart","at_mm":[240,160],"tip_mm":[120,160],"mm":25}
  {"kind":"close-dart","mark":"dart-1","at_mm":[120,0]}    closed, and opened at that place instead
  {"kind":"mirror"}  {"kind":"symmetric","keep":"left"}  {"kind":"grain"}
  {"kind":"fair","edge":"edge-2","mm":1.5}                 least change of curvature within 1.5 mm
  {"kind":"length","edge":"edge-2","mm":-4,"moves":"end"}`,
		Example: `  secondcut amend smock.json --piece front --do '{"kind":"mirror"}' -o smock2.json
  secondcut amend smock.json --seam side --gives both -o smock2.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			g, err := readGarment(args[0])
			if err != nil {
				return err
			}
			switch {
			case out == "" || (seam == "") == (op == ""):
				return fmt.Errorf("amend takes either --piece with --do, or --seam, and -o for where to write; see 'secondcut amend --help'")
			case seam != "":
				if g, err = amend.Match(g, seam, amend.Who(who), flat); err != nil {
					return err
				}
			default:
				if g, err = amended(cmd.ErrOrStderr(), g, piece, op); err != nil {
					return err
				}
			}
			return writeFile(cmd.OutOrStdout(), out, func(w io.Writer) error { return pattern.Write(w, g) })
		},
	}
	cmd.Flags().StringVar(&piece, "piece", "", "id of the piece")
	cmd.Flags().StringVar(&op, "do", "", "the change, as JSON")
	cmd.Flags().StringVar(&seam, "seam", "", "id of a seam whose sides are made to agree")
	cmd.Flags().StringVar(&who, "gives", "both", "which side of the seam gives way: both, a or b")
	cmd.Flags().BoolVar(&flat, "flat", false, "keep the ends of the seam, and change how deep its edges are")
	cmd.Flags().StringVarP(&out, "output", "o", "", "write the changed garment file here")
	return cmd
}

func amended(say io.Writer, g pattern.Garment, piece, text string) (pattern.Garment, error) {
	op, err := amend.ReadOp([]byte(text))
	if err != nil {
		return g, err
	}
	i := slices.IndexFunc(g.Pieces, func(p pattern.Piece) bool { return p.ID == piece })
	if i < 0 {
		return g, fmt.Errorf("the garment has no piece %q; it has %s", piece, pieceIDs(g))
	}
	now, findings, err := amend.Apply(g.Pieces[i], op)
	if err != nil {
		return g, err
	}
	g.Pieces = slices.Clone(g.Pieces)
	g.Pieces[i] = now
	sayFindings(say, append(findings, derive.Stale(g)...))
	return g, nil
}

func sayFindings(w io.Writer, findings []geometry.Finding) {
	for _, f := range findings {
		fmt.Fprintf(w, "%s: %s %s\n", f.Severity, f.Message, f.Remedy)
	}
}

func newDeriveCommand() *cobra.Command {
	var kind, out, width, play, at, length, drop, ease, shorter, allowance string
	var edges []string
	var folded, bias, update bool
	cmd := &cobra.Command{
		Use:   "derive GARMENT.json",
		Short: "Make a facing, casing, binding, interfacing, pocket bag or lining of other pieces",
		Long: `Derive adds a piece that is made of edges of others, drawn from their stitch lines, and
keeps how it was made. --update makes all such pieces anew whose parents have changed;
what was put on them by hand stays.

  facing       --width from its edges, which follow one another
  casing       --width of the elastic, --play; --folded for a band folded in half
  binding      --width as it shows with --folded (four layers), else the allowance that it
               covers; --bias cuts it at 45 degrees
  interfacing  --shorter inside the stitch line all round
  pocket-bag   --width into the piece, --at and --length of its opening, --drop below it
  lining       --ease for a pleat, --shorter at its edges`,
		Example: `  secondcut derive smock.json --kind facing --of front/neck --width 5cm -o smock2.json
  secondcut derive smock.json --kind casing --of front/waist --of back/waist --width 25mm --play 6mm --folded -o smock2.json
  secondcut derive smock.json --update -o smock2.json`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			g, err := readGarment(args[0])
			if err != nil {
				return err
			}
			if out == "" || (kind == "") == !update {
				return fmt.Errorf("derive takes either --kind or --update, and -o for where to write; see 'secondcut derive --help'")
			}
			if update {
				g, err = updated(cmd.ErrOrStderr(), g)
			} else {
				d := pattern.Derived{Kind: pattern.DerivedKind(kind), Folded: folded, Bias: bias, From: sources(edges)}
				for _, v := range []struct {
					flag, text string
					mm         *float64
				}{
					{"width", width, &d.WidthMM},
					{"play", play, &d.PlayMM},
					{"at", at, &d.AtMM},
					{"length", length, &d.LengthMM},
					{"drop", drop, &d.DropMM},
					{"ease", ease, &d.EaseMM},
					{"shorter", shorter, &d.ShorterMM},
					{"allowance", allowance, &d.AllowanceMM},
				} {
					if v.text == "" {
						continue
					}
					if *v.mm, err = measure.Parse(v.text, measure.Millimetre); err != nil {
						return fmt.Errorf("--%s: %w", v.flag, err)
					}
				}
				var p pattern.Piece
				var findings []geometry.Finding
				if p, findings, err = derive.Make(g, d); err == nil {
					g.Pieces = append(slices.Clone(g.Pieces), p)
					sayFindings(cmd.ErrOrStderr(), findings)
				}
			}
			if err != nil {
				return err
			}
			return writeFile(cmd.OutOrStdout(), out, func(w io.Writer) error { return pattern.Write(w, g) })
		},
	}
	cmd.Flags().StringVar(&kind, "kind", "", "facing, casing, binding, interfacing, pocket-bag or lining")
	cmd.Flags().StringSliceVar(&edges, "of", nil, "edges it is made along, each as PIECE/EDGE; a piece alone for all of it")
	cmd.Flags().BoolVar(&folded, "folded", false, "a casing folded in half, a binding folded to four layers")
	cmd.Flags().BoolVar(&bias, "bias", false, "cut the binding at 45 degrees to the threads")
	cmd.Flags().BoolVar(&update, "update", false, "make anew what was made of pieces that have changed")
	for _, v := range []struct {
		flag, what string
		text       *string
	}{
		{"width", "width, such as 5cm or 2in", &width},
		{"play", "what a casing is wider than its elastic", &play},
		{"at", "where the opening of a pocket bag begins", &at},
		{"length", "how long it is", &length},
		{"drop", "how far the bag hangs below it", &drop},
		{"ease", "what a lining is wider", &ease},
		{"shorter", "how far interfacing stays inside, or a lining is shorter", &shorter},
		{"allowance", "seam allowance of strips and bags", &allowance},
	} {
		cmd.Flags().StringVar(v.text, v.flag, "", v.what)
	}
	cmd.Flags().StringVarP(&out, "output", "o", "", "write the garment file here")
	return cmd
}

func sources(edges []string) []pattern.Source {
	var out []pattern.Source
	for _, e := range edges {
		piece, edge, _ := strings.Cut(e, "/")
		out = append(out, pattern.Source{Piece: piece, Edge: edge})
	}
	return out
}

// updated makes anew what is made of others that have changed.
func updated(say io.Writer, g pattern.Garment) (pattern.Garment, error) {
	g.Pieces = slices.Clone(g.Pieces)
	for _, f := range derive.Stale(g) {
		now, findings, err := derive.Update(g, f.Piece)
		if err != nil {
			return g, err
		}
		g.Pieces[slices.IndexFunc(g.Pieces, func(p pattern.Piece) bool { return p.ID == f.Piece })] = now
		sayFindings(say, findings)
	}
	return g, nil
}

func newResizeCommand() *cobra.Command {
	var body, finished []string
	var out string
	cmd := &cobra.Command{
		Use:   "resize GARMENT.json",
		Short: "Make a garment in another size, by the lengthen lines on its pieces",
		Long: `Resize opens every lengthen line that serves a measure, or takes it in, until the measure
is what is wanted, and prints what that does to measures and seams. A line serves the
measure that its mark names in the garment file ("measure", on a mark of kind lengthen-line).`,
		Example: `  secondcut resize smock.json --body chest=96cm --finished length=72cm -o larger.json`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			g, err := readGarment(args[0])
			if err != nil {
				return err
			}
			var wants []amend.Want
			for i, all := range [][]string{body, finished} {
				for _, s := range all {
					id, text, _ := strings.Cut(s, "=")
					mm, err := measure.Parse(text, measure.Millimetre)
					if err != nil {
						return fmt.Errorf("write a measure as ID=LENGTH, such as chest=96cm: %w", err)
					}
					w := amend.Want{Measure: id}
					*[]*float64{&w.BodyMM, &w.FinishedMM}[i] = mm
					wants = append(wants, w)
				}
			}
			now, report, err := amend.Resize(g, wants)
			if err != nil {
				return err
			}
			if now, err = updated(cmd.ErrOrStderr(), now); err != nil {
				return err
			}
			sayFindings(cmd.ErrOrStderr(), report.Findings)
			if out != "-" {
				if err := printResized(cmd.OutOrStdout(), report); err != nil || out == "" {
					return err
				}
			}
			return writeFile(cmd.OutOrStdout(), out, func(w io.Writer) error { return pattern.Write(w, now) })
		},
	}
	cmd.Flags().StringSliceVar(&body, "body", nil, "a measure of the body, as ID=LENGTH; the ease that is meant is added")
	cmd.Flags().StringSliceVar(&finished, "finished", nil, "a measure of the finished garment, as ID=LENGTH")
	cmd.Flags().StringVarP(&out, "output", "o", "", "write the garment file of the new size here")
	return cmd
}

func printResized(out io.Writer, r amend.Resized) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "measure\tbefore\tafter\twanted")
	for _, m := range r.Measures {
		want := "-"
		if m.WantedMM > 0 {
			want = fmt.Sprintf("%.1f mm", m.WantedMM)
		}
		fmt.Fprintf(w, "%s\t%.1f mm\t%.1f mm\t%s\n", m.Name, m.BeforeMM, m.AfterMM, want)
	}
	fmt.Fprintln(w, "\nline\topened by\t\t")
	for _, l := range r.Lines {
		fmt.Fprintf(w, "%s/%s\t%.1f mm\t\t\n", l.Piece, l.Mark, l.MM)
	}
	fmt.Fprintln(w, "\nseam\toff before\toff after\t")
	for _, s := range r.Seams {
		word := "ok"
		switch {
		case !s.Known:
			word = "old allowance not known"
		case !s.OK:
			word = "does not match"
		}
		fmt.Fprintf(w, "%s\t%.1f mm\t%.1f mm\t%s\n", s.Name, noMinus(s.BeforeOffMM), noMinus(s.AfterOffMM), word)
	}
	return w.Flush()
}

// noMinus turns what rounds to nought into nought, so that no -0.0 is printed.
func noMinus(mm float64) float64 { return math.Round(mm*10)/10 + 0 }
