package sheet

import (
	"fmt"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/lay"
	"secondcut/geometry/measure"
	"secondcut/geometry/pattern"
)

// Making is the making sheet of a garment: what a person works from at the cutting table
// and the machine. Texts are for people, in the unit that was asked for; lengths are mm.
type Making struct {
	Title string `json:"title"`
	// Facts are size, date, version and notes.
	Facts   []string       `json:"facts"`
	Pieces  []MakingPiece  `json:"pieces"`
	Cloths  []MakingCloth  `json:"cloths"`
	Notions []MakingNotion `json:"notions"`
	// Prepare is what comes before cutting: wash, press, a trial piece.
	Prepare []string     `json:"prepare"`
	Seams   []MakingSeam `json:"seams"`
	// Edges are those that are in no seam, with their finish.
	Edges []MakingEdge `json:"edges"`
	// Steps are the order of work as far as it follows from seams and finishes.
	Steps []MakingStep `json:"steps"`
	// Marks are what to transfer to the cloth, piece by piece.
	Marks []MakingMarks `json:"marks"`
	// Changes are what differs from the worn garment.
	Changes  []string           `json:"changes"`
	Cautions []geometry.Finding `json:"cautions"`
	// Swatches are the cloths to pin a piece of to the sheet.
	Swatches []MakingSwatch `json:"swatches"`
}

// MakingSwatch is a place for a piece of a cloth, with its photo where there is one.
type MakingSwatch struct {
	// Name is the cloth's.
	Name string `json:"name"`
	// Picture names its photo among the garment's swatches.
	Picture string `json:"picture,omitempty"`
}

// MakingPiece is a piece as it is cut from one cloth.
type MakingPiece struct {
	Piece string `json:"piece"`
	Name  string `json:"name"`
	// Letter is what is chalked on its wrong side.
	Letter string `json:"letter"`
	Cut    string `json:"cut"`
	Cloth  string `json:"cloth"`
	// Side says which side of the paper lies up, and how the cloth lies.
	Side string `json:"side"`
}

// MakingCloth is a cloth with how much to buy, and where the pieces lie if it was laid.
type MakingCloth struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Use  string `json:"use"`
	// Text says width, how it lies, how much to buy and what it costs.
	Text string    `json:"text"`
	Plan *lay.Plan `json:"plan,omitempty"`
}

// MakingNotion is an elastic or a cord to cut.
type MakingNotion struct {
	Name     string  `json:"name"`
	Count    int     `json:"count"`
	LengthMM float64 `json:"length_mm"`
	Text     string  `json:"text"`
}

// MakingSeam is a row of the seam table.
type MakingSeam struct {
	Name   string  `json:"name"`
	A      string  `json:"a"`
	B      string  `json:"b"`
	AMM    float64 `json:"a_mm"`
	BMM    float64 `json:"b_mm"`
	EaseMM float64 `json:"ease_mm"`
	// AllowanceA and AllowanceB say what is sewn off on each side.
	AllowanceA string `json:"allowance_a"`
	AllowanceB string `json:"allowance_b"`
	Notches    int    `json:"notches"`
}

// MakingEdge is an edge with its finish.
type MakingEdge struct {
	Piece string `json:"piece"`
	Edge  string `json:"edge"`
	Text  string `json:"text"`
}

// MakingMarks are the marks of one piece.
type MakingMarks struct {
	// Letter is what is chalked on its wrong side.
	Letter string `json:"letter"`
	Piece  string `json:"piece"`
	Text   string `json:"text"`
}

// NewMaking returns the making sheet of a garment with the plans of its cloths, by cloth
// id (the main one may stand under an empty id); cloths without a plan are listed without
// a length. It fails as [pattern.Check] does.
func NewMaking(g pattern.Garment, plans map[string]lay.Plan, unit measure.Unit) (Making, error) {
	if unit == "" {
		unit = measure.Millimetre
	}
	drafts, report, err := pattern.Review(g, pattern.Options{Unit: unit})
	if err != nil {
		return Making{}, err
	}
	b := maker{g: g, drafts: drafts, report: report, unit: unit, plans: plans}
	m := Making{
		Title: g.Name, Facts: some(b.facts()), Pieces: some(b.pieces()), Cloths: some(b.cloths()), Notions: some(b.notions()), Prepare: some(b.prepare()),
		Seams: some(b.seams()), Edges: some(b.edges()), Steps: some(b.steps()), Marks: some(b.marks()), Changes: some(b.changes()),
		Cautions: append(atTheTable(), pattern.Cautions(g)...),
	}
	m.Swatches = []MakingSwatch{}
	for _, c := range b.list() {
		m.Swatches = append(m.Swatches, MakingSwatch{c.Name, c.Swatch})
	}
	return m, nil
}

