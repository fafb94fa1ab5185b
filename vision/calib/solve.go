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
	// References are things of known size that were pointed out in the photo,
	// for want of scale cards or beside them; see Reference. Default none.
	References []Reference
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
	all, err := targets(p, dets, opt.References)
	if err != nil {
		return nil, nil, err
	}
	return newProblem(p, all, opt).calibrate(p, dets, opt.filled())
}

// calibrate solves the problem that dets and the photo pose. Options are filled.
func (pr *problem) calibrate(p *vision.Photo, dets []card.Detection, opt Options) (*Calibration, []geometry.Finding, error) {
	if len(pr.use) == 0 {
		return nil, nil, refuseNoCard(p, dets)
	}
	if err := refuseBlurred(p, dets, pr.cards()); err != nil {
		return nil, nil, err
	}
	best, ok := pr.solve()
	if !ok {
		return nil, nil, refuseCards()
	}
	kept := best.dropLoose()
	if err := kept.refuse(); err != nil {
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

// newProblem states the problem for all targets that show enough.
func newProblem(p *vision.Photo, all []target, opt Options) *problem {
	pr := &problem{targets: all, use: usable(all), width: p.Width, height: p.Height, scale: opt.filled().PrintScale}
	pr.sigma = [shared]float64{
		parF: sigmaHint, parK1: sigmaK1, parK2: sigmaK2, parP1: sigmaP, parP2: sigmaP,
		parRatio: opt.ratioSigma(), parInset: sigmaInset,
	}
	pr.sigma[parCx] = sigmaMid * float64(max(p.Width, p.Height))
	pr.sigma[parCy] = pr.sigma[parCx]
	pr.focal = focalOr(p, usualMM)
	if pr.hinted = pr.focal == p.FocalPx; !pr.hinted {
		pr.sigma[parF] = sigmaGuess
	}
	for slot, d := range pr.use {
		for _, k := range all[d].points {
			pr.obs = append(pr.obs, observation{k, d, slot, all[d].height})
		}
	}
	return pr
}

// Rounds of adjustment: to tell hopeless starting points from others, to tell which
// of those is best, and to finish.
const (
	tryRounds     = 12
	contestRounds = 300
	finishRounds  = 60
	hopeful       = 10.0 // times the least cost after tryRounds
	byChance      = 2.0  // cost of a point that is off by chance alone: seldom more
)

// solve returns the best solution for all cards. A focal length in the file that
// the cards contradict is not believed: the photo was cropped or zoomed.
func (pr *problem) solve() (best start, ok bool) {
	factors := []float64{1, 0.6, 1.7}
	if pr.hinted {
		best, ok = pr.search(factors[:1])
		if ok && math.Abs(best.state.shared[parF]) <= hintSigmas*pr.sigma[parF] {
			return best, true
		}
		free := *pr
		free.sigma[parF] = sigmaGuess
		pr = &free
	}
	return pr.search(factors)
}

// search adjusts from several starting points (factors to the focal length): the
// loss has local minima in focal length against tilt and in the two poses of a
// plane, most of all with few cards. Which of them is the best shows late: along
// the valley to the true view of a single card, through a strong lens, a view that
// is far too oblique costs less for a hundred rounds. So where none fits as well as
// chance allows, all that are not hopeless are followed to where they end.
func (pr *problem) search(factors []float64) (best start, ok bool) {
	var tries []start
	var costs []float64
	for _, k := range factors {
		for i, st := range pr.guess(k * pr.focal) {
			if i > 0 && len(pr.use) > 2 {
				break
			}
			if s, cost := st.problem.adjust(st.state, tryRounds); cost < math.MaxFloat64 { // and a number
				tries, costs = append(tries, start{st.problem, s}), append(costs, cost)
			}
		}
	}
	if len(tries) == 0 {
		return best, false
	}
	rounds, least, within := finishRounds, math.Inf(1), hopeful*slices.Min(costs)
	if slices.Min(costs) > byChance*float64(len(pr.obs)) {
		rounds = contestRounds
	}
	for i, st := range tries {
		if costs[i] > within {
			continue
		}
		if s, cost := st.problem.adjust(st.state, rounds); cost < least {
			best, least = start{st.problem, s}, cost
		}
	}
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
	off   []int // references that contradict the rest
}

// dropLoose leaves out cards that do not lie flat, the worst one first.
func (st start) dropLoose() solved {
	st, off := st.dropReferences()
	out := solved{start: st, off: off}
	for {
		out.apart = map[int]start{}
		pr := out.problem
		chi2, _, _ := pr.misfit(out.state)
		worst, most := -1, looseRatio
		for _, d := range pr.cards() {
			if len(pr.use) == 1 {
				break
			}
			q := pr.reduce(out.state, without(pr.use, d))
			s, _ := q.adjust(out.state, finishRounds)
			out.apart[d] = start{q, s}
			rest, _, n := q.misfit(s)
			freedom := max(4, float64(2*n-3*len(q.use)-6))
			gain := (chi2 - rest) / 5 / max(1, rest/freedom)
			if gain > most && out.apart[d].missMM(d) > looseMM {
				worst, most = d, gain
			}
		}
		if worst < 0 || len(pr.cards()) < minPlaces {
			return out
		}
		out.start = out.apart[worst]
	}
}

// missMM returns by how many mm the precise points of a target that was not used
// miss their drawn places on the plane, root mean square after the best turn and
// move; infinite when it is not on the plane at all.
func (st start) missMM(d int) float64 {
	v := st.problem.pack(st.state)
	cam := st.problem.camera(v)
	var from, to []geometry.Point
	t := st.problem.targets[d]
	for _, k := range t.fine() {
		p, ok := cam.Plane(k.px, t.height)
		if !ok {
			return math.Inf(1)
		}
		from = append(from, st.problem.truly(v, d, k.at))
		to = append(to, p)
	}
	_, rms := rigidFit(from, to)
	return rms
}

// sides returns the distances in mm of a card's neighbouring saddle points as the
// camera measures them on the plane, each over its true size times the drawn
// 64 mm; where no neighbours were seen, those of opposite ones.
func (st start) sides(d int) (mm []float64) {
	var across []float64
	v := st.problem.pack(st.state)
	cam := st.problem.camera(v)
	fine := st.problem.targets[d].fine()
	for i, a := range fine {
		for _, b := range fine[i+1:] {
			p, okA := cam.Plane(a.px, 0)
			q, okB := cam.Plane(b.px, 0)
			drawn := st.problem.truly(v, d, a.at).Dist(st.problem.truly(v, d, b.at))
			switch side := p.Dist(q) / drawn * 2 * card.SaddleMM; {
			case !okA || !okB:
			case a.at.X != b.at.X && a.at.Y != b.at.Y:
				across = append(across, side)
			default:
				mm = append(mm, side)
			}
		}
	}
	if len(mm) == 0 {
		return across
	}
	return mm
}
