package api

import "time"

// ExportLife is how long the file of an export is kept after it was asked for.
const ExportLife = 24 * time.Hour

// What says which papers of a garment are drawn; empty = WhatPattern.
type What string

// Its pieces at true size, its making sheet, or both in one.
const (
	WhatPattern What = "pattern"
	WhatMaking  What = "making"
	WhatSet     What = "set"
)

// Export says what is drawn of a garment, and how.
type Export struct {
	Format   string   `json:"format" enum:"svg,pdf,dxf,png"`
	What     What     `json:"what,omitempty" enum:"pattern,making,set" default:"pattern" doc:"The pieces at true size, the making sheet, or the whole set: the sheet and behind it the pieces. The latter two are PDFs on a4, letter, a3 or tabloid."`
	Paper    string   `json:"paper,omitempty" maxLength:"40" default:"a4" doc:"Paper of a PDF: a4, letter, a3, tabloid, a2, a1, a0, one (a single page as large as needed), or a roll such as roll:914 or roll:36in."`
	Tiles    []string `json:"tiles,omitempty" maxItems:"500" nullable:"false" doc:"Only these sheets of a PDF, such as B2 and C1."`
	Unit     string   `json:"unit,omitempty" enum:"mm,cm,in" default:"mm" doc:"What widths on labels are written in."`
	Unfold   bool     `json:"unfold,omitempty" doc:"Draw pieces on the fold whole, to cut in a single layer."`
	Unwashed bool     `json:"unwashed,omitempty" doc:"Draw pieces larger by what their cloth shrinks, to cut it before it is washed."`
	Plain    bool     `json:"plain,omitempty" doc:"Of a DXF: a plain drawing in mm whose layers have words, instead of a pattern after ASTM D6673."`
	Sheets   bool     `json:"sheets,omitempty" doc:"Of an SVG: a small map of how the sheets of the paper lie over the pieces, each with its name, instead of the pieces."`
	Print    Print    `json:"print,omitzero" doc:"What the rulers of a sheet printed on this printer measure; a PDF is corrected by it."`
}

// OfWork reports whether it draws the making sheet, alone or before the pieces.
func (e Export) OfWork() bool { return e.What == WhatMaking || e.What == WhatSet }

// NewExport is an export to be made. Source is what is drawn of, and Digest stands for
// all that the file follows from: equal ones are made once.
type NewExport struct {
	GarmentID string
	Export    Export
	Source    []byte
	Digest    string
	// Most is how many exports may wait for one more to be queued; 0 = no bound.
	Most int
}
