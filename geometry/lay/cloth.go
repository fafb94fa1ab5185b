package lay

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// Spread says how the cloth lies on the table.
type Spread = pattern.Spread

// The spreads. Open is one layer with its right side up; a fold cuts a left and a right
// at once.
const (
	Open       = pattern.SpreadOpen
	Lengthwise = pattern.SpreadLengthwise // folded along the length: half as wide
	Crosswise  = pattern.SpreadCrosswise  // folded across: half as long
)

// Cloth is what pieces are laid on. The zero value but for WidthMM is a plain cloth,
// laid open, without nap, that does not shrink.
type Cloth struct {
	// Name is what people call it.
	Name string `json:"name,omitempty"`
	// WidthMM is its usable width between the selvages as it is bought, above 0.
	WidthMM float64 `json:"width_mm"`
	// Spread: empty = Open.
	Spread Spread `json:"spread,omitempty"`
	// RightSideOut says that a fold brings wrong sides together, so that a print can be
	// seen and matched; else right sides lie together.
	RightSideOut bool `json:"right_side_out,omitempty"`
	// Nap says that all pieces must lie the same way up the cloth: pile, shine or a
	// print with a direction.
	Nap bool `json:"nap,omitempty"`
	// RepeatLengthMM and RepeatAcrossMM are the distances from stripe to stripe along
	// and across the cloth; 0 = none. The middle of a stripe lies at the cut end and at
	// the selvage (or fold), or StripeLengthMM and StripeAcrossMM from them.
	RepeatLengthMM float64 `json:"repeat_length_mm,omitempty"`
	RepeatAcrossMM float64 `json:"repeat_across_mm,omitempty"`
	StripeLengthMM float64 `json:"stripe_length_mm,omitempty"`
	StripeAcrossMM float64 `json:"stripe_across_mm,omitempty"`
	// GapMM is kept free between pieces; default 0.
	GapMM float64 `json:"gap_mm,omitempty"`
	// GrainTolDeg is how far a piece may be turned off the grain, 0 to 5 degrees;
	// default 0.
	GrainTolDeg float64 `json:"grain_tolerance_deg,omitempty"`
	// ShrinkLengthPct and ShrinkCrossPct are by how much the cloth shrinks when it is
	// washed before cutting, in per cent of what is bought, 0 to 30.
	ShrinkLengthPct float64 `json:"shrink_length_pct,omitempty"`
	ShrinkCrossPct  float64 `json:"shrink_cross_pct,omitempty"`
	// EndMM is added to the length for ends that are cut askew; default 0.
	EndMM float64 `json:"end_mm,omitempty"`
	// StepMM is what shops sell multiples of: 0 = 100 mm; YardStepMM.
	StepMM float64 `json:"step_mm,omitempty"`
	// Flaws are places to avoid, in the cloth frame of the layers as they lie.
	Flaws []geometry.Polyline `json:"flaws_mm,omitempty"`
	// LengthMM is how much there is of it; 0 = as much as is needed.
	LengthMM float64 `json:"length_mm,omitempty"`
	// Remnant is the outline of what there is, in the cloth frame of the layers as they
	// lie, washed; it stands for WidthMM and LengthMM. Absent = a whole width.
	Remnant geometry.Polyline `json:"remnant_mm,omitempty"`
	// PricePerM is what a metre costs, in Currency; 0 = not said.
	PricePerM float64 `json:"price_per_m,omitempty"`
	Currency  string  `json:"currency,omitempty"`
}

// ClothOf returns a cloth of a garment file as it is laid, with what was bought as its
// length; an empty id is the main one. It reports false where there is none.
func ClothOf(g pattern.Garment, id string) (Cloth, bool) {
	i := slices.IndexFunc(g.Cloths, func(c pattern.Cloth) bool { return c.ID == id || id == "" && c.Use == pattern.ClothMain })
	if i < 0 {
		return Cloth{}, false
	}
	c := g.Cloths[i]
	return Cloth{
		Name: c.Name, WidthMM: c.WidthMM, Spread: c.Spread, RightSideOut: c.RightSideOut, Nap: c.Nap,
		RepeatLengthMM: c.RepeatLengthMM, RepeatAcrossMM: c.RepeatAcrossMM, StripeLengthMM: c.StripeLengthMM, StripeAcrossMM: c.StripeAcrossMM,
		GapMM: c.GapMM, GrainTolDeg: c.GrainTolDeg, ShrinkLengthPct: c.ShrinkLengthPct, ShrinkCrossPct: c.ShrinkAcrossPct, EndMM: c.EndMM,
		LengthMM: c.LengthMM, Remnant: c.Remnant, Flaws: c.Flaws, PricePerM: c.PricePerM, Currency: c.Currency,
	}, true
}

// YardStepMM is an eighth of a yard (0.9144 m by definition).
const YardStepMM = 914.4 / 8

