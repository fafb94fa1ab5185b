package calib

import (
	"fmt"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// Options says what is known beside the photo. The zero value is usable.
type Options struct {
	// PrintScale is the true over the drawn size of the printed cards, across
	// and up the sheet, as the two printed rulers measure. 0.8 to 1.2; 0 means
	// not measured, and 1 is taken.
	PrintScale [2]float64
	// PrintScaleSigma is the standard uncertainty of PrintScale, a ratio. Default
	// 0.0033 where PrintScale is given (150 mm read to half a millimetre), else
	// 0.005 (what printers are commonly off; from memory).
	PrintScaleSigma [2]float64
	// ThicknessMM is the height of the cloth's upper face above the cards, in
	// mm. Default 0.6; negative means none (a paper pattern).
	ThicknessMM float64
	// ThicknessSigmaMM is its standard uncertainty in mm. Default 0.2 where
	// ThicknessMM is not given (shirting is 0.3, denim 1; from memory), else
	// 0.1.
	ThicknessSigmaMM float64
}

// Defaults of Options.
const (
	defaultThicknessMM  = 0.6
	sigmaThicknessMM    = 0.2
	sigmaThicknessGiven = 0.1
	sigmaPrint          = 0.005
	sigmaPrintMeasured  = 0.0033
	minSaddles          = 2
	minSigmaPx          = 0.01 // no point is trusted more than this
	maxScaleOff         = 0.2
)

// check says what of the options makes no sense.
func (o Options) check() error {
	for _, s := range o.PrintScale {
		if s != 0 && !(math.Abs(s-1) <= maxScaleOff) {
			return fmt.Errorf("a print scale of %v cannot be: give measured over drawn length, 0.8 to 1.2", s)
		}
	}
	for _, v := range [4]float64{o.ThicknessMM, o.ThicknessSigmaMM, o.PrintScaleSigma[0], o.PrintScaleSigma[1]} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%v is no measure", v)
		}
	}
	return nil
}

// ratioSigma returns how well half the logarithm of the print's scale across over
// that up is known beforehand.
func (o Options) ratioSigma() float64 {
	if o.PrintScale == [2]float64{} {
		return sigmaRatio
	}
	f := o.filled()
	return max(sigmaRatio/2, math.Hypot(f.PrintScaleSigma[0], f.PrintScaleSigma[1])/2)
}

// filled returns the options with defaults in place of what was not given.
func (o Options) filled() Options {
	for k, s := range o.PrintScale {
		if s == 0 {
			o.PrintScale[k] = 1
		}
		switch {
		case o.PrintScaleSigma[k] > 0:
		case s != 0:
			o.PrintScaleSigma[k] = sigmaPrintMeasured
		default:
			o.PrintScaleSigma[k] = sigmaPrint
		}
	}
	given := o.ThicknessMM != 0
	switch {
	case !given:
		o.ThicknessMM = defaultThicknessMM
	case o.ThicknessMM < 0:
		o.ThicknessMM = 0
	}
	if o.ThicknessSigmaMM <= 0 {
		o.ThicknessSigmaMM = sigmaThicknessMM
		if given {
			o.ThicknessSigmaMM = min(sigmaThicknessGiven, o.ThicknessMM)
		}
	}
	return o
}

