package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"secondcut/api/pipeline"
	"secondcut/vision"
	"secondcut/vision/calib"
	"secondcut/vision/segment"
)

// traceFlags are the flags of the trace command as given.
type traceFlags struct {
	out, paper, printScale, strokes string
	references                      []string
	thickness                       float64
}

func newTraceCommand() *cobra.Command {
	var f traceFlags
	cmd := &cobra.Command{
		Use:   "trace PHOTO",
		Short: "Trace the pieces in a photo",
		Long: `Trace finds the scale cards and the cloth in a photo (JPEG, HEIC, PNG or WebP)
and writes the clean outline of each piece in true millimetres.

Without -o the result goes to standard output as JSON. With -o the ending of the
file name chooses the form: .json, .svg, .pdf (full size on pages), .dxf or .png.

Where no scale card can be printed, --reference says where a thing of known size
lies: bank-card, a4 or letter, and its points as pixels of the upright photo, going
round. A sheet of paper takes its four corners; a bank card, whose corners are
round, two points on each straight edge (or the four points where its edges would
meet). Show a blank side or a library card, never a card's number. Such a scale is
rough, and the result says how rough.

Exit codes: 0 traced; 2 the photo was refused, and one line says why and what to
do; 1 anything else.`,
		Example: `  secondcut trace sleeve.jpg -o sleeve.pdf
  secondcut trace sleeve.jpg --paper letter -o sleeve.pdf
  secondcut trace sleeve.jpg --print-scale 149.5/150,200.3/200 -o sleeve.json
  secondcut trace sleeve.jpg --reference a4:410,300,2950,340,2900,2110,380,2080`,
		Args: onePhoto,
		RunE: func(cmd *cobra.Command, args []string) error {
			return runTrace(cmd, args[0], f)
		},
	}
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "file to write; its ending chooses .json, .svg, .pdf, .dxf or .png")
	cmd.Flags().StringVar(&f.paper, "paper", "a4", paperHelp)
	cmd.Flags().StringVar(&f.printScale, "print-scale", "", "true size of the printed cards, `ACROSS,UP`, each as a factor or as measured/meant")
	cmd.Flags().Float64Var(&f.thickness, "thickness", 0.6, "thickness of the cloth in `MM`")
	cmd.Flags().StringArrayVar(&f.references, "reference", nil, "a thing of known size in the photo, `KIND:x,y,x,y,...`; may be given more than once")
	cmd.Flags().StringVar(&f.strokes, "strokes", "", "`FILE` of strokes that say where cloth is and where not (JSON)")
	return cmd
}

func onePhoto(_ *cobra.Command, args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("trace takes one photo, but %d were named; see 'secondcut trace --help'", len(args))
	}
	return nil
}

func runTrace(cmd *cobra.Command, photo string, f traceFlags) error {
	write, err := traceWriter(f)
	if err != nil {
		return err
	}
	opt, err := f.options()
	if err != nil {
		return err
	}
	strokes, err := readStrokes(f.strokes)
	if err != nil {
		return err
	}
	data, err := readPhoto(photo, opt.Limits)
	if err != nil {
		return refuse(cmd.OutOrStdout(), err)
	}
	t, err := trace(cmd.Context(), data, opt, strokes)
	if err != nil {
		return refuse(cmd.OutOrStdout(), err)
	}
	name := strings.TrimSuffix(filepath.Base(photo), filepath.Ext(photo))
	return writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return write(w, name, t) })
}

func trace(ctx context.Context, data []byte, opt pipeline.Options, strokes []segment.Stroke) (*vision.Trace, error) {
	progress, done := newProgress(os.Stderr)
	defer done()
	s, err := pipeline.Open(ctx, data, opt, progress)
	if err != nil {
		return nil, err
	}
	return s.Trace(ctx, strokes, progress)
}

// refuse prints a refusal for programs to read and passes the error on.
func refuse(w io.Writer, err error) error {
	var r *vision.Refusal
	if errors.As(err, &r) {
		if e := json.NewEncoder(w).Encode(map[string]*vision.Refusal{"refused": r}); e != nil {
			return e
		}
	}
	return err
}

func (f traceFlags) options() (opt pipeline.Options, err error) {
	if f.thickness < 0 || f.thickness > 20 {
		return opt, fmt.Errorf("--thickness %v: give the cloth's thickness in mm, from 0 to 20", f.thickness)
	}
	if opt.Calib.ThicknessMM = f.thickness; f.thickness == 0 {
		opt.Calib.ThicknessMM = -1 // none; 0 would ask for the default
	}
	if f.printScale != "" {
		if opt.Calib.PrintScale, err = parsePrintScale(f.printScale); err != nil {
			return opt, err
		}
	}
	for _, s := range f.references {
		r, err := calib.ParseReference(s)
		if err != nil {
			return opt, fmt.Errorf("--reference: %w", err)
		}
		opt.Calib.References = append(opt.Calib.References, r)
	}
	return opt, nil
}

// parsePrintScale reads "0.9967,1.0015" or "149.5/150,200.3/200".
func parsePrintScale(s string) (scale [2]float64, err error) {
	bad := fmt.Errorf("--print-scale %q: give two factors near 1, across and up, such as 149.5/150,200.3/200 (what the rulers measure / what they say)", s)
	parts := strings.Split(s, ",")
	if len(parts) != 2 {
		return scale, bad
	}
	for i, p := range parts {
		num, den, ratio := strings.Cut(strings.TrimSpace(p), "/")
		a, err := strconv.ParseFloat(num, 64)
		if err != nil {
			return scale, bad
		}
		if ratio {
			b, err := strconv.ParseFloat(den, 64)
			if err != nil || b == 0 {
				return scale, bad
			}
			a /= b
		}
		if !(a >= 0.8 && a <= 1.25) {
			return scale, bad
		}
		scale[i] = a
	}
	return scale, nil
}

// readStrokes reads a file {"strokes":[{"kind","width_mm","points_mm"}]}.
func readStrokes(name string) ([]segment.Stroke, error) {
	if name == "" {
		return nil, nil
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, fileError("strokes", name, err)
	}
	var doc struct {
		Strokes []segment.Stroke `json:"strokes"`
	}
	if err := json.Unmarshal(data, &doc); err != nil {
		return nil, fmt.Errorf("the strokes in %s cannot be read: %v", name, err)
	}
	return doc.Strokes, nil
}

// readPhoto reads a photo, but no file larger than the limit.
func readPhoto(name string, lim vision.Limits) ([]byte, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fileError("photo", name, err)
	}
	defer f.Close()
	var data bytes.Buffer
	if st, err := f.Stat(); err == nil {
		if st.IsDir() {
			return nil, fmt.Errorf("%s is a folder; name the photo itself", name)
		}
		data.Grow(int(min(st.Size(), lim.FileBytes())) + bytes.MinRead)
	}
	if _, err := data.ReadFrom(io.LimitReader(f, lim.FileBytes()+1)); err != nil {
		return nil, fileError("photo", name, err)
	}
	return data.Bytes(), nil
}

func fileError(what, name string, err error) error {
	if errors.Is(err, os.ErrNotExist) {
		return fmt.Errorf("there is no file %s; check the name of the %s", name, what)
	}
	return fmt.Errorf("the %s cannot be read: %w", what, err)
}
