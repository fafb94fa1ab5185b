package pattern

import (
	"fmt"
	"math"
	"strings"

	"secondcut/geometry/measure"
)

// Label is what is written on a piece besides its name.
type Label struct {
	// Cuts say how often it is cut from which cloth; none = not said.
	Cuts []Cut `json:"cuts,omitempty"`
	// SizeWorn and SizeMeasured stand for those of the garment where they differ.
	SizeWorn     string `json:"size_worn,omitempty"`
	SizeMeasured string `json:"size_measured,omitempty"`
	Notes        string `json:"notes,omitempty"`
}

// Cut says how often a piece is cut from a cloth.
type Cut struct {
	// Cloth is the id of the cloth; empty = the main one.
	Cloth string `json:"cloth,omitempty"`
	// Count is the number of pieces, 1 to 100.
	Count int `json:"count"`
	// Mirrored says that half of them are mirror images; Count is then even.
	Mirrored bool `json:"mirrored,omitempty"`
}

func (l Label) check(prefix string) error {
	for i, c := range l.Cuts {
		field := fmt.Sprintf("%scuts[%d].", prefix, i)
		if c.Count < 1 || c.Count > 100 {
			return wrong(field+"count", "is %d; a piece is cut 1 to 100 times", c.Count)
		}
		if c.Mirrored && c.Count%2 != 0 {
			return wrong(field+"count", "is %d, but mirrored pieces come in pairs", c.Count)
		}
	}
	if len(l.Cuts) > 20 {
		return wrong(prefix+"cuts", "are %d; there may be 20", len(l.Cuts))
	}
	for _, v := range [][2]string{{"size_worn", l.SizeWorn}, {"size_measured", l.SizeMeasured}, {"notes", l.Notes}} {
		if err := checkNote(prefix+v[0], v[1]); err != nil {
			return err
		}
	}
	return nil
}

// Text returns how often to cut, in words that leave no doubt on cloth with two
// different sides: "cut 2 mirrored (1 pair)".
func (c Cut) Text(fold bool) string {
	s := fmt.Sprintf("cut %d", c.Count)
	if c.Mirrored {
		s += " mirrored (1 pair)"
		if c.Count > 2 {
			s = fmt.Sprintf("cut %d mirrored (%d pairs)", c.Count, c.Count/2)
		}
	}
	if fold {
		s += " on the fold"
	}
	return s
}

// cuts returns how often the piece is cut from its first cloth.
func (p Piece) cuts() int {
	if p.Label == nil || len(p.Label.Cuts) == 0 {
		return 1
	}
	return p.Label.Cuts[0].Count
}

// OnFold reports whether an edge lies on the fold.
func (p Piece) OnFold() bool {
	for _, e := range p.Edges {
		if e.finish().Kind == FinishFold {
			return true
		}
	}
	return false
}

// LabelLines returns what is written on a piece, line by line: the piece and its
// garment first, then size, how often to cut, the side that lies up, the allowances
// that are included, date and version, notes. unit is the one to write widths in;
// empty = mm.
func LabelLines(g Garment, p Piece, unit measure.Unit) []string {
	return labelLines(g, p, unit, false)
}

// labelLines is LabelLines; a whole piece is not cut on the fold.
func labelLines(g Garment, p Piece, unit measure.Unit, whole bool) []string {
	if unit == "" {
		unit = measure.Millimetre
	}
	l := Label{}
	if p.Label != nil {
		l = *p.Label
	}
	lines := []string{p.Name, g.Name}
	add := func(s string) {
		if s = strings.TrimSpace(s); s != "" {
			lines = append(lines, s)
		}
	}
	add(sizeLine(first(l.SizeWorn, g.SizeWorn), first(l.SizeMeasured, g.SizeMeasured)))
	for _, c := range l.Cuts {
		add(c.Text(p.OnFold() && !whole) + clothText(g, c.Cloth))
	}
	switch p.Face {
	case FaceRight:
		add("Drawn with the right side of the cloth up")
	case FaceWrong:
		add("Drawn with the wrong side of the cloth up")
	}
	lines = append(lines, allowanceLines(p, unit, whole)...)
	if g.Version != "" {
		add(strings.TrimSpace(g.Date + " version " + g.Version))
	} else {
		add(g.Date)
	}
	for _, note := range strings.Split(l.Notes, "\n") {
		add(note)
	}
	return lines
}

