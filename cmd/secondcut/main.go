// Command secondcut turns a photo of a pressed garment piece beside printed
// scale cards into a clean outline at true scale, on the command line or as a
// service with an editor in the browser.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"syscall"

	"github.com/spf13/cobra"

	"secondcut/vision"
)

// Exit codes: 0 done, 1 could not be done, 2 the photo was refused, 3 what was to be
// checked could not be read, so that nothing is known of it.
const (
	exitFailed     = 1
	exitRefused    = 2
	exitUnreadable = 3
)

// unreadable is the error of a check that had nothing to check, so that scripts can
// tell it from a check with a bad result.
type unreadable struct{ error }

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:])
	stop()
	os.Exit(code)
}

// run executes one command line and returns the exit code. What went wrong is
// one line on standard error.
func run(ctx context.Context, args []string) int {
	root := newRootCommand()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	var refusal *vision.Refusal
	switch {
	case err == nil:
		return 0
	case errors.As(err, &refusal):
		fmt.Fprintf(os.Stderr, "secondcut: %s %s\n", refusal.Message, refusal.Remedy)
		return exitRefused
	case errors.As(err, new(unreadable)):
		fmt.Fprintf(os.Stderr, "secondcut: %v\n", err)
		return exitUnreadable
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(os.Stderr, "secondcut: stopped before it was done; nothing was written")
	default:
		fmt.Fprintf(os.Stderr, "secondcut: %v\n", err)
	}
	return exitFailed
}

func newRootCommand() *cobra.Command {
	root := &cobra.Command{
		Use:   "secondcut",
		Short: "Cut a well-loved garment again: photo in, full-size piece out",
		Long: `Secondcut turns a photo of a pressed garment piece, taken beside printed scale
cards, into a clean outline at true scale that prints at full size.

  1. secondcut cards -o cards.pdf      print at 100 %, cut the six cards apart
  2. lay the piece flat with 4 to 6 cards around it and take a photo from above
  3. secondcut trace photo.jpg -o piece.pdf
     or  secondcut serve               and go on in the browser
  4. secondcut garment piece.json ... -o garment.json   gathers traced pieces
  5. secondcut check garment.json      measures the seams against each other
  6. secondcut reconcile garment.json -o better.json    lets twins and seams mend what is worn
  7. secondcut draft garment.json -o pattern.pdf        draws the lines to cut along
  8. secondcut lay garment.json --width 140cm -o plan.svg   how the pieces lie, how much to buy`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.AddCommand(newCardsCommand(), newTraceCommand(), newGarmentCommand(), newDraftCommand(), newCheckCommand(), newProofCommand(), newReconcileCommand(), newAmendCommand(), newDeriveCommand(), newResizeCommand(), newLayCommand(), newServeCommand(), newBackupCommand(), newRestoreCommand(), newDoctorCommand(), newUserCommand(), newChildCommand())
	return root
}
