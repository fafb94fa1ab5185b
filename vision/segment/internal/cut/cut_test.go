package cut

import (
	"math/rand/v2"
	"testing"
)

// problem is a small grid with random costs, kept beside the graph so that the
// cost of any division can be added up independently.
type problem struct {
	w, h int
	keep []bool
	side [][2]int32
	link [][directions]int32 // only the even directions are set
}

func random(r *rand.Rand, w, h int) problem {
	p := problem{w, h, make([]bool, w*h), make([][2]int32, w*h), make([][directions]int32, w*h)}
	for i := range p.keep {
		p.keep[i] = r.IntN(10) > 0
		p.side[i] = [2]int32{r.Int32N(20), r.Int32N(20)}
		if r.IntN(4) == 0 {
			p.side[i] = [2]int32{}
		}
		for d := 0; d < directions; d += 2 {
			p.link[i][d] = r.Int32N(8)
		}
	}
	return p
}

func (p problem) graph() (*Graph, []int32) {
	g, index := New(p.w, p.h, func(i int) bool { return p.keep[i] })
	for i, k := range index {
		if k < 0 {
			continue
		}
		g.SetSides(k, p.side[i][0], p.side[i][1])
		for d := 0; d < directions; d += 2 {
			g.SetLink(k, d, p.link[i][d])
		}
	}
	return g, index
}

// cost adds up what a division costs; in tells which pixels are on the source's
// side.
func (p problem) cost(in func(int) bool) int64 {
	var c int64
	for i := range p.keep {
		if !p.keep[i] {
			continue
		}
		if in(i) {
			c += int64(p.side[i][0])
		} else {
			c += int64(p.side[i][1])
		}
		for d := 0; d < directions; d += 2 {
			x, y := i%p.w+Offsets[d][0], i/p.w+Offsets[d][1]
			if x < 0 || y < 0 || x >= p.w || y >= p.h || !p.keep[y*p.w+x] {
				continue
			}
			if in(i) != in(y*p.w+x) {
				c += int64(p.link[i][d])
			}
		}
	}
	return c
}

// Every division of a small grid is tried.
func TestCheapestOfAll(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 400 {
		p := random(r, 1+r.IntN(4), 1+r.IntN(3))
		best := int64(1) << 60
		for set := range 1 << len(p.keep) {
			best = min(best, p.cost(func(i int) bool { return set>>i&1 == 1 }))
		}
		g, index := p.graph()
		got := g.Solve()
		own := p.cost(func(i int) bool { return index[i] >= 0 && g.Source(index[i]) })
		if got != best || own != best {
			t.Fatalf("%dx%d: flow %d, cost of the division %d, least of all %d", p.w, p.h, got, own, best)
		}
	}
}

// The flow is a lower bound of every division's cost, so that a division that
// costs as much as the flow is proof of both (duality), at any size.
func TestFlowEqualsCut(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 30 {
		p := random(r, 5+r.IntN(30), 5+r.IntN(30))
		g, index := p.graph()
		flow := g.Solve()
		if own := p.cost(func(i int) bool { return index[i] >= 0 && g.Source(index[i]) }); own != flow {
			t.Fatalf("flow %d, cost of the division %d", flow, own)
		}
		if other := independentFlow(p); other != flow {
			t.Fatalf("flow %d, by shortest augmenting paths %d", flow, other)
		}
	}
}

// independentFlow is the method of Edmonds and Karp (1972) on a matrix-free edge
// list: slow and short.
func independentFlow(p problem) int64 {
	type edge struct {
		to  int
		cap int64
	}
	n := p.w * p.h
	s, t := n, n+1
	var edges []edge
	out := make([][]int, n+2)
	join := func(a, b int, there, back int64) {
		out[a] = append(out[a], len(edges))
		out[b] = append(out[b], len(edges)+1)
		edges = append(edges, edge{b, there}, edge{a, back})
	}
	for i := range p.keep {
		if !p.keep[i] {
			continue
		}
		join(s, i, int64(p.side[i][1]), 0)
		join(i, t, int64(p.side[i][0]), 0)
		for d := 0; d < directions; d += 2 {
			x, y := i%p.w+Offsets[d][0], i/p.w+Offsets[d][1]
			if x >= 0 && y >= 0 && x < p.w && y < p.h && p.keep[y*p.w+x] {
				join(i, y*p.w+x, int64(p.link[i][d]), int64(p.link[i][d]))
			}
		}
	}
	var flow int64
	for {
		via := make([]int, n+2)
		for i := range via {
			via[i] = -1
		}
		queue := []int{s}
		for len(queue) > 0 && via[t] < 0 {
			a := queue[0]
			queue = queue[1:]
			for _, e := range out[a] {
				if b := edges[e].to; edges[e].cap > 0 && via[b] < 0 && b != s {
					via[b] = e
					queue = append(queue, b)
				}
			}
		}
		if via[t] < 0 {
			return flow
		}
		push := int64(1) << 60
		for b := t; b != s; b = edges[via[b]^1].to {
			push = min(push, edges[via[b]].cap)
		}
		for b := t; b != s; b = edges[via[b]^1].to {
			edges[via[b]].cap -= push
			edges[via[b]^1].cap += push
		}
		flow += push
	}
}

func BenchmarkSolve(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	p := random(r, 320, 240)
	for i := range p.keep {
		p.keep[i] = true
		x, y := i%320-160, i/320-120
		shift := int32(3)
		if x*x+y*y < 80*80 {
			shift = -3
		}
		p.side[i] = [2]int32{max(0, 10+shift+r.Int32N(21)-10), max(0, 10-shift+r.Int32N(21)-10)}
		for d := range directions {
			p.link[i][d] = 4 + r.Int32N(8)
		}
	}
	for b.Loop() {
		g, _ := p.graph()
		g.Solve()
	}
}
