package lay

import (
	"errors"
	"fmt"
	"math"

	"secondcut/geometry"
)

// Spread says how the cloth lies on the table.
type Spread string

// The spreads. Open is one layer with its right side up; a fold brings right sides
// together, which cuts a left and a right at once.
const (
	Open       Spread = "open"
	Lengthwise Spread = "lengthwise" // folded along the length: half as wide
	Crosswise  Spread = "crosswise"  // folded across: half as long
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
	// Nap says that all pieces must lie the same way up the cloth: pile, shine or a
	// print with a direction.
	Nap bool `json:"nap,omitempty"`
	// GapMM is kept free between pieces; default 0.
	GapMM float64 `json:"gap_mm,omitempty"`
	// GrainTolDeg is how far a piece may be turned off the grain, 0 to 5 degrees;
	// default 0.
	GrainTolDeg float64 `json:"grain_tolerance_deg,omitempty"`
	// ShrinkLengthPct and ShrinkCrossPct are by how much the cloth shrinks when it is
	// washed before cutting, in per cent of what is bought, 0 to 25.
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
	return errors.Join(
		bad("width_mm", c.WidthMM, 10, 20_000), bad("gap_mm", c.GapMM, 0, 200),
		bad("grain_tolerance_deg", c.GrainTolDeg, 0, 5),
		bad("shrink_length_pct", c.ShrinkLengthPct, 0, 25), bad("shrink_cross_pct", c.ShrinkCrossPct, 0, 25),
		bad("end_mm", c.EndMM, 0, 1000), bad("step_mm", c.StepMM, 0, 10_000), bad("length_mm", c.LengthMM, 0, huge),
	)
}

// laidWidth is the width of the layers as they lie, after the wash.
func (c Cloth) laidWidth() float64 {
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
	if c.Spread == Crosswise {
		laid *= 2
	}
	step := c.StepMM
	if step == 0 {
		step = 100
	}
	need := (laid + c.EndMM) / (1 - c.ShrinkLengthPct/100)
	return math.Ceil(need/step-1e-9) * step
}

// laidLength is the length of the layers that there are, after the wash; 0 = any.
func (c Cloth) laidLength() float64 {
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

// turns returns the turns that a piece may have whose grain runs along +y. Mirroring x
// leaves that direction as it is.
func (c Cloth) turns() []float64 {
	out := []float64{topAway}
	if c.GrainTolDeg > 0 {
		out = append(out, topAway-c.GrainTolDeg, topAway+c.GrainTolDeg)
	}
	if !c.Nap {
		for _, d := range out[:len(out):len(out)] {
			out = append(out, d+180)
		}
	}
	return out
}
