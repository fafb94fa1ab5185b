package pattern

import (
	"fmt"
	"slices"
	"unicode/utf8"

	"secondcut/geometry"
)

// Cloth is a cloth that pieces are cut from, and how it is to be laid. Lengths in mm.
type Cloth struct {
	// ID names it within the garment.
	ID string `json:"id"`
	// Name is what people call it.
	Name string `json:"name"`
	// Use is main, lining, interfacing or other.
	Use ClothUse `json:"use"`
	// WidthMM is its usable width without the selvages; 0 = not known.
	WidthMM float64 `json:"width_mm,omitempty"`
	// ShrinkLengthPct and ShrinkAcrossPct are what it shrinks by in the wash along
	// and across the grain, in per cent of what it was, 0 to 30. Pieces are drawn
	// larger by it only when the cloth is cut unwashed: see [Options].
	ShrinkLengthPct float64 `json:"shrink_length_pct,omitempty"`
	ShrinkAcrossPct float64 `json:"shrink_across_pct,omitempty"`
	// Spread is how it lies on the table; empty = SpreadOpen.
	Spread Spread `json:"spread,omitempty"`
	// RightSideOut says that a fold brings wrong sides together, so that a print can
	// be seen and matched; else right sides lie together.
	RightSideOut bool `json:"right_side_out,omitempty"`
	// Nap says that all pieces must lie the same way up: pile, shine or a print with a
	// direction.
	Nap bool `json:"nap,omitempty"`
	// RepeatLengthMM and RepeatAcrossMM are the distances from stripe to stripe along
	// and across the cloth; 0 = none.
	RepeatLengthMM float64 `json:"repeat_length_mm,omitempty"`
	RepeatAcrossMM float64 `json:"repeat_across_mm,omitempty"`
	// StripeLengthMM and StripeAcrossMM say where the middle of a stripe lies from the
	// cut end and from the selvage (or the fold).
	StripeLengthMM float64 `json:"stripe_length_mm,omitempty"`
	StripeAcrossMM float64 `json:"stripe_across_mm,omitempty"`
	// GapMM is kept free between pieces, 0 to 200.
	GapMM float64 `json:"gap_mm,omitempty"`
	// GrainTolDeg is how far a piece may be turned off the grain, 0 to 5 degrees.
	GrainTolDeg float64 `json:"grain_tolerance_deg,omitempty"`
	// EndMM is added to the length for ends that are cut askew, 0 to 1000.
	EndMM float64 `json:"end_mm,omitempty"`
	// LengthMM is how much there is of it; 0 = as much as is needed.
	LengthMM float64 `json:"length_mm,omitempty"`
	// Remnant is the outline of what there is of it, as it lies on the table, washed:
	// x along its length, y across. Absent = a whole width.
	Remnant geometry.Polyline `json:"remnant_mm,omitempty"`
	// Flaws are places to avoid, as it lies on the table, washed.
	Flaws []geometry.Polyline `json:"flaws_mm,omitempty"`
	// PricePerM is what a metre costs, in Currency; 0 = not said.
	PricePerM float64 `json:"price_per_m,omitempty"`
	Currency  string  `json:"currency,omitempty"`
	Notes     string  `json:"notes,omitempty"`
	// Swatch names its photo among the garment's [Swatches]; empty = none.
	Swatch string `json:"swatch,omitempty"`
}

// Spread says how cloth lies on the table.
type Spread string

// The spreads: one layer, right side up; folded along its length, half as wide; folded
// across, half as long.
const (
	SpreadOpen       Spread = "open"
	SpreadLengthwise Spread = "lengthwise"
	SpreadCrosswise  Spread = "crosswise"
)

// ClothUse says what a cloth is for.
type ClothUse string

// The uses of a cloth.
const (
	ClothMain        ClothUse = "main"
	ClothLining      ClothUse = "lining"
	ClothInterfacing ClothUse = "interfacing"
	ClothOther       ClothUse = "other"
)

func (c Cloth) check(prefix string) error {
	if err := checkText(prefix+"id", c.ID); err != nil {
		return err
	}
	if err := checkText(prefix+"name", c.Name); err != nil {
		return err
	}
	if !slices.Contains([]ClothUse{ClothMain, ClothLining, ClothInterfacing, ClothOther}, c.Use) {
		return wrong(prefix+"use", "is %q; it is main, lining, interfacing or other", c.Use)
	}
	if !slices.Contains([]Spread{"", SpreadOpen, SpreadLengthwise, SpreadCrosswise}, c.Spread) {
		return wrong(prefix+"spread", "is %q; it is open, lengthwise or crosswise", c.Spread)
	}
	for _, v := range []struct {
		field  string
		x, top float64
		unit   string
	}{
		{"width_mm", c.WidthMM, 10_000, " mm"},
		{"shrink_length_pct", c.ShrinkLengthPct, maxShrinkPct, " per cent"},
		{"shrink_across_pct", c.ShrinkAcrossPct, maxShrinkPct, " per cent"},
		{"repeat_length_mm", c.RepeatLengthMM, 2000, " mm"},
		{"repeat_across_mm", c.RepeatAcrossMM, 2000, " mm"},
		{"stripe_length_mm", c.StripeLengthMM, 2000, " mm"},
		{"stripe_across_mm", c.StripeAcrossMM, 2000, " mm"},
		{"gap_mm", c.GapMM, 200, " mm"},
		{"grain_tolerance_deg", c.GrainTolDeg, 5, " degrees"},
		{"end_mm", c.EndMM, 1000, " mm"},
		{"length_mm", c.LengthMM, 1e6, " mm"},
		{"price_per_m", c.PricePerM, 1e5, ""},
	} {
		if !(v.x >= 0 && v.x <= v.top) {
			return wrong(prefix+v.field, "is %g%s; it lies between 0 and %g", v.x, v.unit, v.top)
		}
	}
	if n := utf8.RuneCountInString(c.Currency); n > 8 {
		return wrong(prefix+"currency", "has %d characters; it may have 8", n)
	}
	return c.checkPlaces(prefix)
}

// checkPlaces validates the outlines that lie on the cloth.
func (c Cloth) checkPlaces(prefix string) error {
	if len(c.Flaws) > 200 {
		return wrong(prefix+"flaws_mm", "are %d; there may be 200", len(c.Flaws))
	}
	if c.Remnant != nil {
		if err := checkPlace(prefix+"remnant_mm", c.Remnant); err != nil {
			return err
		}
	}
	for i, f := range c.Flaws {
		if err := checkPlace(fmt.Sprintf("%sflaws_mm[%d]", prefix, i), f); err != nil {
			return err
		}
	}
	if err := checkSwatchName(prefix+"swatch", c.Swatch); err != nil {
		return err
	}
	return checkNote(prefix+"notes", c.Notes)
}

func checkPlace(field string, ring geometry.Polyline) error {
	if len(ring) < 3 || len(ring) > 500 {
		return wrong(field, "has %d points; there must be 3 to 500", len(ring))
	}
	for _, q := range ring {
		if !sane(q) {
			return wrong(field, "lies more than %g m away or is not finite", maxExtent/1000)
		}
	}
	return nil
}
