package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"secondcut/api"
	"secondcut/api/people"
	"secondcut/api/store"
)

func newUserCommand() *cobra.Command {
	var data string
	cmd := &cobra.Command{
		Use:   "user",
		Short: "Manage who may sign in, where several people share a service",
		Long: `User manages accounts. Without any, whoever is let in works on everything; from the
first one on, everybody signs in, also on this machine. An account belongs to one
workspace, of which it sees everything, and nothing of others.

  viewer   looks and prints
  editor   also changes, adds photos and makes links for others to look
  owner    also takes out or brings in archives, and empties the trash

What was kept before the first account is in the workspace "default". The service
may run meanwhile.`,
		Example: `  secondcut user add anna --workspace default --role owner
  secondcut user password anna`,
	}
	cmd.PersistentFlags().StringVar(&data, "data", "", "folder of the service (default "+dataHint+")")
	// with runs a command on the people of the data folder.
	with := func(f func(ctx context.Context, p api.People, out io.Writer, args []string) error) func(*cobra.Command, []string) error {
		return func(cmd *cobra.Command, args []string) (err error) {
			dir, err := dataOr(data)
			if err != nil {
				return err
			}
			st, err := store.OpenBeside(cmd.Context(), store.Place{Dir: dir})
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, st.Close()) }()
			return plainly(f(cmd.Context(), st, cmd.OutOrStdout(), args))
		}
	}
	one := cobra.ExactArgs(1)
	var workspace, role string
	add := &cobra.Command{
		Use: "add NAME", Short: "Add an account and print its token, which is shown this once", Args: one,
		RunE: with(func(ctx context.Context, p api.People, out io.Writer, args []string) error {
			if _, err := p.AddAccount(ctx, api.Account{Name: args[0], Workspace: workspace, Role: api.Role(role)}); err != nil {
				return err
			}
			return printToken(ctx, p, out, args[0])
		}),
	}
	add.Flags().StringVar(&workspace, "workspace", api.DefaultWorkspace, "workspace of the account; a new name makes a new one")
	add.Flags().StringVar(&role, "role", string(api.RoleEditor), "owner, editor or viewer")
	cmd.AddCommand(
		add,
		&cobra.Command{Use: "list", Short: "List accounts", Args: cobra.NoArgs, RunE: with(listUsers)},
		&cobra.Command{
			Use: "token NAME", Short: "Print another token of an account", Args: one,
			RunE: with(func(ctx context.Context, p api.People, out io.Writer, args []string) error {
				return printToken(ctx, p, out, args[0])
			}),
		},
		&cobra.Command{Use: "password NAME", Short: "Set the password of an account; it is read from standard input", Args: one, RunE: with(setPassword)},
		&cobra.Command{
			Use: "revoke NAME", Short: "End all tokens and sign-ins of an account", Args: one,
			RunE: with(func(ctx context.Context, p api.People, _ io.Writer, args []string) error {
				return p.RevokeAll(ctx, args[0])
			}),
		},
		&cobra.Command{
			Use: "remove NAME", Short: "Remove an account; what it made stays in its workspace", Args: one,
			RunE: with(func(ctx context.Context, p api.People, _ io.Writer, args []string) error {
				return p.RemoveAccount(ctx, args[0])
			}),
		},
		&cobra.Command{Use: "workspaces", Short: "List workspaces with what they hold and may hold", Args: cobra.NoArgs, RunE: with(listWorkspaces)},
		newLimitCommand(with),
	)
	return cmd
}

func newLimitCommand(with func(func(context.Context, api.People, io.Writer, []string) error) func(*cobra.Command, []string) error) *cobra.Command {
	var storageMB int64
	var photos int
	cmd := &cobra.Command{
		Use: "limit WORKSPACE", Short: "Bound what a workspace may take", Args: cobra.ExactArgs(1),
		RunE: with(func(ctx context.Context, p api.People, _ io.Writer, args []string) error {
			return p.SetLimits(ctx, args[0], api.WorkspaceLimits{Bytes: storageMB << 20, Waiting: photos})
		}),
	}
	cmd.Flags().Int64Var(&storageMB, "storage", 0, "MB that its photos may take (0 = as the service may)")
	cmd.Flags().IntVar(&photos, "photos", 0, "photos that may wait at once (0 = as usual)")
	return cmd
}

// plainly puts the two sentences of an error on the one line that is printed.
func plainly(err error) error {
	if e, ok := errors.AsType[*api.Error](err); ok && e.Cause == nil {
		return fmt.Errorf("%s %s", e.Message, e.Remedy)
	}
	return err
}

func printToken(ctx context.Context, p api.People, out io.Writer, name string) error {
	a, err := p.Account(ctx, name)
	if err != nil {
		return err
	}
	token := people.NewSecret()
	if err := p.Grant(ctx, a.ID, people.Digest(token), time.Time{}); err != nil {
		return err
	}
	_, err = fmt.Fprintln(out, token)
	return err
}

func listUsers(ctx context.Context, p api.People, out io.Writer, _ []string) error {
	all, err := p.Accounts(ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "WORKSPACE\tNAME\tROLE\tSINCE")
	for _, a := range all {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", a.Workspace, a.Name, a.Role, a.CreatedAt.Format(time.DateOnly))
	}
	return w.Flush()
}

func listWorkspaces(ctx context.Context, p api.People, out io.Writer, _ []string) error {
	all, err := p.Workspaces(ctx)
	if err != nil {
		return err
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "WORKSPACE\tGARMENTS\tPHOTOS MB\tOF MB\tWAITING\tOF")
	for _, a := range all {
		fmt.Fprintf(w, "%s\t%d\t%d\t%s\t%d\t%s\n", a.Name, a.Garments, a.PictureBytes>>20, bound(a.Bytes>>20), a.QueuedJobs, bound(int64(a.Waiting)))
	}
	return w.Flush()
}

func bound(n int64) string {
	if n == 0 {
		return "-"
	}
	return fmt.Sprint(n)
}

func setPassword(ctx context.Context, p api.People, out io.Writer, args []string) error {
	password, err := readPassword(os.Stdin, out)
	if err != nil {
		return err
	}
	hash, err := people.HashPassword(password)
	if err != nil {
		return err
	}
	return p.SetPassword(ctx, args[0], hash)
}

// readPassword reads a line without showing it where somebody types.
func readPassword(in *os.File, out io.Writer) (string, error) {
	if !term.IsTerminal(int(in.Fd())) {
		line, err := bufio.NewReader(in).ReadString('\n')
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		return strings.TrimRight(line, "\r\n"), nil
	}
	fmt.Fprintf(out, "Password (%d characters or more): ", people.MinPassword)
	line, err := term.ReadPassword(int(in.Fd()))
	fmt.Fprintln(out)
	return string(line), err
}
