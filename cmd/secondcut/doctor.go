package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"secondcut/api"
	"secondcut/api/jobs"
	"secondcut/api/store"
	"secondcut/vision"
)

func newDoctorCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "doctor",
		Short: "Look for what is wrong with the data folder and this machine",
		Long: `Doctor reads the database and every picture and compares them with what they
should be, and tries the process that traces photos. It changes nothing, and the
service may run meanwhile. It ends with 1 when something is wrong.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return doctor(cmd.Context(), cmd.OutOrStdout(), data) },
	}
	cmd.Flags().StringVar(&data, "data", "", "folder of the service (default "+dataHint+")")
	return cmd
}

// errAiling is the end of a visit that found something.
var errAiling = errors.New("doctor: not all is well; see above")

func doctor(ctx context.Context, out io.Writer, data string) (err error) {
	if data, err = dataOr(data); err != nil {
		return err
	}
	well := true
	report := func(what string, err error) {
		if err == nil {
			fmt.Fprintln(out, "well   ", what)
			return
		}
		well = false
		fmt.Fprintf(out, "ailing  %s: %v\n", what, err)
	}
	report("the process that traces photos", tryTracer(ctx))
	report("the folder "+data, tryFolder(data))
	if _, err := os.Stat(filepath.Join(data, "secondcut.db")); errors.Is(err, fs.ErrNotExist) {
		fmt.Fprintln(out, "        there is no database yet")
	} else {
		found, err := store.Examine(ctx, data)
		report("database and pictures can be looked at", err)
		for _, a := range found {
			well = false
			fmt.Fprintln(out, "ailing ", a.What, a.Remedy)
		}
		if err == nil && len(found) == 0 {
			report("database and pictures", nil)
		}
	}
	if !well {
		return errAiling
	}
	return nil
}

// tryTracer has a child look at what is no photo.
func tryTracer(ctx context.Context) error {
	t, err := newTracer(childMemory)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	_, err = t.Open(ctx, []byte("no photo"), func(api.Step) {}, jobs.TraceOptions{})
	if r, ok := errors.AsType[*vision.Refusal](err); ok && r.Code == vision.CodeNotImage {
		return nil
	}
	return fmt.Errorf("it does not work: %w", err)
}

// tryFolder sees whether the folder is private and can be written to.
func tryFolder(dir string) error {
	st, err := os.Stat(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // the service makes it
	}
	if err != nil {
		return err
	}
	if st.Mode().Perm()&0o077 != 0 {
		return fmt.Errorf("others on this machine can look into it: chmod 700 %s", dir)
	}
	f, err := os.CreateTemp(dir, "doctor-*")
	if err != nil {
		return err
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}
