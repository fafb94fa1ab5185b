package calib

import (
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/card"
)

// Limits of what can be measured, and of what is worth a word.
const (
	refuseTiltDeg = 65.0 // the far side of a piece would be half as fine as the near one
	warnTiltDeg   = 35.0
	refuseBlurMM  = 1.5 // standard deviation: nothing finer than 4 mm is left
	warnBlurMM    = 0.5
	// Of the photo's longer side, where no card could be read. Tuned on sharp
	// photos of 12 MP (below 0.0015) and the same blurred until no card was read
	// (above 0.0018).
	refuseBlurShare = 0.00175
	refuseMissMM    = 0.5 // cards that miss each other by more lie in no plane
	warnMissMM      = 0.15
	warnScalePct    = 0.1
	gapShare        = 0.25 // of the photo's diagonal without a card round a corner of its middle
	hintSigmas      = 3.0  // by which the file's focal length may be off without a word
)

// refuseNoCard says why there is no card to go by: when the whole photo is
// blurred, that is the reason.
func refuseNoCard(p *vision.Photo, dets []card.Detection) error {
	if isBlurred(p) {
		return refuseBlur()
	}
	if len(dets) > 0 {
		return vision.Refuse(vision.CodeNoCard,
			"A scale card is there, but its four small corner crosses cannot be seen well enough.",
			"Lay the cards flat, uncovered and out of glare, go closer or hold steadier, and take the photo again.")
	}
	return vision.Refuse(vision.CodeNoCard,
		"There is no scale card in this photo that can be read.",
		"Print a sheet of scale cards, lay four to six of them flat around the cloth, and take the photo again.")
}

func refuseCards() error {
	return vision.Refuse(vision.CodeCards,
		"The scale cards do not fit together: they do not lie flat on one surface.",
		"Lay cloth and cards on one flat, firm surface, press the cards flat, and take the photo again.")
}

// refuseBlurred looks at how far the cards' edges are smeared, in millimetres.
// Without a card the photo as a whole has to tell.
func refuseBlurred(p *vision.Photo, dets []card.Detection, cards []int) error {
	if len(cards) == 0 && isBlurred(p) || blurMM(dets, cards) >= refuseBlurMM {
		return refuseBlur()
	}
	return nil
}

// isBlurred judges a photo in which no card can be read.
func isBlurred(p *vision.Photo) bool {
	return card.Blur(p) > refuseBlurShare*float64(max(p.Width, p.Height))
}

func refuseBlur() error {
	return vision.Refuse(vision.CodeBlurred,
		"The photo is too blurred to measure.",
		"Wipe the lens, focus on the cloth, hold the phone still with both hands or rest it, and take the photo again.")
}

// blurMM returns the median blur of the cards in mm, measured by their tags.
func blurMM(dets []card.Detection, use []int) float64 {
	var mm []float64
	for _, i := range use {
		d := dets[i]
		var side float64
		for k := range 4 {
			a, b := d.Tag[k].At, d.Tag[(k+1)%4].At
			side += math.Hypot(a.X-b.X, a.Y-b.Y) / 4
		}
		if side > 0 && d.BlurPx > 0 {
			mm = append(mm, d.BlurPx/side*card.TagMM)
		}
	}
	if len(mm) == 0 {
		return 0
	}
	return median(mm)
}

// refuse returns the refusal that a solution calls for, nil when it can be used.
func (k *solved) refuse() error {
	if k.missMM() > refuseMissMM {
		return refuseCards()
	}
	if k.tiltDeg() > refuseTiltDeg {
		return vision.Refuse(vision.CodeOblique,
			fmt.Sprintf("The photo was taken from too far to the side: %.0f degrees from straight above.", k.tiltDeg()),
			"Hold the phone right above the cloth, level with it, and take the photo again.")
	}
	return nil
}

// missMM returns the root mean square residual of the used saddle points in mm; 0
// without cards, since clicks miss by more than cards may.
func (k *solved) missMM() float64 {
	if len(k.problem.cards()) == 0 {
		return 0
	}
	_, px2, n := k.problem.misfit(k.state)
	cam := k.problem.camera(k.problem.pack(k.state))
	return math.Sqrt(px2/float64(max(n, 1))) / cam.F * math.Abs(cam.Centre()[2])
}

// tiltDeg returns the angle between the camera's axis and the plane's normal.
func (k *solved) tiltDeg() float64 {
	r := k.problem.camera(k.problem.pack(k.state)).R
	return math.Acos(max(-1, min(1, -r[8]))) * 180 / math.Pi
}

// findings lists what the person should know about the photo.
func (c *Calibration) findings(dets []card.Detection, k solved) (out []geometry.Finding) {
	out = append(out, c.cardFindings(dets)...)
	out = append(out, c.roughFindings(k)...)
	if len(k.problem.cards()) > 0 {
		out = append(out, c.spreadFindings(k)...)
	}
	if b := blurMM(dets, k.problem.cards()); b > warnBlurMM {
		out = append(out, geometry.Finding{
			Code: "blurred", Severity: geometry.SeverityWarning, Amount: b, Limit: warnBlurMM,
			Message: fmt.Sprintf("The photo is soft: edges are smeared over %.1f mm.", 2*b),
			Remedy:  "Wipe the lens, focus on the cloth and hold steady; a sharper photo gives a cleaner outline.",
		})
	}
	if t := k.tiltDeg(); t > warnTiltDeg {
		out = append(out, geometry.Finding{
			Code: "oblique", Severity: geometry.SeverityWarning, Amount: t, Limit: warnTiltDeg,
			Message: fmt.Sprintf("The photo was taken %.0f degrees from straight above; the far side is less sure.", t),
			Remedy:  "Hold the phone right above the cloth, level with it.",
		})
	}
	if miss := k.missMM(); miss > warnMissMM {
		out = append(out, geometry.Finding{
			Code: "cards-uneven", Severity: geometry.SeverityWarning, Amount: miss, Limit: warnMissMM,
			Message: fmt.Sprintf("The scale cards miss each other by %.2f mm: they or the surface are not quite flat.", miss),
			Remedy:  "Press the cards flat, tape their corners down, and use a firm surface.",
		})
	}
	if off := k.state.shared[parF]; k.problem.hinted && math.Abs(off) > hintSigmas*sigmaHint {
		out = append(out, geometry.Finding{
			Code: "focal-length", Severity: geometry.SeverityInfo, Amount: 100 * (math.Exp(off) - 1), Limit: 100 * hintSigmas * sigmaHint,
			Message: fmt.Sprintf("The cards show a focal length %+.0f %% from what the file says; the cards were believed.", 100*(math.Exp(off)-1)),
			Remedy:  "If the photo was cropped or zoomed, use the original.",
		})
	}
	return out
}

