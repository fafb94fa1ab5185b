package sheet

import (
	"fmt"
	"slices"
	"strings"

	"secondcut/geometry/pattern"
)

// MakingStep is a step of the work.
type MakingStep struct {
	Text string `json:"text"`
	// Why says what it has to wait for; empty where it waits for nothing.
	Why string `json:"why,omitempty"`
}

// job is a step before it has its place: a seam or the finish of an edge.
type job struct {
	name  string
	kind  pattern.FinishKind // seam for seams
	text  string             // of a finish; a seam has its name alone
	why   string
	after []int // jobs that must be done before
}

// steps orders what is to be sewn: as early as it can be, in the order of the file. What
// waits for what follows from the pattern alone: a hem, casing, facing or binding for the
// seams that end in it, and a seam over two pieces for the seam that joins them there.
func (b maker) steps() []MakingStep {
	out := b.flatWork()
	jobs := b.jobs()
	done := make([]bool, len(jobs))
	for range jobs {
		var ready []int
		for i, j := range jobs {
			if !done[i] && !slices.ContainsFunc(j.after, func(k int) bool { return !done[k] }) {
				ready = append(ready, i)
			}
		}
		if len(ready) == 0 {
			break // seams that wait for each other: the file is odd, the rest is left to the person
		}
		out = append(out, atOnce(jobs, ready)...)
		for _, i := range ready {
			done[i] = true
		}
	}
	return append(out, b.threading()...)
}

// atOnce makes steps of jobs that can be done at a time: seams in one step, then
// finishes of one kind that wait for the same.
func atOnce(jobs []job, ready []int) []MakingStep {
	var out []MakingStep
	for _, i := range ready {
		j := jobs[i]
		names := func(list []int) string {
			var s []string
			for _, k := range list {
				s = append(s, jobs[k].name)
			}
			return strings.Join(s, ", ")
		}
		step := MakingStep{Text: j.text + ": " + j.name + "."}
		if len(j.after) > 0 {
			step.Why = fmt.Sprintf("After %s, %s.", names(j.after), j.why)
		}
		alike := slices.IndexFunc(out, func(o MakingStep) bool { return o.Why == step.Why && strings.HasPrefix(o.Text, j.text+": ") })
		if alike < 0 {
			out = append(out, step)
			continue
		}
		out[alike].Text = strings.TrimSuffix(out[alike].Text, ".") + ", " + j.name + "."
	}
	return out
}

// jobs lists seams, then the finishes of edges.
func (b maker) jobs() []job {
	var out []job
	for _, s := range b.g.SeamPairs {
		out = append(out, job{name: s.Name, kind: pattern.FinishSeam, text: "Sew", why: "since it runs across"})
	}
	for i, s := range b.g.SeamPairs {
		for _, side := range [][]pattern.Run{s.A, s.B} {
			for k := 1; k < len(side); k++ {
				out[i].after = append(out[i].after, b.joining(side[k-1], side[k])...)
			}
		}
		slices.Sort(out[i].after)
		out[i].after = slices.Compact(out[i].after)
	}
	for _, p := range b.g.Pieces {
		for k, e := range p.Edges {
			j, ok := finishJob(p, e)
			if !ok || b.sewn(p.ID, e.ID) || e.Finish.Kind == pattern.FinishFaced && !b.inSeam(p.ID) {
				continue // a facing is sewn on where its garment piece is faced
			}
			if b.patch(p) != "" {
				continue
			}
			n := len(p.Edges)
			for s, pair := range b.g.SeamPairs {
				for _, beside := range []string{p.Edges[(k+n-1)%n].ID, p.Edges[(k+1)%n].ID} {
					if has(pair, p.ID, beside) && !slices.Contains(j.after, s) {
						j.after = append(j.after, s)
					}
				}
			}
			out = append(out, j)
		}
	}
	return out
}

