package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
	"secondcut/geometry/reconcile"
	"secondcut/geometry/twin"
)

type reconcileFlags struct {
	out, unit           string
	twins, only, borrow []string
	asJSON              bool
}

func newReconcileCommand() *cobra.Command {
	var f reconcileFlags
	cmd := &cobra.Command{
		Use:   "reconcile GARMENT.json",
		Short: "Let twins and seams correct what wear has distorted",
		Long: `Reconcile compares left and right pieces, and edges that get sewn together along their
stitch lines, and says which edges should move, by how much and why. No edge moves
further than its photo leaves open; what cannot be met within that is said.

Pieces that are mirror images of each other are found by their shape, and so are
pieces whose halves are; --twins names them instead. --borrow takes an edge that is
worn through from the twin before anything else. With -o the garment is written with
all moves, or with those of the edges that --only names. Pieces and edges go by their
ids, which stand in the garment file.

Exit codes: 0 done; 1 it could not be done; 3 the file is missing or is no garment file.`,
		Example: `  secondcut reconcile smock.json
  secondcut reconcile smock.json --twins sleeve-left=sleeve-right -o better.json
  secondcut reconcile smock.json --borrow sleeve-left/cuff --only sleeve-left/cap -o better.json`,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return fmt.Errorf("reconcile takes one garment file, but %d were named; see 'secondcut reconcile --help'", len(args))
			}
			return runReconcile(cmd, args[0], f)
		},
	}
	cmd.Flags().StringVarP(&f.out, "output", "o", "", "write the corrected garment file here")
	cmd.Flags().StringSliceVar(&f.twins, "twins", nil, "pieces that are mirror images, as LEFT=RIGHT (twice the same for its halves); none for none")
	cmd.Flags().StringSliceVar(&f.only, "only", nil, "accept these edges alone, each as PIECE/EDGE")
	cmd.Flags().StringSliceVar(&f.borrow, "borrow", nil, "take these edges from the twin, each as PIECE/EDGE")
	cmd.Flags().StringVar(&f.unit, "unit", "mm", "unit of lengths in the table: mm, cm or in (to the nearest 1/16)")
	cmd.Flags().BoolVar(&f.asJSON, "json", false, "write the result as JSON, in mm, for other programs")
	return cmd
}

func runReconcile(cmd *cobra.Command, file string, f reconcileFlags) error {
	unit, err := unitFlag(f.unit)
	if err != nil {
		return err
	}
	g, err := readGarment(file)
	if err != nil {
		return unreadable{err}
	}
	pairs, err := twinPairs(g, f.twins)
	if err != nil {
		return err
	}
	borrow, err := edgeRefs(g, "borrow", f.borrow)
	if err != nil {
		return err
	}
	only, err := edgeRefs(g, "only", f.only)
	if err != nil {
		return err
	}
	for _, e := range borrow {
		if g, err = borrowed(g, pairs, e); err != nil {
			return err
		}
	}
	r, err := reconcile.Solve(g, pairs)
	if err != nil {
		return fmt.Errorf("%s: %w", file, err)
	}
	if only == nil {
		for _, m := range r.Moves {
			only = append(only, reconcile.EdgeRef{Piece: m.Piece, Edge: m.Edge})
		}
	}
	// The table gives way to the file where that goes to standard output.
	if f.out != "-" {
		if err := printReconciled(cmd.OutOrStdout(), r, unit, f.asJSON); err != nil {
			return err
		}
	}
	if f.out == "" {
		return nil
	}
	return writeFile(cmd.OutOrStdout(), f.out, func(w io.Writer) error { return pattern.Write(w, r.Accept(only)) })
}

// twinPairs reads the twins that were named, or looks for them.
func twinPairs(g pattern.Garment, named []string) ([]twin.Pair, error) {
	if len(named) == 0 {
		return twin.Propose(g), nil
	}
	if len(named) == 1 && named[0] == "none" {
		return nil, nil
	}
	var out []twin.Pair
	for _, s := range named {
		a, b, ok := strings.Cut(s, "=")
		if !ok {
			return nil, fmt.Errorf("--twins %s: write two pieces as LEFT=RIGHT", s)
		}
		for _, id := range []string{a, b} {
			if _, ok := g.Piece(id); !ok {
				return nil, fmt.Errorf("--twins %s: the garment has no piece %q; it has %s", s, id, pieceIDs(g))
			}
		}
		out = append(out, twin.Pair{A: a, B: b})
	}
	return out, nil
}

