package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"secondcut/api"
	"secondcut/api/store"
)

func newBackupCommand() *cobra.Command {
	var data, out string
	cmd := &cobra.Command{
		Use:   "backup",
		Short: "Write all that the service keeps into one archive",
		Long: `Backup writes garments, photos, pieces, their versions and the trash into one
archive, as they are at one moment; the service may go on working meanwhile. The
same content gives the same bytes. "secondcut restore" reads it, and so does the
page's import. Devices that were let in are not in it: pair them anew.`,
		Example: `  secondcut backup -o secondcut.tar`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return backup(cmd.Context(), cmd.ErrOrStderr(), data, out)
		},
	}
	cmd.Flags().StringVar(&data, "data", "", "folder of the service (default "+dataHint+")")
	cmd.Flags().StringVarP(&out, "output", "o", "", "archive to write")
	_ = cmd.MarkFlagRequired("output") // the flag is there
	return cmd
}

// backup writes to a file beside out first, so that an archive under its final
// name is whole.
func backup(ctx context.Context, say io.Writer, data, out string) (err error) {
	if data, err = dataOr(data); err != nil {
		return err
	}
	if _, err := os.Stat(filepath.Join(data, "secondcut.db")); err != nil {
		return fmt.Errorf("there is nothing to save: %w", err)
	}
	tmp, err := os.CreateTemp(filepath.Dir(out), ".secondcut-*")
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer os.Remove(tmp.Name()) // gone already after the rename
	w := bufio.NewWriterSize(tmp, 1<<20)
	lost, err := store.Export(ctx, data, w)
	if err = errors.Join(err, w.Flush(), tmp.Sync(), tmp.Close()); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if err := os.Rename(tmp.Name(), out); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if len(lost) > 0 {
		fmt.Fprintf(say, "%d pictures were missing or damaged and are not in the archive; secondcut doctor names them\n", len(lost))
	}
	return nil
}

func newRestoreCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "restore ARCHIVE",
		Short: "Bring back what an archive holds",
		Long: `Restore adds what an archive holds to a data folder, which is made when it is
missing. Garments that are there already stay as they are. It adds all or nothing,
and the service must not be running.`,
		Example: `  secondcut restore secondcut.tar --data data`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return restore(cmd.Context(), cmd.OutOrStdout(), args[0], data)
		},
	}
	cmd.Flags().StringVar(&data, "data", "", "folder of the service (default "+dataHint+")")
	return cmd
}

func restore(ctx context.Context, say io.Writer, archive, data string) (err error) {
	if data, err = dataOr(data); err != nil {
		return err
	}
	f, err := os.Open(archive)
	if err != nil {
		return fmt.Errorf("restore: %w", err)
	}
	defer f.Close()
	st, err := store.Open(ctx, data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	got, err := st.Import(ctx, bufio.NewReaderSize(f, 1<<20))
	if e, ok := errors.AsType[*api.Error](err); ok {
		if e.Cause == nil {
			return fmt.Errorf("%s %s", e.Message, e.Remedy)
		}
		return fmt.Errorf("%s %s (%w)", e.Message, e.Remedy, e.Cause)
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(say, "%d garments were brought back", got.Garments)
	if got.Skipped > 0 {
		fmt.Fprintf(say, ", %d were there already", got.Skipped)
	}
	fmt.Fprintln(say)
	return nil
}
