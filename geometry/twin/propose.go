package twin

import (
	"cmp"
	"slices"

	"secondcut/geometry/pattern"
)

// Judgements of what is proposed, tuned on nothing but the demo garment and drawn ones.
const (
	alikeWhole = 0.7  // share of the whole outline that agrees
	alikeEdge  = 0.3  // and of each edge
	sizeRatio  = 1.15 // of the lengths of the outlines
	shortMM    = 30.0 // edges below are not judged
	neighbours = 3    // pieces next in length that a piece is compared with
)

// Propose returns the pairs that are mirror images of each other as far as their
// outlines tell, each piece once at most, and pieces whose halves are; in the order of
// the garment. A piece on the fold has no halves. Each piece is compared with the few
// nearest in length, which takes some 10 ms each.
func Propose(g pattern.Garment) []Pair {
	order := slices.Clone(g.Pieces)
	round := map[string]float64{}
	for _, p := range order {
		round[p.ID] = p.Knots.Length()
	}
	slices.SortStableFunc(order, func(a, b pattern.Piece) int { return cmp.Compare(round[a.ID], round[b.ID]) })
	taken := map[string]bool{}
	var out []Pair
	for i, a := range order {
		if taken[a.ID] {
			continue
		}
		best, most := "", 0.0
		for _, b := range order[i+1 : min(i+1+neighbours, len(order))] {
			if taken[b.ID] || round[b.ID] > sizeRatio*round[a.ID] || a.OutlineMeans != b.OutlineMeans {
				continue
			}
			if share := alike(g, Pair{a.ID, b.ID}); share > most {
				best, most = b.ID, share
			}
		}
		switch {
		case best != "":
			taken[best] = true
			out = append(out, Pair{a.ID, best})
		case !a.OnFold() && alike(g, Pair{a.ID, a.ID}) > 0:
			out = append(out, Pair{a.ID, a.ID})
		}
	}
	return inOrder(g, out)
}

// alike returns the share of the outlines that agree, 0 where they are no twins.
func alike(g pattern.Garment, pair Pair) float64 {
	t, err := Compare(g, pair)
	if err != nil || t.Alike < alikeWhole {
		return 0
	}
	for _, e := range t.Edges {
		if e.LengthMM >= shortMM && e.Alike < alikeEdge {
			return 0
		}
	}
	return t.Alike
}

// inOrder sorts pairs, and the two of each, as the garment lists its pieces.
func inOrder(g pattern.Garment, pairs []Pair) []Pair {
	at := map[string]int{}
	for i, p := range g.Pieces {
		at[p.ID] = i
	}
	for i, p := range pairs {
		if at[p.B] < at[p.A] {
			pairs[i] = Pair{p.B, p.A}
		}
	}
	slices.SortFunc(pairs, func(p, q Pair) int { return at[p.A] - at[q.A] })
	return pairs
}
