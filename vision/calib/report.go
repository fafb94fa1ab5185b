package calib

import (
	"fmt"
	"math"

	"secondcut/vision"
	"secondcut/vision/card"
)

// calibration puts a solution into the form that others use; ok is false when
// the cards leave something so open that nothing can be said of its doubt.
func (k *solved) calibration(dets []card.Detection, opt Options) (c *Calibration, ok bool) {
	pr := k.problem
	_, px2, n := pr.misfit(k.state)
	c = &Calibration{
		Camera: pr.camera(pr.pack(k.state)), Width: pr.width, Height: pr.height,
		ThicknessMM: opt.ThicknessMM, RMSPx: math.Sqrt(px2 / float64(max(n, 1))),
	}
	if len(pr.cards()) > 0 {
		across, up := opt.PrintScaleSigma[0]/opt.PrintScale[0], opt.PrintScaleSigma[1]/opt.PrintScale[1]
		c.PrintUncertaintyPct = 100 * math.Sqrt((across*across+up*up)/2)
	}
	for i, t := range pr.targets {
		if t.reference != nil {
			c.things = append(c.things, thing{t.reference, k.state.places[i]})
		}
	}
	c.Cards = []vision.CardReport{} // a list in files, also when it is empty
	for i, d := range dets {
		c.Cards = append(c.Cards, k.card(i, d, &c.Camera))
	}
	height := opt.ThicknessSigmaMM
	if len(pr.use) < minPlaces {
		height = math.Hypot(height, liftSigmaMM)
	}
	if c.doubt, ok = k.newDoubt(height); !ok {
		return nil, false
	}
	c.setAlign()
	c.ScaleUncertaintyPct = c.scalePct()
	return c, true
}

// liftSigmaMM is how far a card lies off the surface, as a standard uncertainty,
// where no others can tell: printer paper that was cut by hand curls by half a
// millimetre and more (from memory).
const liftSigmaMM = 0.5

// card reports on one detection.
func (k *solved) card(i int, d card.Detection, cam *vision.Camera) vision.CardReport {
	r := vision.CardReport{ID: d.ID}
	t := k.problem.targets[i]
	place, seen := settle(cam, t)
	judge := k.start
	for _, u := range k.problem.use {
		if u == i {
			r.Used, place = true, k.state.places[i]
		}
	}
	if apart, ok := k.apart[i]; ok {
		judge = apart
	}
	if r.Used || seen {
		r.Centre = place.Move
		r.TurnDeg = math.Remainder(place.Turn, 2*math.Pi) * 180 / math.Pi
	}
	sides := judge.sides(i)
	for _, s := range sides {
		r.MeasuredMM += s / float64(len(sides))
	}
	if !r.Used {
		r.Why = why(t, sides, r.MeasuredMM, cam.Centre()[2])
	}
	return r
}

// why says in plain words why a card was left out. A card nearer to the camera
// looks larger by its height over that of the camera.
func why(t target, sides []float64, mean, cameraMM float64) string {
	const drawn = 2 * card.SaddleMM
	if t.finePoints() < minSaddles {
		return "fewer than two of its corner crosses can be seen; it is covered, bent or in glare"
	}
	var spread float64
	for _, s := range sides {
		spread = max(spread, math.Abs(s-mean))
	}
	lift := cameraMM * (1 - drawn/mean)
	switch {
	case len(sides) == 0:
		return "it does not fit the other cards"
	case spread > math.Abs(mean-drawn) || lift < 0:
		return fmt.Sprintf("it is bent or curled: its sides measure up to %.2f mm off", spread+math.Abs(mean-drawn))
	}
	return fmt.Sprintf("it does not lie on the surface: it looks %.1f %% too large, as if lifted by %.0f mm", 100*(mean/drawn-1), math.Max(1, lift))
}
