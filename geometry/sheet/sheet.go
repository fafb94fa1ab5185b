package sheet

import (
	"fmt"
	"io"
	"math"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/export/dxf"
)

// PDF writes the pieces at true size on the paper of the options: tiles, after a
// page one with test squares and the map of the sheets (on A2 and larger these
// stand on the first sheet); or one large page. An empty title is replaced by the
// first piece's name. It fails with ErrNoPiece, ErrOutline, ErrMargin,
// ErrPrintScale, ErrTooLarge, ErrRoll, ErrNoTile, or when w fails.
func PDF(w io.Writer, title string, pieces []Piece, opt Options) error {
	d, err := Draw(title, pieces, opt)
	if err != nil {
		return err
	}
	return export.WritePDF(w, d)
}

// SVG writes the pieces at true size on one page with a margin, not turned,
// without squares and instructions, one group a layer. It fails as PDF does; paper
// and printer play no part.
func SVG(w io.Writer, title string, pieces []Piece, opt Options) error {
	page, err := bare(pieces, opt)
	if err != nil {
		return err
	}
	return export.WriteSVG(w, title, page)
}

// DXF writes what SVG writes as a plain drawing in mm with its layers in words, and a
// square of 100 mm beside the pieces to measure it by. It fails as SVG does.
func DXF(w io.Writer, pieces []Piece, opt Options) error {
	page, err := bare(pieces, opt)
	if err != nil {
		return err
	}
	margin := math.Max(opt.MarginMM, defaultMargin)
	page.Items = append(page.Items, square(geometry.Point{X: page.Width, Y: margin}, squareMM, "100 mm")...)
	page.Width, page.Height = page.Width+squareMM+margin, math.Max(page.Height, squareMM+2*margin)
	return dxf.WriteDrawing(w, page)
}

// PNG writes a picture of what SVG writes, to look at; see Options.PxPerMM. It
// fails as SVG does.
func PNG(w io.Writer, pieces []Piece, opt Options) error {
	page, err := bare(pieces, opt)
	if err != nil {
		return err
	}
	scale := opt.PxPerMM
	if scale <= 0 {
		const usual, largest = 4.0, 9e6
		scale = math.Min(usual, math.Sqrt(largest/(page.Width*page.Height)))
	}
	return export.WritePNG(w, page, scale)
}

// mapMM is the longer side of the picture that Map writes, mapGapMM the room round it.
const mapMM, mapGapMM = 160.0, 3.0

// Map writes a small picture (SVG) of how the sheets that PDF writes lie over the pieces,
// with the names of both. It fails as PDF does, and with ErrNoTile where the paper is one
// large page.
func Map(w io.Writer, title string, pieces []Piece, opt Options) error {
	opt, err := opt.withDefaults()
	if err != nil {
		return err
	}
	if pieces, err = checked(pieces); err != nil {
		return err
	}
	if opt.Paper.single() {
		return fmt.Errorf("sheet: %s: one large page has no map: %w", opt.Paper.Label, ErrNoTile)
	}
	if title == "" {
		title = pieces[0].Name
	}
	l, err := layTiles(title, pieces, opt)
	if err != nil {
		return err
	}
	area := l.area()
	k := mapMM / math.Max(area.width(), area.height())
	page := export.Page{Width: k*area.width() + 2*mapGapMM, Height: k*area.height() + 2*mapGapMM}
	page.Items = l.mapItems(box{geometry.Point{X: mapGapMM, Y: mapGapMM}, geometry.Point{X: page.Width - mapGapMM, Y: page.Height - mapGapMM}})
	return export.WriteSVG(w, title, page)
}

// Draw returns the pages that PDF writes, and fails as it does.
func Draw(title string, pieces []Piece, opt Options) (export.Drawing, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return export.Drawing{}, err
	}
	pieces, err = checked(pieces)
	if err != nil {
		return export.Drawing{}, err
	}
	if title == "" {
		title = pieces[0].Name
	}
	if !opt.Paper.single() {
		return tilePages(title, pieces, opt)
	}
	if len(opt.Tiles) > 0 {
		return export.Drawing{}, fmt.Errorf("sheet: %q: one large page has no tiles: %w", opt.Tiles[0], ErrNoTile)
	}
	page, err := onePage(title, pieces, opt)
	if err != nil {
		return export.Drawing{}, err
	}
	return export.Drawing{Title: title, Pages: Lengths(page)}, nil
}

// Findings says what a print of the pieces leaves out, so that it is not missed:
// letters that the built-in font lacks, and labels that find no room. The pieces
// are those given to PDF, SVG or PNG.
func Findings(title string, pieces []Piece) []geometry.Finding {
	var out []geometry.Finding
	for i, p := range pieces {
		if p.Name == "" {
			p.Name = fmt.Sprintf("Piece %d", i+1)
		}
		p.size = p.sizeText()
		words := title
		for _, line := range append([]string{p.Name}, p.Notes...) {
			words += line
		}
		for _, m := range p.Marks {
			words += m.Text
		}
		if i > 0 {
			words = words[len(title):] // the title is looked at once
		}
		if letters := export.Lacking(words); letters != "" {
			out = append(out, geometry.Finding{
				Code: CodeLetters, Severity: geometry.SeverityWarning,
				Message: fmt.Sprintf("%s: the font of the print has no letters for %q; empty boxes stand in their place.", p.Name, letters),
				Remedy:  "Write the name in Latin, Greek or Cyrillic letters as well.",
			})
		}
		if p.finite() == nil && len(p.Outline) > 0 && newPlan(p, p.art(), nil).short {
			out = append(out, geometry.Finding{
				Code: CodeLabelRoom, Severity: geometry.SeverityInfo,
				Message: fmt.Sprintf("%s has no room for all that is to be written on it.", p.Name),
				Remedy:  "Write the rest on the piece's back by hand; the list of pieces on page one has it.",
			})
		}
	}
	return out
}

// Codes of the findings of a print.
const (
	// CodeLetters: the font lacks letters of a name or note.
	CodeLetters = "print-letters"
	// CodeLabelRoom: a piece is too small for its whole label.
	CodeLabelRoom = "print-label-room"
)

// bare returns the pieces side by side on a page of their own size.
func bare(pieces []Piece, opt Options) (export.Page, error) {
	opt, err := opt.withDefaults()
	if err != nil {
		return export.Page{}, err
	}
	if pieces, err = checked(pieces); err != nil {
		return export.Page{}, err
	}
	side := sideBySide(pieces)
	area := reachOf(side)
	return export.Page{
		Width: area.width() + 2*opt.MarginMM, Height: area.height() + 2*opt.MarginMM,
		Items: drawn(side, geometry.Point{X: opt.MarginMM, Y: opt.MarginMM}.Sub(area.lo)),
	}, nil
}

// drawn returns the pieces' art, moved.
func drawn(pieces []Piece, move geometry.Vec) []export.Item {
	var items []export.Item
	for _, p := range pieces {
		items = append(items, dressed(p.moved(move), nil)...)
	}
	return items
}
