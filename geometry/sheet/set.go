package sheet

import (
	"fmt"
	"io"
	"slices"

	"secondcut/geometry/export"
)

// SetPart is one garment of a set that is printed together.
type SetPart struct {
	// Title is the garment's name.
	Title string
	// Pieces are its pattern, at least one.
	Pieces []Piece
	// Before are pages that come before the pattern, such as its making sheet.
	Before []export.Page
}

// SetPDF writes the patterns of several garments in one PDF: a list of what is in it and
// on which pages, then each garment as [PDF] writes it, with page numbers of its own. An
// empty title is replaced by that of the first garment. It fails as PDF does, with
// ErrNoTile where single tiles are asked for, or when w fails.
func SetPDF(w io.Writer, title string, parts []SetPart, opt Options) error {
	d, err := DrawSet(title, parts, opt)
	if err != nil {
		return err
	}
	return export.WritePDF(w, d)
}

// DrawSet returns the pages that SetPDF writes, and fails as it does.
func DrawSet(title string, parts []SetPart, opt Options) (export.Drawing, error) {
	if len(parts) == 0 {
		return export.Drawing{}, ErrNoPiece
	}
	if len(opt.Tiles) > 0 {
		return export.Drawing{}, fmt.Errorf("sheet: %q: print single sheets of one garment at a time: %w", opt.Tiles[0], ErrNoTile)
	}
	if title == "" {
		title = parts[0].Title
	}
	var pages [][]export.Page
	for _, p := range parts {
		d, err := Draw(p.Title, p.Pieces, opt)
		if err != nil {
			return export.Drawing{}, fmt.Errorf("%s: %w", p.Title, err)
		}
		pages = append(pages, slices.Concat(p.Before, d.Pages))
	}
	// The list is as long with any page numbers, so that it is made twice.
	list, err := contents(title, parts, pages, 0, opt)
	if err != nil {
		return export.Drawing{}, err
	}
	if list, err = contents(title, parts, pages, len(list), opt); err != nil {
		return export.Drawing{}, err
	}
	return export.Drawing{Title: title, Pages: append(list, slices.Concat(pages...)...)}, nil
}

// contents lists what is in a set: on home paper of its kind, else on A4.
// The first garment comes after some pages.
func contents(title string, parts []SetPart, pages [][]export.Page, after int, opt Options) ([]export.Page, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return nil, err
	}
	if opt.Paper.single() || opt.Paper.large() {
		opt.Paper = A4
	}
	var rows [][]string
	for i, p := range parts {
		first, last := after+1, after+len(pages[i])
		after = last
		on := fmt.Sprintf("%d to %d", first, last)
		if first == last {
			on = fmt.Sprint(first)
		}
		rows = append(rows, []string{p.Title, plural(len(p.Pieces), "piece"), on})
	}
	f := newFlow(title, opt)
	f.para(0, 7, true, title)
	f.y -= 2
	f.text("Patterns at true size. Print at 100\u00a0%, not “fit to page”; measure the test squares of each garment before cutting.")
	f.table([]float64{0.55, 0.2, 0.25}, []string{"garment", "pattern", "pages of this file"}, rows)
	return f.done("contents"), nil
}
