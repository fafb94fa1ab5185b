package lay

import "math"

// LowerBoundMM returns a length below which no layout can be: the area of the pieces
// over the width of the strip, the longest piece at its shortest turn, or what is taken
// in any case. The best
// layout is usually some 10 % longer.
func (in Instance) LowerBoundMM() float64 {
	bound := max(in.AreaMM2()/in.WidthMM, in.MinLengthMM)
	for _, p := range in.Pieces {
		long := math.Inf(1)
		for _, deg := range p.turns() {
			if lo, hi := turned(p.Outline, Placement{RotationDeg: deg}).Bounds(); hi.Y-lo.Y <= in.WidthMM*(1+slack) {
				long = min(long, hi.X-lo.X)
			}
		}
		if !math.IsInf(long, 1) {
			bound = max(bound, long)
		}
	}
	return bound
}

// turns returns the turns that the piece may lie at.
func (p Piece) turns() []float64 {
	if len(p.TurnsDeg) == 0 {
		return []float64{0}
	}
	return p.TurnsDeg
}
