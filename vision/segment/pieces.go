package segment

import (
	"cmp"
	"math"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

const (
	scrapMM2   = 1500 // smaller pieces are scraps when they are also
	scrapShare = 0.04 // smaller than this share of the largest
	tinyMM2    = 400  // always a scrap
	frameTouch = 8.0  // mm along the frame that cut a piece
	cutShare   = 0.5  // of the largest whole piece: a smaller one at the frame is left out
	sideShare  = 0.2  // of the largest piece: a smaller one must be surer
	sideBelief = 4.2  // that much: on composites small pieces had 4.5 and more, rulers, fingers and papers at most 4.0
	slimMM     = 20.0 // what is nowhere wider, a cord or scissors, is no piece; set on composites
	leastGuess = -2.0 // of the learned guess's mean log odds: below it, scissors or a pen; set on composites
	believable = 2.75 // least mean log odds of a piece, colour and half the guess: on 170 drawn scenes, cloth had 4.9 and more, bare floor at most 1.9
)

// piece is a connected part of the mask.
type piece struct {
	pixels []int32
	area   float64 // mm2
	colour float64 // mean log odds inside, by colour and by the guess
	guess  float64
	said   int     // what strokes inside say, summed
	frame  float64 // mm along the frame
}

// belief is how sure it is that the piece is cloth at all, in log odds.
func (p *piece) belief() float64 { return p.colour + 0.5*p.guess }

// pieces returns the connected parts of the mask that can be believed, largest
// first, and those that cannot.
func (r *refiner) pieces() (all, doubted []*piece) {
	for _, list := range label(r.pl.Width, r.pl.Height, r.mask, true) {
		p := &piece{pixels: list, area: r.areaMM2(list), said: r.said(list)}
		if p.area < tinyMM2 && p.said <= 0 {
			continue
		}
		p.colour, p.guess = r.mean(list, r.odds.colour), r.mean(list, r.odds.guess)
		p.frame = r.alongFrame(list)
		if p.said > 0 || p.belief() >= believable && p.guess >= leastGuess {
			all = append(all, p)
		} else {
			doubted = append(doubted, p)
		}
	}
	slices.SortStableFunc(all, func(a, b *piece) int { return cmp.Compare(b.area, a.area) })
	return r.dropSlim(dropScraps(all)), doubted
}

// dropSlim drops what is small beside the largest piece and nowhere wider than
// slimMM.
func (r *refiner) dropSlim(all []*piece) []*piece {
	return slices.DeleteFunc(all, func(p *piece) bool {
		return p.said <= 0 && p.area < sideShare*all[0].area && r.slim(p)
	})
}

// slim reports whether a piece vanishes when it is thinned by half of slimMM.
func (r *refiner) slim(p *piece) bool {
	f := newField(p.pixels, r.pl.Width)
	in := make([]bool, len(f.v))
	for i, v := range f.v {
		in[i] = v > 0.5
	}
	in = shrink(in, f.width, f.height, max(1, int(math.Round(slimMM*r.pl.PxPerMM/2))))
	return !slices.Contains(in, true)
}

// area returns the area of pieces in mm2.
func area(pieces []*piece) (sum float64) {
	for _, p := range pieces {
		sum += p.area
	}
	return sum
}

// dropScraps drops what is small both by itself and beside the largest piece, and
// what is small beside it and not sure enough.
func dropScraps(all []*piece) []*piece {
	return slices.DeleteFunc(all, func(p *piece) bool {
		scrap := p.area < scrapMM2 && p.area < scrapShare*all[0].area
		unsure := p.area < sideShare*all[0].area && p.belief() < sideBelief
		return p.said <= 0 && (scrap || unsure)
	})
}

// alongFrame returns the length in mm over which pixels lie along the frame.
func (r *refiner) alongFrame(list []int32) float64 {
	n := 0
	for _, i := range list {
		if r.pl.Known[i] == calib.KnownScene && r.rim(int(i)) {
			n++
		}
	}
	return float64(n) / r.pl.PxPerMM
}

// whole splits pieces into those that the picture shows whole and those that run
// out of it.
func whole(pieces []*piece) (in, cut []*piece) {
	for _, p := range pieces {
		if p.frame > frameTouch {
			cut = append(cut, p)
		} else {
			in = append(in, p)
		}
	}
	return in, cut
}

// leftOut tells of a piece that runs out of the picture and is small beside
// another that does not: a hand, as often as not.
func (r *refiner) leftOut(p *piece, cal *calib.Calibration) geometry.Finding {
	var at geometry.Point
	for k, i := range p.pixels {
		q := r.pl.At(float64(int(i)%r.pl.Width), float64(int(i)/r.pl.Width))
		at = at.Lerp(q, 1/float64(k+1))
	}
	return geometry.Finding{
		Code: "piece-cut-by-frame", Severity: geometry.SeverityWarning,
		Message: "Something that runs out of the picture " + r.side(p, cal) + " was left out.",
		Remedy:  "If it is a piece of cloth, step back until all of it shows and take the photo again.",
		Where:   &at,
	}
}

// cutByFrame returns the refusal of a piece that runs out of the picture.
func (r *refiner) cutByFrame(p *piece, cal *calib.Calibration) error {
	return vision.Refuse(vision.CodeCutByFrame,
		"The cloth runs out of the picture "+r.side(p, cal)+".",
		"Step back or move the piece until all of it shows, with a hand's breadth of surface around it, and take the photo again.")
}

// side names the side of the picture on which most of the piece's cut edge lies.
func (r *refiner) side(p *piece, cal *calib.Calibration) string {
	names := [4]string{"on the left", "on the right", "at the top", "at the bottom"}
	var votes [4]int
	for _, i := range p.pixels {
		if r.pl.Known[i] != calib.KnownScene || !r.rim(int(i)) {
			continue
		}
		w := r.pl.Width
		at := vision.Pixel{X: float64(int(i) % w), Y: float64(int(i) / w)}
		width, height := float64(w), float64(r.pl.Height)
		if cal != nil {
			if px, ok := cal.ToImage(r.pl.At(at.X, at.Y)); ok {
				at, width, height = px, float64(cal.Width), float64(cal.Height)
			}
		}
		d := [4]float64{at.X, width - 1 - at.X, at.Y, height - 1 - at.Y}
		best := 0
		for k := range d {
			if d[k] < d[best] {
				best = k
			}
		}
		votes[best]++
	}
	best := 0
	for k := range votes {
		if votes[k] > votes[best] {
			best = k
		}
	}
	return names[best]
}
