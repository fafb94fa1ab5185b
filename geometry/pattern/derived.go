package pattern

import (
	"fmt"
	"slices"
)

// DerivedKind is what a piece that was made of others is.
type DerivedKind string

// The kinds of derived pieces.
const (
	DerivedFacing      DerivedKind = "facing"
	DerivedCasing      DerivedKind = "casing"
	DerivedBinding     DerivedKind = "binding"
	DerivedInterfacing DerivedKind = "interfacing"
	DerivedPocketBag   DerivedKind = "pocket-bag"
	DerivedLining      DerivedKind = "lining"
)

// Derived says how a piece was made of edges of other pieces, so that it can be made anew
// when they change. Lengths in mm; which a kind has stands beside them, and 0 is none.
type Derived struct {
	Kind DerivedKind `json:"kind" enum:"facing,casing,binding,interfacing,pocket-bag,lining"`
	// From are the edges it is made along. A facing, a pocket bag and a lining are made of
	// one piece; interfacing and lining may name it without an edge.
	From []Source `json:"from" nullable:"false" minItems:"1" maxItems:"100"`
	// WidthMM is that of a facing from its edge, of the elastic of a casing, of a binding
	// as it shows, or how far a pocket bag reaches in.
	WidthMM float64 `json:"width_mm,omitempty" minimum:"0" maximum:"300"`
	// PlayMM is what a casing is wider than its elastic.
	PlayMM float64 `json:"play_mm,omitempty" minimum:"0" maximum:"300"`
	// AtMM is where along its edge the opening of a pocket bag begins, LengthMM how long
	// that is, DropMM how far the bag hangs below it.
	AtMM     float64 `json:"at_mm,omitempty" minimum:"0" maximum:"20000"`
	LengthMM float64 `json:"length_mm,omitempty" minimum:"0" maximum:"20000"`
	DropMM   float64 `json:"drop_mm,omitempty" minimum:"0" maximum:"300"`
	// EaseMM is by what a lining is wider in all, for a pleat.
	EaseMM float64 `json:"ease_mm,omitempty" minimum:"0" maximum:"300"`
	// ShorterMM is by what interfacing stays inside the stitch line all round, or a lining
	// is shorter at the edges named.
	ShorterMM float64 `json:"shorter_mm,omitempty" minimum:"0" maximum:"300"`
	// AllowanceMM is the seam allowance of strips, bags and the cut ends of facings.
	AllowanceMM float64 `json:"allowance_mm,omitempty" minimum:"0" maximum:"300"`
	// Folded says that a casing is a band folded in half, or a binding folded to four
	// layers; else they lie flat.
	Folded bool `json:"folded,omitempty"`
	// Bias says that a binding is cut at 45 degrees to the threads.
	Bias bool `json:"bias,omitempty"`
	// State stands for what the pieces were that it was made of.
	State string `json:"state,omitempty" maxLength:"500"`
}

// Source is an edge that a piece is made along, or all of a piece.
type Source struct {
	Piece string `json:"piece" maxLength:"500"`
	Edge  string `json:"edge,omitempty" maxLength:"500"`
	// Times is how often the edge counts for a strip; 0 = once, twice where its piece is a
	// half on the fold.
	Times int `json:"times,omitempty" minimum:"0" maximum:"100"`
}

// Renamed returns the recipe with the ids of pieces replaced; an id that is not in the
// table stays. It is nil for a nil one.
func (d *Derived) Renamed(id map[string]string) *Derived {
	if d == nil {
		return nil
	}
	out := *d
	out.From = slices.Clone(d.From)
	for i, s := range out.From {
		if now, ok := id[s.Piece]; ok {
			out.From[i].Piece = now
		}
	}
	return &out
}

func (d Derived) check(prefix string) error {
	switch d.Kind {
	case DerivedFacing, DerivedCasing, DerivedBinding, DerivedInterfacing, DerivedPocketBag, DerivedLining:
	default:
		return wrong(prefix+"kind", "is %q; it is facing, casing, binding, interfacing, pocket-bag or lining", d.Kind)
	}
	if n := len(d.From); n < 1 || n > 100 {
		return wrong(prefix+"from", "has %d edges; a piece is made of 1 to 100", n)
	}
	for i, s := range d.From {
		field := fmt.Sprintf("%sfrom[%d].", prefix, i)
		if err := checkText(field+"piece", s.Piece); err != nil {
			return err
		}
		if len([]rune(s.Edge)) > maxTextLen || s.Times < 0 || s.Times > 100 {
			return wrong(field+"times", "is out of all bounds")
		}
	}
	for _, v := range []struct {
		field   string
		mm, top float64
	}{
		{"width_mm", d.WidthMM, MaxWidthMM},
		{"play_mm", d.PlayMM, MaxWidthMM},
		{"at_mm", d.AtMM, 20000},
		{"length_mm", d.LengthMM, 20000},
		{"drop_mm", d.DropMM, MaxWidthMM},
		{"ease_mm", d.EaseMM, MaxWidthMM},
		{"shorter_mm", d.ShorterMM, MaxWidthMM},
		{"allowance_mm", d.AllowanceMM, MaxWidthMM},
	} {
		if !(v.mm >= 0 && v.mm <= v.top) {
			return wrong(prefix+v.field, "is %g mm; it lies between 0 and %g", v.mm, v.top)
		}
	}
	if len([]rune(d.State)) > maxTextLen {
		return wrong(prefix+"state", "has more than %d characters", maxTextLen)
	}
	return nil
}
