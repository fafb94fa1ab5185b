package geometry

// A chain is a slice of segments of which each begins where the one before ends.

// Between returns the chain of a ring's segments from one knot to another, by their
// indices, in the direction of the ring; all of them where both are the same.
func (p Path) Between(from, to int) []Segment {
	n := len(p)
	count := (to - from + n) % n
	if count == 0 {
		count = n
	}
	out := make([]Segment, count)
	for j := range out {
		out[j] = p.Segment((from + j) % n)
	}
	return out
}

// Reversed returns the ring walked the other way round: knot j is the last but j.
func (p Path) Reversed() Path {
	out := make(Path, len(p))
	for i, k := range p {
		k.In, k.Out = k.Out, k.In
		out[len(p)-1-i] = k
	}
	return out
}

// ChainReversed returns a chain walked the other way.
func ChainReversed(line []Segment) []Segment {
	out := make([]Segment, len(line))
	for i, s := range line {
		out[len(line)-1-i] = Segment{A: s.D, B: s.C, C: s.B, D: s.A, Curved: s.Curved}
	}
	return out
}

// ChainLength returns the arc length of a chain in millimetres.
func ChainLength(line []Segment) float64 {
	var l float64
	for _, s := range line {
		l += s.Length()
	}
	return l
}

// ChainAt returns where a chain has run a fraction of its arc length: the index of the
// segment and the parameter on it. A fraction beyond 0..1 gives the nearer end.
func ChainAt(line []Segment, fraction float64) (i int, t float64) {
	want := fraction * ChainLength(line)
	for i, s := range line {
		l := s.Length()
		if want > l && i < len(line)-1 {
			want -= l
			continue
		}
		return i, s.ParameterAt(want)
	}
	return 0, 0
}

// ParameterAt returns the parameter in [0, 1] at which the segment has run an arc length
// in millimetres: for a curve by halving, right to 1e-6 mm a metre.
func (s Segment) ParameterAt(mm float64) float64 {
	l := s.Length()
	switch {
	case l == 0 || mm <= 0:
		return 0
	case mm >= l:
		return 1
	case !s.Curved:
		return mm / l
	}
	lo, hi := 0.0, 1.0
	for range 30 {
		m := (lo + hi) / 2
		if head, _ := s.Split(m); head.Length() < mm {
			lo = m
		} else {
			hi = m
		}
	}
	return (lo + hi) / 2
}
