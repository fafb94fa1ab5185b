package sheet

import (
	"fmt"
	"slices"
	"strings"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// prepare says what comes before cutting.
func (b maker) prepare() []string {
	var out []string
	for _, c := range b.g.Cloths {
		if c.ShrinkLengthPct > 0 || c.ShrinkAcrossPct > 0 {
			out = append(out, fmt.Sprintf("Wash and dry %s as the garment will be washed, then press it along the threads. It is taken to get %g %% shorter and %g %% narrower.",
				c.Name, c.ShrinkLengthPct, c.ShrinkAcrossPct))
			continue
		}
		// The smallest square of the shrinkage tests after ISO 3759 and ISO 5077, as a trade
		// page gives it (garmentstech.com): 50 x 50 cm, 5 cm off the selvage, 4 h at rest.
		out = append(out, fmt.Sprintf("What %s shrinks by is not known. Wash, dry and press all of it before cutting; or try a square of %s, marked %s from the selvage, and measure it again when it has lain for 4 hours.",
			c.Name, b.length(500), b.length(50)))
	}
	if len(b.g.Cloths) == 0 {
		out = append(out, "Wash and dry the cloth as the garment will be washed, then press it along the threads.")
	}
	out = append(
		out,
		"Straighten the cut end along a thread, lay the cloth without pulling it, and check that the selvages are parallel to the table.",
		"Measure both test squares of the printed pattern with a ruler, on several sheets, before anything is cut.",
	)
	var main []string
	for _, p := range b.g.Pieces {
		if slices.ContainsFunc(cuts(p), func(c pattern.Cut) bool { return b.clothFor(c.Cloth).Use == pattern.ClothMain }) && b.joined(p.ID) {
			main = append(main, p.Name)
		}
	}
	if len(main) > 0 {
		out = append(out, fmt.Sprintf("Sew a trial piece first, in cheap cloth that drapes alike: %s, with long stitches. Try it on, note what to change, and change the pattern.", strings.Join(main, ", ")))
	}
	return out
}

// inSeam reports whether a piece is sewn to anything.
func (b maker) inSeam(piece string) bool {
	p, _ := b.g.Piece(piece)
	return slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool { return b.sewn(piece, e.ID) })
}

// joined reports whether a piece is sewn to another one.
func (b maker) joined(piece string) bool {
	return slices.ContainsFunc(b.g.SeamPairs, func(s pattern.SeamPair) bool {
		runs := slices.Concat(s.A, s.B)
		return slices.ContainsFunc(runs, func(r pattern.Run) bool { return r.Piece == piece }) &&
			slices.ContainsFunc(runs, func(r pattern.Run) bool { return r.Piece != piece })
	})
}

// markNames are what marks are called on the sheet, in the order they are listed.
var markNames = []struct {
	kind      pattern.MarkKind
	one, many string
}{
	{pattern.MarkNotch, "notch", "notches"},
	{pattern.MarkSnip, "snip", "snips"},
	{pattern.MarkDrill, "drill hole", "drill holes"},
	{pattern.MarkButtonhole, "buttonhole", "buttonholes"},
	{pattern.MarkDart, "dart", "darts"},
	{pattern.MarkFoldLine, "fold line", "fold lines"},
	{pattern.MarkStitchLine, "stitch line", "stitch lines"},
	{pattern.MarkLine, "line", "lines"},
	{pattern.MarkText, "note", "notes"},
}

// marks lists what to transfer, without those that belong to the paper alone: the grain
// line, and the line to lengthen at.
func (b maker) marks() []MakingMarks {
	letters := b.letters()
	var out []MakingMarks
	for _, p := range b.g.Pieces {
		var parts []string
		for _, n := range markNames {
			count := 0
			var texts []string
			for _, m := range p.Marks {
				if m.Kind != n.kind || m.Detached != "" {
					continue
				}
				count++
				if m.Text != "" && !slices.Contains(texts, m.Text) {
					texts = append(texts, m.Text)
				}
			}
			if count == 0 {
				continue
			}
			text := fmt.Sprintf("%d %s", count, n.many)
			if count == 1 {
				text = "1 " + n.one
			}
			if len(texts) > 0 {
				text += " (" + strings.Join(texts, ", ") + ")"
			}
			parts = append(parts, text)
		}
		if len(parts) == 0 {
			parts = []string{"its letter alone"}
		}
		out = append(out, MakingMarks{letters[p.ID], p.Name, strings.Join(parts, "; ")})
	}
	return out
}

// changes lists what differs from the worn garment, edges of a piece that change alike
// together.
func (b maker) changes() []string {
	var out []string
	for _, p := range b.g.Pieces {
		var order []string
		names := map[string][]string{}
		for _, e := range p.Edges {
			text := b.change(p, e)
			if text == "" {
				continue
			}
			if names[text] == nil {
				order = append(order, text)
			}
			names[text] = append(names[text], e.Name)
		}
		for _, text := range order {
			out = append(out, fmt.Sprintf("%s, %s: %s", p.Name, strings.Join(names[text], ", "), text))
		}
	}
	return out
}

// change says what becomes of an edge that was otherwise on the worn garment; empty where
// nothing changes or nothing is known.
func (b maker) change(p pattern.Piece, e pattern.Edge) string {
	if e.OldAllowance == nil || e.Finish == nil || e.Finish.Kind == pattern.FinishKeep || p.OutlineMeans == pattern.MeansStitchLine {
		return ""
	}
	start, end := e.Finish.Widths()
	now := p.EdgeText(e, b.unit)
	switch e.OldAllowance.Is {
	case pattern.OldNone:
		return "was worn or cut to the stitch line, now " + now
	case pattern.OldLength:
		if start == end && start == e.OldAllowance.MM {
			return ""
		}
		return fmt.Sprintf("had %s outside the stitch line, now %s", b.length(e.OldAllowance.MM), now)
	}
	return ""
}

// Codes of the cautions that stand on every making sheet.
const (
	CodeCautionBlade = "caution-blade"
	CodeCautionIron  = "caution-iron"
	CodeCautionWear  = "caution-wear"
)

// atTheTable are the cautions of the cutting table. What is said of blades and irons
// agrees with safety guides for young people who sew (an extension contest guide, read in
// a copy), in own words.
func atTheTable() []geometry.Finding {
	say := func(code, message, remedy string) geometry.Finding {
		return geometry.Finding{Code: code, Severity: geometry.SeverityInfo, Message: message, Remedy: remedy}
	}
	return []geometry.Finding{
		say(CodeCautionBlade, "Rotary blades and shears cut fingers.", "Close the blade whenever it is put down, cut away from the body, wear closed shoes, never reach for falling shears; hand them over handles first."),
		say(CodeCautionIron, "A hot iron burns, and its cord pulls it down.", "Rest it on its heel on a firm surface, keep the cord out of the way and face and hands out of the steam, unplug it afterwards. Let cloth cool before paper or cards lie on it."),
		say(CodeCautionWear, "A costume protects from nothing, and loose cloth catches fire.", "Keep it away from flames and moving machines. Local rules come before this sheet."),
	}
}
