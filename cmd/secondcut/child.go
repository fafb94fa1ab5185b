package main

import (
	"errors"
	"os"
	"os/exec"
	"strconv"

	"github.com/spf13/cobra"

	"secondcut/api/jobs/apart"
)

// childVerb is the hidden command that the service runs for each photo.
const childVerb = "trace-child"

// childMemory is the memory in MiB that one photo may take. A photo of 12
// megapixels takes about 170, one of 108 about 900.
const childMemory = 1536

func newChildCommand() *cobra.Command {
	var mib int
	cmd := &cobra.Command{
		Use:    childVerb,
		Hidden: true,
		Short:  "Trace photos for the service, which speaks over standard input and output",
		Args:   cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if err := apart.Limit(mib); err != nil {
				return err
			}
			// A signal from the terminal goes to the whole group: the service decides.
			return apart.Serve(cmd.Context(), os.Stdin, os.Stdout, tracer{}, func() { os.Exit(0) })
		},
	}
	cmd.Flags().IntVar(&mib, "memory", childMemory, "memory in MiB")
	return cmd
}

// newTracer returns a tracer that runs this program again for each photo.
func newTracer(mib int) (*apart.Tracer, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, errors.New("this program does not find its own file, which it needs to trace photos")
	}
	return &apart.Tracer{Command: func() *exec.Cmd {
		return exec.Command(self, childVerb, "--memory", strconv.Itoa(mib))
	}}, nil
}