// cardFindings names the cards that were left out.
func (c *Calibration) cardFindings(dets []card.Detection) (out []geometry.Finding) {
	for i, d := range dets {
		if d.Repeated {
			out = append(out, geometry.Finding{
				Code: "card-repeated", Severity: geometry.SeverityInfo,
				Message: fmt.Sprintf("Card %d is there twice; the one that is seen better is used.", d.ID),
				Remedy:  "Print another sheet number for more cards.",
			})
		}
		r := c.Cards[i]
		if r.Used {
			continue
		}
		at := r.Centre
		out = append(out, geometry.Finding{
			Code: "card-left-out", Severity: geometry.SeverityWarning, Where: &at,
			Message: fmt.Sprintf("Card %d was left out: %s.", d.ID, r.Why),
			Remedy:  "Lay every card flat on the surface beside the cloth, whole and uncovered; tape down what curls.",
		})
	}
	return out
}

// spreadFindings says where cards are missing.
func (c *Calibration) spreadFindings(k solved) (out []geometry.Finding) {
	n, where := len(k.problem.cards()), c.gap()
	more := "Lay four to six cards around the cloth."
	if where != "" {
		more = fmt.Sprintf("Lay four to six cards around the cloth; one is missing at the photo's %s.", where)
	}
	switch {
	case n == 1 && len(k.problem.use) == 1:
		out = append(out, geometry.Finding{
			Code: "one-card", Severity: geometry.SeverityWarning, Amount: c.ScaleUncertaintyPct, Limit: warnScalePct,
			Message: fmt.Sprintf("Only one scale card could be used: lengths may be off by %.1f %%, more so away from the card; whether it lies flat cannot be checked, and one lifted by 3 mm makes lengths wrong by %.1f %%.", 2*c.ScaleUncertaintyPct, c.liftPct(3)),
			Remedy:  more,
		})
	case n == 2:
		f := geometry.Finding{
			Code: "cards-few", Severity: geometry.SeverityInfo, Amount: 2, Limit: 4,
			Message: fmt.Sprintf("Only two scale cards could be used: lengths may be off by %.2f %%; whether they lie flat cannot be checked, and cards lifted by 3 mm make lengths wrong by %.1f %%.", 2*c.ScaleUncertaintyPct, c.liftPct(3)),
			Remedy:  more,
		}
		if c.ScaleUncertaintyPct > warnScalePct {
			f.Severity = geometry.SeverityWarning
		}
		out = append(out, f)
	case c.ScaleUncertaintyPct > warnScalePct:
		out = append(out, geometry.Finding{
			Code: "cards-spread", Severity: geometry.SeverityWarning, Amount: c.ScaleUncertaintyPct, Limit: warnScalePct,
			Message: fmt.Sprintf("The %d scale cards leave lengths unsure by %.2f %%.", n, 2*c.ScaleUncertaintyPct),
			Remedy:  more,
		})
	case n < 4:
		out = append(out, geometry.Finding{
			Code: "cards-few", Severity: geometry.SeverityInfo, Amount: float64(n), Limit: 4,
			Message: fmt.Sprintf("Only %d scale cards could be used: whether each lies flat can hardly be checked.", n),
			Remedy:  more,
		})
	case where != "":
		out = append(out, geometry.Finding{
			Code: "cards-spread", Severity: geometry.SeverityInfo,
			Message: "The scale cards do not lie all round the middle of the photo: lengths are less sure where there are none.",
			Remedy:  more,
		})
	}
	return out
}

// liftPct returns by how many per cent lengths are off when all cards lie mm above
// the surface.
func (c *Calibration) liftPct(mm float64) float64 { return 100 * mm / math.Abs(c.Camera.Centre()[2]) }

// gap names the corner of the photo's middle that is furthest from any used
// card, if that is far: "lower left" and so on. It is empty when cards lie all
// round.
func (c *Calibration) gap() string {
	names := [4]string{"upper left", "upper right", "lower right", "lower left"}
	worst, far := "", gapShare*math.Hypot(float64(c.Width), float64(c.Height))
	for i, s := range [4][2]float64{{0.2, 0.2}, {0.8, 0.2}, {0.8, 0.8}, {0.2, 0.8}} {
		x, y := s[0]*float64(c.Width), s[1]*float64(c.Height)
		nearest := math.Inf(1)
		for _, r := range c.Cards {
			if q, ok := c.project(r.Centre, 0); ok && r.Used {
				nearest = min(nearest, math.Hypot(q.X-x, q.Y-y))
			}
		}
		if nearest > far {
			worst, far = names[i], nearest
		}
	}
	return worst
}
