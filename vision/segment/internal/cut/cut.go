// Package cut finds the cheapest division of a pixel grid into two sides.
//
// Each node pays a cost for the side it is put on, and each pair of neighbours
// pays for being put on different sides. The least total cost equals the largest
// flow from a source to a sink through the same network (Ford and Fulkerson
// 1956), which is found by growing two search trees that are repaired rather
// than rebuilt after each push: Y. Boykov and V. Kolmogorov, An Experimental
// Comparison of Min-Cut/Max-Flow Algorithms for Energy Minimization in Vision,
// IEEE PAMI 26 (2004) 1124-1137.
package cut

// The eight neighbours of a pixel. A direction and its opposite differ in the
// lowest bit.
const (
	East = iota
	West
	South
	North
	SouthEast
	NorthWest
	SouthWest
	NorthEast
	directions
)

// Offsets are the steps (x right, y down) of the eight directions.
var Offsets = [directions][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, -1}, {-1, 1}, {1, -1}}

const (
	noParent int8 = -1 - iota
	terminal
	orphan
)

const (
	free int8 = iota
	source
	sink
)

const farAway = 1 << 30

// Graph is a set of grid pixels with costs: all costs, then Solve, then Source.
// After that it may be used again, with all costs set anew.
type Graph struct {
	nbr    []int32 // neighbour node at 8*node+direction, -1 where there is none
	cap    []int32 // what may still flow along that edge
	tcap   []int32 // positive: from the source, negative: to the sink
	tree   []int8
	parent []int8 // direction of the parent, or one of the constants above
	stamp  []int32
	dist   []int32
	next   []int32 // queue of active nodes; -1 not queued, own index at the end

	first, last int32
	orphans     []int32
	time        int32
	flow        int64
}

// New returns a graph with a node for each pixel of a width x height grid for
// which keep is true, and the index of each pixel's node, -1 where it has none.
func New(width, height int, keep func(pixel int) bool) (*Graph, []int32) {
	index := make([]int32, width*height)
	n := int32(0)
	for i := range index {
		index[i] = -1
		if keep(i) {
			index[i] = n
			n++
		}
	}
	g := &Graph{
		nbr: make([]int32, directions*n), cap: make([]int32, directions*n), tcap: make([]int32, n),
		tree: make([]int8, n), parent: make([]int8, n), stamp: make([]int32, n),
		dist: make([]int32, n), next: make([]int32, n), first: -1, last: -1,
	}
	for y := range height {
		for x := range width {
			if k := index[y*width+x]; k >= 0 {
				for d, o := range Offsets {
					g.nbr[int(k)*directions+d] = at(index, width, height, x+o[0], y+o[1])
				}
			}
		}
	}
	return g, index
}

func at(index []int32, width, height, x, y int) int32 {
	if x < 0 || y < 0 || x >= width || y >= height {
		return -1
	}
	return index[y*width+x]
}

// SetSides says what it costs to put the node on the source's side and on the
// sink's side. Costs must not be negative; their difference must stay below
// 2^30.
func (g *Graph) SetSides(node, costSource, costSink int32) {
	g.tcap[node] = costSink - costSource
	g.flow += int64(min(costSource, costSink))
}

// SetLink says what it costs to part the node from its neighbour in the
// direction, whichever way round. It does nothing where there is no neighbour.
func (g *Graph) SetLink(node int32, direction int, cost int32) {
	e := node*directions + int32(direction)
	if j := g.nbr[e]; j >= 0 {
		g.cap[e] = cost
		g.cap[j*directions+int32(direction^1)] = cost
	}
}

// Source reports, after Solve, whether the node lies on the source's side. Nodes
// that either side would take at the same cost lie on the sink's.
func (g *Graph) Source(node int32) bool { return g.tree[node] == source }

// Solve finds the cheapest division and returns its cost.
func (g *Graph) Solve() int64 {
	clear(g.tree)
	clear(g.stamp)
	g.first, g.last, g.time = -1, -1, 0
	for i := range g.tcap {
		g.parent[i], g.next[i] = noParent, -1
		switch {
		case g.tcap[i] > 0:
			g.tree[i] = source
		case g.tcap[i] < 0:
			g.tree[i] = sink
		default:
			continue
		}
		g.parent[i], g.dist[i] = terminal, 1
		g.activate(int32(i))
	}
	for i := g.pop(); i >= 0; {
		from, direction := g.grow(i)
		if direction < 0 {
			i = g.pop()
			continue
		}
		g.time++
		g.augment(from, direction)
		g.adopt()
		if g.parent[i] == noParent {
			i = g.pop()
		}
	}
	flow := g.flow
	g.flow = 0
	return flow
}

func (g *Graph) activate(i int32) {
	if g.next[i] >= 0 {
		return
	}
	g.next[i] = i
	if g.last >= 0 {
		g.next[g.last] = i
	} else {
		g.first = i
	}
	g.last = i
}

// pop returns the next active node that is still part of a tree, or -1.
func (g *Graph) pop() int32 {
	for g.first >= 0 {
		i := g.first
		if g.next[i] == i {
			g.first, g.last = -1, -1
		} else {
			g.first = g.next[i]
		}
		g.next[i] = -1
		if g.parent[i] != noParent {
			return i
		}
	}
	return -1
}

