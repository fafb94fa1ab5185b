package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"secondcut/geometry/sheet"
	"secondcut/vision/card"
)

// newCardsCommand returns the verb that writes a sheet of scale cards.
func newCardsCommand() *cobra.Command {
	var paper, output string
	var number int
	cmd := &cobra.Command{
		Use:   "cards -o cards.pdf",
		Short: "Write a sheet of scale cards to print",
		Long: `Write a PDF with six scale cards and two rulers.

Print it at 100 % (not "fit to page"), measure both rulers, cut the cards apart
and lay four to six of them flat around the piece before you photograph it. The
cards tell Secondcut how large everything in the photo is.

One sheet is enough for most work. Every card has its own number: print another
sheet number only when more than six cards must lie in one photo.`,
		Example: `  secondcut cards -o cards.pdf
  secondcut cards --paper letter --sheet 2 -o more-cards.pdf
  secondcut cards -o - | lp -o print-scaling=none`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			p, err := cardPaper(paper)
			if err != nil {
				return err
			}
			if number < 1 || number > card.Sheets {
				return fmt.Errorf("there is no card sheet %d; choose 1 to %d with --sheet", number, card.Sheets)
			}
			if output == "" {
				return errors.New("where should the sheet go? Add -o cards.pdf, or -o - for standard output")
			}
			return writeFile(cmd.OutOrStdout(), output, func(w io.Writer) error {
				return card.WriteSheet(w, p, number)
			})
		},
	}
	cmd.Flags().StringVar(&paper, "paper", sheet.A4.Name, "paper in the printer: a4 or letter")
	cmd.Flags().IntVar(&number, "sheet", 1, "which sheet, 1 to 97: each has six cards of its own numbers")
	cmd.Flags().StringVarP(&output, "output", "o", "", `file to write, or "-" for standard output`)
	return cmd
}

// cardPaper returns the paper of that name if card sheets are made for it.
func cardPaper(name string) (sheet.Paper, error) {
	p, err := sheet.PaperNamed(name)
	if err == nil {
		_, err = card.Centres(p)
	}
	if err != nil {
		return p, fmt.Errorf("card sheets cannot be made for paper %q; choose --paper a4 or --paper letter", name)
	}
	return p, nil
}
