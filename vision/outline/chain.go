package outline

import "math"

// chain finds the cheapest closed path through n columns of m states. cost holds
// n rows of m; a step from state a to state b of the next column costs
// bend[|a-b|], and steps longer than len(bend)-1 are not allowed.
type chain struct {
	n, m int
	cost []float32
	bend []float32
}

// path returns the state of each column on the cheapest closed path found. The
// ring is cut where an open path, run first, is least disturbed by the cut: half
// way round; the second run starts and ends in the state found there.
func (c *chain) path() []int {
	open := c.viterbi(0, -1)
	cut := c.n / 2
	return c.viterbi(cut, open[cut])
}

// viterbi runs once round from column start. With pin >= 0 the path starts in
// that state and must come back to it.
func (c *chain) viterbi(start, pin int) []int {
	n, m := c.n, c.m
	from := make([]int16, n*m)
	cur, next := make([]float32, m), make([]float32, m)
	for k := range cur {
		cur[k] = c.cost[start*m+k]
		if pin >= 0 && k != pin {
			cur[k] = float32(math.Inf(1))
		}
	}
	for i := 1; i <= n; i++ {
		col := (start + i) % n
		row, back := c.cost[col*m:col*m+m], from[(i-1)*m:i*m]
		c.relax(cur, next, back)
		for k := range next {
			next[k] += row[k]
		}
		cur, next = next, cur
	}
	best := pin
	if pin < 0 {
		best = argmin(cur)
	}
	out := make([]int, n)
	for i := n; i >= 1; i-- {
		out[(start+i)%n] = best
		best = int(from[(i-1)*m+best])
	}
	return out
}

// relax sets next[k] to the least cur[j] + bend[|j-k|] and back[k], where it is
// not nil, to that j.
func (c *chain) relax(cur, next []float32, back []int16) {
	reach := len(c.bend) - 1
	for k := range next {
		lo, hi := max(0, k-reach), min(len(cur)-1, k+reach)
		best, arg := cur[k]+c.bend[0], k
		for j := lo; j <= hi; j++ {
			d := j - k
			if d < 0 {
				d = -d
			}
			if v := cur[j] + c.bend[d]; v < best {
				best, arg = v, j
			}
		}
		next[k] = best
		if back != nil {
			back[k] = int16(arg)
		}
	}
}

// rival returns for each column how much dearer the best closed path is that
// passes it more than apart states away from the given path (min-marginals, by
// messages sent round the ring in both directions).
func (c *chain) rival(path []int, apart int) []float32 {
	n, m := c.n, c.m
	fwd := c.messages(1)
	bwd := c.messages(-1)
	out := make([]float32, n)
	for i := range out {
		at := func(k int) float32 { return fwd[i*m+k] + bwd[i*m+k] + c.cost[i*m+k] }
		best := float32(math.Inf(1))
		for k := range m {
			if k < path[i]-apart || k > path[i]+apart {
				best = min(best, at(k))
			}
		}
		out[i] = best - at(path[i])
	}
	return out
}

// messages returns for every column the least cost of arriving at each of its
// states from the columns before it (dir 1) or after it (dir -1), up to a
// constant a column. Two rounds: the first only warms up.
func (c *chain) messages(dir int) []float32 {
	n, m := c.n, c.m
	out := make([]float32, n*m)
	cur := make([]float32, m)
	for i := range 2 * n {
		col := ((i*dir)%n + n) % n
		prev := ((col-dir)%n + n) % n
		for k := range cur {
			cur[k] = out[prev*m+k] + c.cost[prev*m+k]
		}
		msg := out[col*m : col*m+m]
		c.relax(cur, msg, nil)
		low := msg[argmin(msg)]
		for k := range msg {
			msg[k] -= low
		}
	}
	return out
}

// argmin returns the index of the smallest value.
func argmin(v []float32) int {
	best := 0
	for k := range v {
		if v[k] < v[best] {
			best = k
		}
	}
	return best
}