// Solve finds lens, camera, plane and the cards' places together, by robust
// least squares over the saddle points (and, weighing little, the tag corners)
// of all cards, with what is commonly known of lenses as expectation. Cards that
// do not lie flat are left out and named. dets come from card.Detect. Of p, only
// size and focal length are used, and its sharpness where there is no card. It
// refuses with CodeNoCard when there is nothing to go by, CodeCards when the
// cards contradict each other, CodeOblique and CodeBlurred when nothing could be
// measured; options that make no sense are a plain error.
//
// Method: bundle adjustment with self-calibration on a plane (Triggs et al.,
// Bundle Adjustment, LNCS 1883, 2000; Zhang 2000 for what planes say of a lens).
func Solve(p *vision.Photo, dets []card.Detection, opt Options) (*Calibration, []geometry.Finding, error) {
	if err := opt.check(); err != nil {
		return nil, nil, err
	}
	dets = sane(dets)
	pr := newProblem(p, dets, opt)
	opt = opt.filled()
	if len(pr.use) == 0 {
		return nil, nil, refuseNoCard(p, dets)
	}
	if err := refuseBlurred(dets, pr.use); err != nil {
		return nil, nil, err
	}
	best, ok := pr.solve(dets)
	if !ok {
		return nil, nil, refuseCards()
	}
	kept := best.dropLoose(dets)
	if err := kept.refuse(dets); err != nil {
		return nil, nil, err
	}
	c, ok := kept.calibration(dets, opt)
	if !ok {
		return nil, nil, refuseCards()
	}
	return c, c.findings(dets, kept), nil
}

// sane returns the detections without points that are not finite.
func sane(dets []card.Detection) []card.Detection {
	out := slices.Clone(dets)
	for i := range out {
		for k := range 4 {
			for _, o := range [2]*card.Observed{&out[i].Tag[k], &out[i].Saddles[k]} {
				// Differences of far-off coordinates lose all digits.
				if !(math.Abs(o.At.X)+math.Abs(o.At.Y) < 1e6) || !(o.SigmaPx > 0) || math.IsInf(o.SigmaPx, 0) {
					*o = card.Observed{}
				}
			}
		}
	}
	return out
}

// newProblem states the problem for all detections that show enough.
func newProblem(p *vision.Photo, dets []card.Detection, opt Options) *problem {
	pr := &problem{width: p.Width, height: p.Height, focal: p.FocalPx, scale: opt.filled().PrintScale}
	pr.sigma = [shared]float64{
		parF: sigmaHint, parK1: sigmaK1, parK2: sigmaK2, parP1: sigmaP, parP2: sigmaP,
		parRatio: opt.ratioSigma(), parInset: sigmaInset,
	}
	pr.sigma[parCx] = sigmaMid * float64(max(p.Width, p.Height))
	pr.sigma[parCy] = pr.sigma[parCx]
	pr.hinted = p.FocalPx > 0 && !math.IsInf(p.FocalPx, 0)
	if !pr.hinted {
		pr.focal = usualMM / 43.27 * math.Hypot(float64(p.Width), float64(p.Height))
		pr.sigma[parF] = sigmaGuess
	}
	for i, d := range dets {
		if saddles(d) < minSaddles {
			continue
		}
		slot := len(pr.use)
		pr.use = append(pr.use, i)
		for k := range 4 {
			if o := d.Saddles[k]; o.SigmaPx > 0 {
				pr.obs = append(pr.obs, observation{i, slot, card.SaddlePoint(k), o.At, vision.Pixel{}, max(o.SigmaPx, minSigmaPx)})
			}
			if o := d.Tag[k]; o.SigmaPx > 0 {
				pr.obs = append(pr.obs, observation{i, slot, card.TagCorner(k), o.At, inward(d, k), max(o.SigmaPx, minSigmaPx)})
			}
		}
	}
	return pr
}

// saddles returns how many saddle points of a card were seen.
func saddles(d card.Detection) (n int) {
	for _, s := range d.Saddles {
		if s.SigmaPx > 0 {
			n++
		}
	}
	return
}

// Rounds of adjustment: to tell good starting points from bad ones, and to
// finish.
const (
	tryRounds    = 12
	finishRounds = 60
)

// solve returns the best solution for all cards. A focal length in the file that
// the cards contradict is not believed: the photo was cropped or zoomed.
func (pr *problem) solve(dets []card.Detection) (best start, ok bool) {
	factors := []float64{1, 0.6, 1.7}
	if pr.hinted {
		best, ok = pr.search(dets, factors[:1])
		if ok && math.Abs(best.state.shared[parF]) <= hintSigmas*sigmaHint {
			return best, true
		}
		free := *pr
		free.sigma[parF] = sigmaGuess
		pr = &free
	}
	return pr.search(dets, factors)
}