// finishJob is the work on an edge outside the seams.
func finishJob(p pattern.Piece, e pattern.Edge) (job, bool) {
	if e.Finish == nil {
		return job{}, false
	}
	j := job{name: p.Name + " " + e.Name, kind: e.Finish.Kind, why: "so that the ends of the seam are caught in it"}
	switch e.Finish.Kind {
	case pattern.FinishHem:
		j.text = "Turn and sew the hem"
	case pattern.FinishCasing:
		j.text = "Fold and sew the casing, leaving an opening"
	case pattern.FinishFaced:
		j.text = "Face the edge"
	case pattern.FinishBound:
		j.text = "Bind the edge"
	default:
		return job{}, false
	}
	return j, true
}

// joining returns the seams that join two runs where one goes over into the other.
func (b maker) joining(r, next pattern.Run) []int {
	from, to := b.beside(r, true), b.beside(next, false)
	var out []int
	for i, s := range b.g.SeamPairs {
		if r.Piece != next.Piece && has(s, r.Piece, from) && has(s, next.Piece, to) {
			out = append(out, i)
		}
	}
	return out
}

// beside returns the edge that a walked edge meets at its end, or at its start.
func (b maker) beside(r pattern.Run, atEnd bool) string {
	p, _ := b.g.Piece(r.Piece)
	k, n := p.Edge(r.Edge), len(p.Edges)
	if atEnd != r.Reverse {
		return p.Edges[(k+1)%n].ID
	}
	return p.Edges[(k+n-1)%n].ID
}

func has(s pattern.SeamPair, piece, edge string) bool {
	return slices.ContainsFunc(slices.Concat(s.A, s.B), func(r pattern.Run) bool { return r.Piece == piece && r.Edge == edge })
}

// flatWork is what is done while pieces lie flat: marks, interfacing, and pieces that
// another one has marks for, such as a patch pocket.
func (b maker) flatWork() []MakingStep {
	out := []MakingStep{{Text: "Transfer all marks before pieces are moved, and chalk each letter on the wrong side."}}
	var stiff []string
	for _, p := range b.g.Pieces {
		if slices.ContainsFunc(cuts(p), func(c pattern.Cut) bool { return b.clothFor(c.Cloth).Use == pattern.ClothInterfacing }) {
			stiff = append(stiff, p.Name)
		}
	}
	if len(stiff) > 0 {
		out = append(out, MakingStep{Text: "Fuse or baste the interfacing to " + strings.Join(stiff, ", ") + "."})
	}
	for _, p := range b.g.Pieces {
		hole := slices.ContainsFunc(p.Marks, func(m pattern.Mark) bool { return m.Kind == pattern.MarkButtonhole && m.Detached == "" })
		if hole && slices.ContainsFunc(p.Edges, func(e pattern.Edge) bool { return e.Finish != nil && e.Finish.Kind == pattern.FinishCasing }) {
			out = append(out, MakingStep{Text: "Work the buttonhole of " + p.Name + ".", Why: "Before its casing is folded over."})
		}
		if onto := b.patch(p); onto != "" {
			out = append(out, MakingStep{
				Text: fmt.Sprintf("Hem %s, turn in its other edges, and sew it onto %s where it is marked.", p.Name, onto),
				Why:  "While " + onto + " lies flat.",
			})
		}
	}
	return out
}

// patch names the piece that a piece in no seam is sewn onto: one that has holes marked
// with words of its name, such as a pocket. Empty where there is none.
func (b maker) patch(p pattern.Piece) string {
	if b.inSeam(p.ID) {
		return ""
	}
	for _, q := range b.g.Pieces {
		for _, m := range q.Marks {
			if q.ID != p.ID && len(m.Text) > 2 && m.Kind == pattern.MarkDrill && strings.Contains(strings.ToLower(p.Name), strings.ToLower(m.Text)) {
				return q.Name
			}
		}
	}
	return ""
}

// threading comes last: elastic and cord go into casings that are sewn.
func (b maker) threading() []MakingStep {
	var out []MakingStep
	for _, n := range b.notions() {
		what := strings.Fields(n.Text)[0]
		out = append(out, MakingStep{
			Text: fmt.Sprintf("Thread the %s into %s and close the opening.", what, n.Name),
			Why:  "After its casing is sewn.",
		})
	}
	return out
}
