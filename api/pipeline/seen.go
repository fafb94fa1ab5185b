package pipeline

import (
	"math"

	"secondcut/geometry"
	"secondcut/geometry/fit"
	"secondcut/vision"
)

// seenOffMM is how far the raw edge that is kept may lie beside its samples, and
// seenStepMM how far apart its points may be: a thread is 0.2 mm thick or more.
const (
	seenOffMM  = 0.1
	seenStepMM = 20.0
)

// seen returns the raw edge of a ring, thinned, and what its clean edge leaves open.
func (s *Session) seen(r ring, clean fit.Result) vision.SeenEdge {
	out := vision.SeenEdge{Points: thinned(r.samples), Doubts: []vision.EdgeDoubt{}}
	for _, e := range clean.Edges {
		camera := math.Max(s.cal.PointSigma(clean.Path[e.From].At), s.cal.PointSigma(clean.Path[e.To].At))
		out.Doubts = append(out.Doubts, vision.EdgeDoubt{
			From: e.From, To: e.To,
			UncertaintyMM: ceil(math.Hypot(e.UncertaintyMM, gauss95*camera)),
			FrayMM:        math.Round(e.FrayMM*100) / 100,
		})
	}
	return out
}

// ceil rounds up to a hundredth.
func ceil(mm float64) float64 { return math.Ceil(mm*100) / 100 }

// thinned returns the samples less those that lie on the chords of the others.
func thinned(samples []fit.Sample) geometry.Polyline {
	out := geometry.Polyline{}
	for i := 0; i < len(samples); {
		out = append(out, hundredths(samples[i].At))
		next := i + 1
		for next+1 < len(samples) && onChord(samples[i:next+2]) {
			next++
		}
		i = next
	}
	return out
}

// onChord reports whether samples lie on the chord of the first and the last one.
func onChord(samples []fit.Sample) bool {
	a, b := samples[0].At, samples[len(samples)-1].At
	l := a.Dist(b)
	if l > seenStepMM || l == 0 {
		return false
	}
	for _, s := range samples {
		if math.Abs(b.Sub(a).Cross(s.At.Sub(a))) > seenOffMM*l {
			return false
		}
	}
	return true
}

func hundredths(p geometry.Point) geometry.Point {
	return geometry.Point{X: math.Round(p.X*100) / 100, Y: math.Round(p.Y*100) / 100}
}