// some is a list that is written as a list, also where there is nothing in it.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

type maker struct {
	g      pattern.Garment
	drafts []pattern.Drafted
	report pattern.Report
	unit   measure.Unit
	plans  map[string]lay.Plan
}

func (b maker) length(mm float64) string { return unbroken(mm, b.unit) }

// unbroken writes a length that no line end may part from its unit.
func unbroken(mm float64, unit measure.Unit) string {
	return strings.ReplaceAll(measure.Format(mm, unit), " ", "\u00a0")
}

// long writes a length of cloth: to a centimetre or an eighth of a yard.
func (b maker) long(mm float64) string {
	if b.unit == measure.Inch {
		return fmt.Sprintf("%.3g yd (%.2f m)", mm/914.4, mm/1000)
	}
	return fmt.Sprintf("%.2f m", mm/1000)
}

func (b maker) facts() []string {
	g := b.g
	var out []string
	for _, v := range [][2]string{{"Size on the old label", g.SizeWorn}, {"Measured", g.SizeMeasured}, {"Pattern of", g.Date}, {"Version", g.Version}} {
		if v[1] != "" {
			out = append(out, v[0]+": "+v[1])
		}
	}
	return append(out, lines(g.Notes)...)
}

// lines returns the lines of a text that hold something.
func lines(text string) []string {
	var out []string
	for _, l := range strings.Split(text, "\n") {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// clothFor returns the cloth of a cut.
func (b maker) clothFor(id string) pattern.Cloth {
	for _, c := range b.g.Cloths {
		if c.ID == id || id == "" && c.Use == pattern.ClothMain {
			return c
		}
	}
	return pattern.Cloth{Name: "main cloth", Use: pattern.ClothMain}
}

// plan returns the plan of a cloth.
func (b maker) plan(c pattern.Cloth) (lay.Plan, bool) {
	p, ok := b.plans[c.ID]
	if !ok && c.Use == pattern.ClothMain {
		p, ok = b.plans[""]
	}
	return p, ok
}

func cuts(p pattern.Piece) []pattern.Cut {
	if p.Label == nil || len(p.Label.Cuts) == 0 {
		return []pattern.Cut{{Count: 1}}
	}
	return p.Label.Cuts
}

func (b maker) pieces() []MakingPiece {
	letters := b.letters()
	var out []MakingPiece
	for _, p := range b.g.Pieces {
		for _, c := range cuts(p) {
			cloth := b.clothFor(c.Cloth)
			plan, laid := b.plan(cloth)
			atFold := slices.ContainsFunc(plan.Pieces, func(l lay.Laid) bool { return l.Piece == p.ID && l.AtFold })
			cut := c.Text(p.OnFold() && (atFold || !laid))
			if p.OnFold() && laid && !atFold {
				cut += ", whole (draw the other half first)"
			}
			out = append(out, MakingPiece{
				Piece: p.ID, Name: p.Name, Letter: letters[p.ID], Cut: cut, Cloth: cloth.Name, Side: sideText(p, plan, laid),
			})
		}
	}
	return out
}

// sideText says how the paper lies on the cloth for a piece.
func sideText(p pattern.Piece, plan lay.Plan, laid bool) string {
	if !laid {
		if p.Face == pattern.FaceWrong {
			return "The pattern shows the wrong side: lay it printed side down on the right side of the cloth."
		}
		return "Printed side up on the right side of the cloth."
	}
	up, over, double := 0, 0, 0
	for _, l := range plan.Pieces {
		switch {
		case l.Piece != p.ID:
		case l.Layers > 1:
			double++
		case l.Mirrored:
			over++
		default:
			up++
		}
	}
	var parts []string
	for _, v := range []struct {
		n    int
		text string
	}{{double, "through both layers"}, {up, "printed side up"}, {over, "turned over, printed side down"}} {
		if v.n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", v.n, v.text))
		}
	}
	if len(parts) == 0 {
		return "Not laid yet."
	}
	return strings.ToUpper(parts[0][:1]) + strings.Join(parts, ", ")[1:] + "."
}

// letters gives each piece the fewest letters that name it alone: F for the front.
func (b maker) letters() map[string]string {
	out, used := map[string]string{}, map[string]bool{}
	for _, p := range b.g.Pieces {
		name := []rune(strings.ToUpper(strings.Join(strings.Fields(p.Name), "")))
		letter := ""
		for n := 1; n <= len(name); n++ {
			if letter = string(name[:n]); !used[letter] {
				break
			}
		}
		for n := 2; used[letter]; n++ {
			letter = fmt.Sprintf("%s%d", string(name[:min(1, len(name))]), n)
		}
		out[p.ID], used[letter] = letter, true
	}
	return out
}

// list returns the garment's cloths, or one that stands for them.
func (b maker) list() []pattern.Cloth {
	if len(b.g.Cloths) == 0 {
		return []pattern.Cloth{b.clothFor("")}
	}
	return b.g.Cloths
}

func (b maker) cloths() []MakingCloth {
	var out []MakingCloth
	for _, c := range b.list() {
		row := MakingCloth{ID: c.ID, Name: c.Name, Use: string(c.Use)}
		var text []string
		if p, ok := b.plan(c); ok {
			row.Plan = &p
			text = append(text, fmt.Sprintf("%s wide, laid %s", b.length(p.Cloth.WidthMM), p.Cloth.Words()))
			if p.Cloth.Remnant != nil {
				text = append(text, "from what is at hand")
			} else {
				text = append(text, "buy "+b.long(p.BuyMM))
			}
			if p.Cost > 0 {
				text = append(text, strings.TrimSpace(fmt.Sprintf("%.2f %s", p.Cost, p.Cloth.Currency)))
			}
		} else if c.WidthMM > 0 {
			text = append(text, b.length(c.WidthMM)+" wide", "not laid yet")
		} else {
			text = append(text, "width not known", "not laid yet")
		}
		row.Text = strings.Join(append(text, lines(c.Notes)...), "; ")
		out = append(out, row)
	}
	return out
}

// cordEndMM is left at each end of a cord to tie (judgement, no source).
const cordEndMM = 150.0

// notions lists elastics and cords to cut.
func (b maker) notions() []MakingNotion {
	var out []MakingNotion
	seen := map[string]bool{}
	for i, p := range b.g.Pieces {
		for k, e := range p.Edges {
			if e.Finish == nil || e.Finish.Kind != pattern.FinishCasing {
				continue
			}
			f, count, name := e.Finish, cuts(p)[0].Count, p.Name+", "+e.Name
			if f.Holds == pattern.HoldsElastic {
				if f.Elastic == nil {
					out = append(out, MakingNotion{name, count, 0, fmt.Sprintf("elastic %s wide, as long as the body asks for", b.length(f.WidthMM))})
					continue
				}
				if f.Elastic.Loop != "" {
					if seen[f.Elastic.Loop] {
						continue
					}
					seen[f.Elastic.Loop], name, count = true, f.Elastic.Loop, 1
				}
				l := f.Elastic.LengthMM()
				out = append(out, MakingNotion{name, count, l, fmt.Sprintf(
					"elastic %s wide, cut %s long; its ends overlap by %s", b.length(f.WidthMM), b.length(l), b.length(f.Elastic.OverlapMM),
				)})
				continue
			}
			if !b.drafts[i].Drawn() {
				continue
			}
			l := b.drafts[i].Edges[k].LengthMM
			if p.OnFold() {
				l *= 2
			}
			l += 2 * cordEndMM
			out = append(out, MakingNotion{name, count, l, fmt.Sprintf(
				"cord %s thick, cut %s long: once through the casing and %s at each end to tie", b.length(f.WidthMM), b.length(l), b.length(cordEndMM),
			)})
		}
	}
	return out
}