func first(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

func sizeLine(worn, measured string) string {
	switch {
	case worn != "" && measured != "":
		return fmt.Sprintf("Size %s (label of the old garment), measured %s", worn, measured)
	case worn != "":
		return fmt.Sprintf("Size %s (label of the old garment)", worn)
	case measured != "":
		return "Size measured " + measured
	}
	return ""
}

func clothText(g Garment, id string) string {
	for _, c := range g.Cloths {
		if c.ID == id || (id == "" && c.Use == ClothMain) {
			if c.Use == ClothMain {
				return " from " + c.Name
			}
			return fmt.Sprintf(" from %s (%s)", c.Name, c.Use)
		}
	}
	return ""
}

// allowanceLines say of every edge what lies outside its stitch line; edges with
// the same are named together, in the order of their first.
func allowanceLines(p Piece, unit measure.Unit, whole bool) []string {
	var order []string
	names := map[string][]string{}
	for _, e := range p.Edges {
		if whole && e.finish().Kind == FinishFold {
			continue
		}
		text := p.EdgeText(e, unit)
		if names[text] == nil {
			order = append(order, text)
		}
		names[text] = append(names[text], e.Name)
	}
	var lines []string
	for _, text := range order {
		lines = append(lines, fmt.Sprintf("%s: %s", strings.Join(names[text], ", "), text))
	}
	return lines
}

// EdgeText says what the cut line of an edge of the piece includes, widths in a unit:
// "includes 10 mm seam allowance".
func (p Piece) EdgeText(e Edge, unit measure.Unit) string {
	w := func(mm float64) string { return widthText(mm, unit) }
	f := e.finish()
	old, known := p.old(e)
	start, end := f.Widths()
	if !known && f.Kind != FinishKeep {
		f.Kind = FinishKeep // nothing is added to what may be there already
	}
	switch f.Kind {
	case FinishKeep:
		switch {
		case !known:
			return "as traced, allowance not known"
		case old == 0:
			return "no allowance included"
		}
		return "as traced, includes " + w(old) + " allowance"
	case FinishSeam:
		if end != start {
			return fmt.Sprintf("includes %s to %s seam allowance", w(start), w(end))
		}
		return "includes " + w(start) + " seam allowance"
	case FinishFaced:
		return "includes " + w(start) + " allowance for the facing"
	case FinishHem:
		return fmt.Sprintf("includes %s hem, %s", w(start), turnText(f, w))
	case FinishCasing:
		return fmt.Sprintf("includes %s casing for %s %s", w(start), w(f.WidthMM), f.Holds) + threadText(f, w)
	case FinishBound:
		return "bound, no allowance"
	}
	return "on the fold, no allowance"
}

// widthText writes a width; one that is no sixteenth of an inch has its mm beside
// it, so that nothing is promised that is not drawn.
func widthText(mm float64, unit measure.Unit) string {
	text := measure.Format(mm, unit)
	if unit == measure.Inch && math.Abs(math.Round(mm/25.4*16)*25.4/16-mm) > 0.05 {
		text += " (" + measure.Format(mm, measure.Millimetre) + ")"
	}
	return text
}

// threadText says what is cut to go into a casing, and where it goes in.
func threadText(f Finish, w func(float64) string) string {
	text := ""
	if f.Elastic != nil {
		text += ", cut " + w(f.Elastic.LengthMM()) + " long"
	}
	if f.OpeningMM > 0 {
		text += ", leave " + w(f.OpeningMM) + " open"
	}
	return text
}

func turnText(f Finish, w func(float64) string) string {
	if f.Turns == 1 {
		return "turned once"
	}
	return fmt.Sprintf("turned twice (%s and %s)", w(f.Folds()[1]), w(f.DepthMM))
}