// ErrCloth says that a cloth is not described properly; the text names the field.
var ErrCloth = errors.New("this cloth cannot be laid on")

func (c Cloth) check() error {
	bad := func(field string, v, lo, hi float64) error {
		if v >= lo && v <= hi {
			return nil
		}
		return fmt.Errorf("%w: %s is %g; it must be between %g and %g", ErrCloth, field, v, lo, hi)
	}
	const huge = 1e6 // a kilometre
	if c.Spread != "" && c.Spread != Open && c.Spread != Lengthwise && c.Spread != Crosswise {
		return fmt.Errorf("%w: spread is %q; it must be open, lengthwise or crosswise", ErrCloth, c.Spread)
	}
	if c.Remnant != nil {
		if err := checkRing(c.Remnant); err != nil {
			return fmt.Errorf("%w: remnant_mm: %w", ErrCloth, err)
		}
		c.WidthMM = max(c.WidthMM, 10) // the outline says how wide it is
	}
	return errors.Join(
		bad("width_mm", c.WidthMM, 10, 20_000), bad("gap_mm", c.GapMM, 0, 200),
		bad("grain_tolerance_deg", c.GrainTolDeg, 0, 5),
		bad("shrink_length_pct", c.ShrinkLengthPct, 0, 30), bad("shrink_cross_pct", c.ShrinkCrossPct, 0, 30),
		bad("repeat_length_mm", c.RepeatLengthMM, 0, 2000), bad("repeat_across_mm", c.RepeatAcrossMM, 0, 2000),
		bad("stripe_length_mm", c.StripeLengthMM, 0, 2000), bad("stripe_across_mm", c.StripeAcrossMM, 0, 2000),
		bad("price_per_m", c.PricePerM, 0, 1e5),
		bad("end_mm", c.EndMM, 0, 1000), bad("step_mm", c.StepMM, 0, 10_000), bad("length_mm", c.LengthMM, 0, huge),
	)
}

// laidWidth is the width of the layers as they lie, after the wash.
func (c Cloth) laidWidth() float64 {
	if c.Remnant != nil {
		lo, hi := c.Remnant.Bounds()
		return hi.Y - lo.Y
	}
	w := c.WidthMM * (1 - c.ShrinkCrossPct/100)
	if c.Spread == Lengthwise {
		w /= 2
	}
	return w
}

// layers is how many a cut goes through.
func (c Cloth) layers() int {
	if c.Spread == Lengthwise || c.Spread == Crosswise {
		return 2
	}
	return 1
}

// BuyMM returns the length to buy for pieces that lie on a length of it: what a
// crosswise fold takes twice, with the ends, what washing takes (cut = finished / (1 -
// shrinkage)), rounded up to what shops sell.
func (c Cloth) BuyMM(laid float64) float64 {
	step := c.StepMM
	if step == 0 {
		step = 100
	}
	return math.Ceil(c.NeedMM(laid)/step-1e-9) * step
}

// NeedMM is BuyMM before it is rounded; 0 for a remnant, which is at hand.
func (c Cloth) NeedMM(laid float64) float64 {
	if c.Remnant != nil {
		return 0
	}
	if c.Spread == Crosswise {
		laid *= 2
	}
	return (laid + c.EndMM) / (1 - c.ShrinkLengthPct/100)
}

// Cost returns what a length costs, in the cloth's currency; 0 where no price is given.
func (c Cloth) Cost(buyMM float64) float64 { return c.PricePerM * buyMM / 1000 }

// laidLength is the length of the layers that there are, after the wash; 0 = any.
func (c Cloth) laidLength() float64 {
	if c.Remnant != nil {
		lo, hi := c.Remnant.Bounds()
		return hi.X - lo.X
	}
	l := c.LengthMM * (1 - c.ShrinkLengthPct/100)
	if l > 0 {
		l = max(l-c.EndMM, 1)
	}
	if c.Spread == Crosswise {
		l /= 2
	}
	return l
}

// topAway is the turn that brings +y, the top of a piece, to +x, the far end of the
// cloth.
const topAway = -90.0

// bases are the turns at which the grain of a piece, along +y in its outline, lies along
// the cloth. Mirroring x leaves that direction as it is.
func (c Cloth) bases() []float64 {
	if c.Nap {
		return []float64{topAway}
	}
	return []float64{topAway, topAway + 180}
}

// onBiasOf are the turns of a piece whose grain line lies at 45 degrees to the threads.
func onBiasOf(bases []float64) []float64 {
	var out []float64
	for _, b := range bases {
		out = append(out, b-45, b+45)
	}
	return out
}

// around returns the turns that are tried: some, and as far off them as the grain may be.
func (c Cloth) around(bases []float64) []float64 {
	out := slices.Clone(bases)
	if c.GrainTolDeg > 0 {
		for _, b := range bases {
			out = append(out, b-c.GrainTolDeg, b+c.GrainTolDeg)
		}
	}
	return out
}