// grow takes the node's free neighbours into its tree. It stops where it meets
// the other tree and returns the edge that joins them, as seen from the source's
// side; direction is -1 when it met none.
func (g *Graph) grow(i int32) (from int32, direction int) {
	side := g.tree[i]
	for d := range directions {
		e := i*directions + int32(d)
		j := g.nbr[e]
		if j < 0 || !g.flows(side, e, j, d) {
			continue
		}
		switch {
		case g.tree[j] == free:
			g.tree[j] = side
			g.parent[j], g.stamp[j], g.dist[j] = int8(d^1), g.stamp[i], g.dist[i]+1
			g.activate(j)
		case g.tree[j] != side:
			if side == source {
				return i, d
			}
			return j, d ^ 1
		case g.stamp[j] <= g.stamp[i] && g.dist[j] > g.dist[i]+1:
			g.parent[j], g.stamp[j], g.dist[j] = int8(d^1), g.stamp[i], g.dist[i]+1
		}
	}
	return 0, -1
}

// flows reports whether the edge e from a node to j in direction d can carry
// flow away from the source's root, or towards the sink's.
func (g *Graph) flows(side int8, e, j int32, d int) bool {
	if side == source {
		return g.cap[e] > 0
	}
	return g.cap[j*directions+int32(d^1)] > 0
}

// augment pushes as much as the path through the edge can carry.
func (g *Graph) augment(from int32, direction int) {
	mid := from*directions + int32(direction)
	to := g.nbr[mid]
	push := g.cap[mid]
	i := from
	for ; g.parent[i] != terminal; i = g.up(i) {
		push = min(push, g.cap[g.upEdge(i)])
	}
	push = min(push, g.tcap[i])
	for i = to; g.parent[i] != terminal; i = g.up(i) {
		push = min(push, g.cap[i*directions+int32(g.parent[i])])
	}
	push = min(push, -g.tcap[i])

	g.cap[mid] -= push
	g.cap[to*directions+int32(direction^1)] += push
	for i = from; g.parent[i] != terminal; {
		up, e := g.up(i), g.upEdge(i)
		g.cap[i*directions+int32(g.parent[i])] += push
		g.cap[e] -= push
		if g.cap[e] == 0 {
			g.cutOff(i)
		}
		i = up
	}
	if g.tcap[i] -= push; g.tcap[i] == 0 {
		g.cutOff(i)
	}
	for i = to; g.parent[i] != terminal; {
		up, e := g.up(i), i*directions+int32(g.parent[i])
		g.cap[g.upEdge(i)] += push
		g.cap[e] -= push
		if g.cap[e] == 0 {
			g.cutOff(i)
		}
		i = up
	}
	if g.tcap[i] += push; g.tcap[i] == 0 {
		g.cutOff(i)
	}
	g.flow += int64(push)
}

// up returns the node's parent, upEdge the edge from that parent to the node.
func (g *Graph) up(i int32) int32 { return g.nbr[i*directions+int32(g.parent[i])] }

func (g *Graph) upEdge(i int32) int32 { return g.up(i)*directions + int32(g.parent[i]^1) }

func (g *Graph) cutOff(i int32) {
	g.parent[i] = orphan
	g.orphans = append(g.orphans, i)
}

// adopt finds a new parent for each orphan, or sets it free.
func (g *Graph) adopt() {
	for len(g.orphans) > 0 {
		i := g.orphans[len(g.orphans)-1]
		g.orphans = g.orphans[:len(g.orphans)-1]
		if !g.findParent(i) {
			g.release(i)
		}
	}
}

func (g *Graph) findParent(i int32) bool {
	side, best, found := g.tree[i], int32(farAway), -1
	for d := range directions {
		e := i*directions + int32(d)
		j := g.nbr[e]
		if j < 0 || g.tree[j] != side || !g.flows(3-side, e, j, d) {
			continue
		}
		if l := g.rootDistance(j); l < best {
			best, found = l, d
		}
	}
	if found < 0 {
		return false
	}
	g.parent[i], g.stamp[i], g.dist[i] = int8(found), g.time, best+1
	return true
}

// rootDistance returns how many steps lie between the node and its terminal, or
// farAway when its path ends in an orphan. The nodes passed are stamped, so that
// the next search through them is short.
func (g *Graph) rootDistance(j int32) int32 {
	steps, k := int32(0), j
	for g.stamp[k] != g.time {
		p := g.parent[k]
		if p == orphan || p == noParent {
			return farAway
		}
		if p == terminal {
			g.stamp[k], g.dist[k] = g.time, 1
			break
		}
		k = g.up(k)
		steps++
	}
	total := g.dist[k] + steps
	for l, k := total, j; g.stamp[k] != g.time; k, l = g.up(k), l-1 {
		g.stamp[k], g.dist[k] = g.time, l
	}
	return total
}

// release takes the node out of its tree; its children become orphans and the
// neighbours that could reach it again become active.
func (g *Graph) release(i int32) {
	side := g.tree[i]
	for d := range directions {
		e := i*directions + int32(d)
		j := g.nbr[e]
		if j < 0 || g.tree[j] != side {
			continue
		}
		if g.flows(3-side, e, j, d) {
			g.activate(j)
		}
		if p := g.parent[j]; p >= 0 && g.nbr[j*directions+int32(p)] == i {
			g.cutOff(j)
		}
	}
	g.tree[i], g.parent[i] = free, noParent
}

// Len returns the number of nodes.
func (g *Graph) Len() int { return len(g.tcap) }