// edgeRefs reads edges, each as PIECE/EDGE; nil for none.
func edgeRefs(g pattern.Garment, flag string, named []string) ([]reconcile.EdgeRef, error) {
	var out []reconcile.EdgeRef
	for _, s := range named {
		piece, edge, ok := strings.Cut(s, "/")
		if !ok {
			return nil, fmt.Errorf("--%s %s: write an edge as PIECE/EDGE", flag, s)
		}
		p, ok := g.Piece(piece)
		if !ok {
			return nil, fmt.Errorf("--%s %s: the garment has no piece %q; it has %s", flag, s, piece, pieceIDs(g))
		}
		if p.Edge(edge) < 0 {
			var ids []string
			for _, e := range p.Edges {
				ids = append(ids, e.ID)
			}
			return nil, fmt.Errorf("--%s %s: %s has no edge %q; it has %s", flag, s, piece, edge, strings.Join(ids, ", "))
		}
		out = append(out, reconcile.EdgeRef{Piece: piece, Edge: edge})
	}
	return out, nil
}

func pieceIDs(g pattern.Garment) string {
	var ids []string
	for _, p := range g.Pieces {
		ids = append(ids, p.ID)
	}
	return strings.Join(ids, ", ")
}

// borrowed takes an edge from its twin.
func borrowed(g pattern.Garment, pairs []twin.Pair, e reconcile.EdgeRef) (pattern.Garment, error) {
	for _, pair := range pairs {
		if pair.A != e.Piece && pair.B != e.Piece {
			continue
		}
		t, err := twin.Compare(g, pair)
		if err != nil {
			return g, err
		}
		p, err := twin.Borrow(g, t, e.Piece, e.Edge)
		if err != nil {
			return g, fmt.Errorf("--borrow %s/%s: %w", e.Piece, e.Edge, err)
		}
		g.Pieces = append([]pattern.Piece{}, g.Pieces...)
		for i := range g.Pieces {
			if g.Pieces[i].ID == p.ID {
				g.Pieces[i] = p
			}
		}
		return g, nil
	}
	return g, fmt.Errorf("--borrow %s/%s: no twin of %s was found; name it with --twins", e.Piece, e.Edge, e.Piece)
}

// printReconciled prints what would move, as tables for people or as JSON.
func printReconciled(out io.Writer, r reconcile.Result, unit measure.Unit, asJSON bool) error {
	if asJSON {
		e := json.NewEncoder(out)
		e.SetIndent("", " ")
		return e.Encode(r)
	}
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	row := func(cells ...string) { fmt.Fprintln(w, strings.Join(cells, "\t")) }
	// Moves are smaller than what inches are written to.
	fine := func(mm float64) string { return fmt.Sprintf("%+.2f mm", math.Round(mm*100)/100+0) }
	length := func(mm float64) string {
		if mm < 0 {
			return "-" + measure.Format(-mm, unit)
		}
		return measure.Format(mm, unit)
	}
	if len(r.Twins) > 0 {
		row("TWINS", "", "DIFFER BY", "AFTER")
	}
	for _, t := range r.Twins {
		other := t.BName
		if t.A == t.B {
			other = "its other half"
		}
		row(t.AName, other, fmt.Sprintf("%.2f mm", t.BeforeMM), fmt.Sprintf("%.2f mm", t.AfterMM))
	}
	if len(r.Seams) > 0 {
		row("")
		row("SEAM", "OFF BY", "AFTER", "ALLOWED")
	}
	for _, s := range r.Seams {
		row(s.Name, fine(s.BeforeMM), fine(s.AfterMM), length(s.LimitMM))
	}
	row("")
	if len(r.Moves) == 0 {
		row("No edge moves.")
	} else {
		row("PIECE/EDGE", "MOVES OUT BY", "AT MOST", "ALLOWED", "LENGTH", "AFTER", "WHY")
	}
	for _, m := range r.Moves {
		row(m.Piece+"/"+m.Edge, fine(m.MeanMM), fine(m.MostMM), fmt.Sprintf("%.2f mm", m.AllowedMM), length(m.BeforeMM), length(m.AfterMM), strings.Join(m.Why, "; "))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if len(r.Findings) > 0 {
		fmt.Fprintln(out)
	}
	printFindings(out, r.Findings)
	return nil
}
