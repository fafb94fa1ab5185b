package lay

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/geometry/pattern"
)

// WidthRow is what a garment takes of cloth of one width. Lengths in mm.
type WidthRow struct {
	WidthMM      float64 `json:"width_mm"`
	LaidLengthMM float64 `json:"laid_length_mm,omitempty"`
	NeedMM       float64 `json:"need_mm,omitempty"`
	BuyMM        float64 `json:"buy_mm,omitempty"`
	UsedPct      float64 `json:"used_pct,omitempty"`
	Cost         float64 `json:"cost,omitempty"`
	// Why says why it cannot be laid on this width, and what to do; empty where it can.
	Why string `json:"why,omitempty"`
}

// UsualWidths are those that cloth is sold in (a general reference lists 36, 45, 54 and
// 60 in among others; 90, 115, 140 and 150 cm in metric trade are from memory).
func UsualWidths() []float64 { return []float64{900, 1150, 1400, 1500} }

// Widths lays a garment on cloth that differs in width alone, opt.Time for each, and
// returns a row for each width in its order. When ctx ends, each of the rest gets its
// first layout. It fails as [NewTask] does, but for a piece that is wider than the cloth,
// which is told in its row.
func Widths(ctx context.Context, g pattern.Garment, clothID string, c Cloth, widths []float64, opt Options, progress func(WidthRow)) ([]WidthRow, error) {
	c.Remnant, c.LengthMM = nil, 0
	var out []WidthRow
	for _, w := range widths {
		c.WidthMM = w
		t, err := NewTask(g, clothID, c)
		if err != nil {
			return out, err
		}
		row := WidthRow{WidthMM: w}
		plan, err := t.Nest(ctx, opt, nil, nil)
		switch {
		case errors.Is(err, ErrTooWide):
			row.Why = fmt.Sprintf("%v; %s", err, c.WayOut())
			if i := slices.IndexFunc(t.Findings, func(f geometry.Finding) bool { return f.Code == CodeTooWide }); i >= 0 {
				row.Why = t.Findings[i].Message + " " + t.Findings[i].Remedy
			}
		case err != nil:
			return out, err
		default:
			row.LaidLengthMM, row.NeedMM, row.BuyMM, row.UsedPct, row.Cost = plan.LaidLengthMM, plan.NeedMM, plan.BuyMM, plan.UsedPct, plan.Cost
		}
		out = append(out, row)
		if progress != nil {
			progress(row)
		}
	}
	return out, nil
}

// WayOut says what to do when a piece is wider than the cloth.
func (c Cloth) WayOut() string {
	if c.Spread == Lengthwise {
		return "lay the cloth open, take a wider one, or cut the piece in two and join it"
	}
	return "take a wider one, or cut the piece in two and join it"
}

// chart gives lengths in yards that are taken to be worth the same in cloth of the widths
// above them (a home-sewing teaching page and a discussion board print it alike; it is
// commonly credited to an extension service of Rutgers, of which no copy was found).
// It is no law: the same area differs by up to a tenth from column to column.
var (
	chartWidthsIn = []float64{35.5, 39, 41, 44.5, 50, 53, 59, 66}
	chartYards    = [][]float64{
		{1.750, 1.500, 1.500, 1.375, 1.250, 1.125, 1.000, 0.875},
		{2.000, 1.750, 1.750, 1.625, 1.500, 1.375, 1.250, 1.125},
		{2.250, 2.000, 2.000, 1.750, 1.625, 1.500, 1.375, 1.250},
		{2.500, 2.250, 2.250, 2.125, 1.750, 1.750, 1.625, 1.500},
		{2.875, 2.500, 2.500, 2.250, 2.000, 1.875, 1.750, 1.625},
		{3.125, 2.750, 2.750, 2.500, 2.250, 2.000, 1.875, 1.750},
		{3.375, 3.000, 2.875, 2.750, 2.375, 2.250, 2.000, 1.875},
		{3.750, 3.250, 3.125, 2.875, 2.625, 2.375, 2.250, 2.125},
		{4.250, 3.500, 3.375, 3.125, 2.750, 2.625, 2.375, 2.250},
		{4.500, 3.750, 3.625, 3.375, 3.000, 2.750, 2.625, 2.500},
		{4.750, 4.000, 3.875, 3.625, 3.250, 2.875, 2.750, 2.625},
		{5.000, 4.250, 4.125, 3.875, 3.375, 3.125, 2.875, 2.750},
	}
)

// ByChart returns what a length of cloth of one width comes to in another width by the
// published conversion chart, read between its lines and columns, in mm. It is a rough
// check of [Widths] and no more: by custom a quarter of a yard is added for a large
// difference in width or a nap, and it holds only where every piece fits on the width.
// It reports false outside the chart.
func ByChart(lengthMM, fromWidthMM, toWidthMM float64) (float64, bool) {
	const yard, inch = 914.4, 25.4
	from, okFrom := column(fromWidthMM / inch)
	to, okTo := column(toWidthMM / inch)
	if !okFrom || !okTo {
		return 0, false
	}
	y := lengthMM / yard
	for i := 1; i < len(from); i++ {
		if y >= from[i-1] && y <= from[i] && from[i] > from[i-1] {
			f := (y - from[i-1]) / (from[i] - from[i-1])
			return yard * (to[i-1] + f*(to[i]-to[i-1])), true
		}
	}
	return 0, false
}

// column returns the lengths of the chart for a width in inches.
func column(in float64) ([]float64, bool) {
	last := len(chartWidthsIn) - 1
	if !(in >= chartWidthsIn[0]-0.5 && in <= chartWidthsIn[last]+0.5) {
		return nil, false
	}
	in = math.Min(math.Max(in, chartWidthsIn[0]), chartWidthsIn[last])
	k := 1
	for k < last && in > chartWidthsIn[k] {
		k++
	}
	f := (in - chartWidthsIn[k-1]) / (chartWidthsIn[k] - chartWidthsIn[k-1])
	var out []float64
	for _, row := range chartYards {
		out = append(out, row[k-1]+f*(row[k]-row[k-1]))
	}
	return out, true
}