// search adjusts from several starting points (factors to the focal length) and
// finishes the best: the loss has local minima in focal length against tilt and
// in the two poses of a plane, most of all with few cards.
func (pr *problem) search(dets []card.Detection, factors []float64) (best start, ok bool) {
	least := math.Inf(1)
	for _, k := range factors {
		for i, st := range pr.guess(dets, k*pr.focal) {
			if i > 0 && len(pr.use) > 2 {
				break
			}
			s, cost := st.problem.adjust(st.state, tryRounds)
			if cost < least {
				best, least, ok = start{st.problem, s}, cost, true
			}
		}
	}
	if !ok {
		return best, false
	}
	best.state, _ = best.problem.adjust(best.state, finishRounds)
	if pr, worse := best.problem.rescale(best.state); worse {
		best.problem = pr
		best.state, _ = pr.adjust(best.state, finishRounds)
	}
	return best, true
}

// When a card counts as not lying flat: leaving it out improves the fit of the
// others looseRatio times more than chance would, and its own points miss by
// looseMM. Tuned on simulations of flat and lifted cards.
const (
	looseRatio = 12.0
	looseMM    = 0.06
	minPlaces  = 3 // with fewer cards nothing says which one is wrong
)

// solved is a solution of the cards that lie flat, and the cameras that the
// others give without each of the used cards.
type solved struct {
	start
	apart map[int]start
}

// dropLoose leaves out cards that do not lie flat, the worst one first.
func (st start) dropLoose(dets []card.Detection) solved {
	out := solved{start: st}
	for {
		out.apart = map[int]start{}
		pr := out.problem
		chi2, _, _ := pr.misfit(out.state)
		worst, most := -1, looseRatio
		for _, d := range pr.use {
			if len(pr.use) == 1 {
				break
			}
			q := pr.reduce(out.state, without(pr.use, d))
			s, _ := q.adjust(out.state, finishRounds)
			out.apart[d] = start{q, s}
			rest, _, n := q.misfit(s)
			freedom := max(4, float64(2*n-3*len(q.use)-6))
			gain := (chi2 - rest) / 5 / max(1, rest/freedom)
			if gain > most && out.apart[d].missMM(dets[d]) > looseMM {
				worst, most = d, gain
			}
		}
		if worst < 0 || len(pr.use) < minPlaces {
			return out
		}
		out.start = out.apart[worst]
	}
}

// missMM returns by how many mm the saddle points of a card that was not used
// miss their drawn places on the plane, root mean square after the best turn and
// move; infinite when it is not on the plane at all.
func (st start) missMM(d card.Detection) float64 {
	v := st.problem.pack(st.state)
	cam := st.problem.camera(v)
	var from, to []geometry.Point
	for i, o := range d.Saddles {
		if o.SigmaPx <= 0 {
			continue
		}
		p, ok := cam.Plane(o.At, 0)
		if !ok {
			return math.Inf(1)
		}
		from = append(from, st.problem.onPlane(v, geometry.Rigid{}, card.SaddlePoint(i)))
		to = append(to, p)
	}
	_, rms := rigidFit(from, to)
	return rms
}

// sides returns the distances in mm of neighbouring saddle points as the camera
// measures them on the plane, each over its true size times the drawn 64 mm.
func (st start) sides(d card.Detection) (mm []float64) {
	v := st.problem.pack(st.state)
	cam := st.problem.camera(v)
	for i, a := range d.Saddles {
		k := (i + 1) % 4
		b := d.Saddles[k]
		p, okA := cam.Plane(a.At, 0)
		q, okB := cam.Plane(b.At, 0)
		if a.SigmaPx <= 0 || b.SigmaPx <= 0 || !okA || !okB {
			continue
		}
		drawn := st.problem.onPlane(v, geometry.Rigid{}, card.SaddlePoint(i)).
			Dist(st.problem.onPlane(v, geometry.Rigid{}, card.SaddlePoint(k)))
		mm = append(mm, p.Dist(q)/drawn*2*card.SaddleMM)
	}
	return mm
}
