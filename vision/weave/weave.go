// Package weave measures in which direction the threads or stripes of a piece of
// cloth run, from the photo itself: what a tailor needs to lay the grain line.
//
// The cloth is looked at in small squares of the photo's own pixels, away from
// edges and cards. Threads and stripes are long and straight, so that in a
// square's power spectrum they gather on a line through zero, across their
// direction; the slices of the spectrum by direction (the projection-slice
// theorem: Bracewell, Strip integration in radio astronomy, 1956), corrected for
// the camera's view and averaged over the squares, show them as peaks. Plain
// weave has two at right angles, stripes one.
//
// What comes before in the flow is the fitted outline; the result is offered to
// the person, never forced.
package weave

import (
	"context"
	"fmt"
	"math"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// Reading is what the cloth's texture says about its grain.
type Reading struct {
	// Grain is the direction offered, in the plane frame. Its certainty is about
	// the direction of a thread system or of stripes; see Either.
	Grain geometry.Grain
	// Either says that the cloth shows two directions at right angles and that
	// nothing in the texture tells the warp from the weft: the grain may as well
	// run across. The direction nearer to the piece's length is offered then,
	// which is how most pieces are cut (common practice, no source).
	Either bool
	// Stripes says that the direction is that of stripes. They usually run along
	// the warp (common practice, no source).
	Stripes bool
}

const (
	// Squares of fineSide pixels show threads; where a piece is too small for
	// leastSites of them, those of half the side. Squares of coarseSide pixels at
	// about coarsePxPerMM show stripes, checks and slubs.
	fineSide      = 128
	coarseSide    = 64
	coarsePxPerMM = 1.5
	leastSites    = 4
	mostSites     = 14
	// finestPxPerMM is enough for the finest thread that a phone can show;
	// sharper photos are averaged down to about it.
	finestPxPerMM = 8.0
	// coarseShare is the weight of the coarse squares against the fine ones: prints
	// show in them as strongly as stripes do.
	coarseShare = 0.5
)

// Grain returns the direction of the weave or of stripes of a piece of cloth, in
// degrees counter-clockwise from +x of the plane frame, in [0, 180), with its
// certainty. ok is false when the texture shows no direction: felt, knits out of
// focus, too few pixels to the millimetre, or a piece too small. It fails when
// ctx ends or when the photo is not the calibration's. See [Read].
func Grain(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, outer geometry.Path, holes []geometry.Path) (g geometry.Grain, ok bool, err error) {
	r, ok, err := Read(ctx, photo, cal, outer, holes)
	return r.Grain, ok, err
}

// Read is Grain with what else the texture says. outer and holes are the piece's
// edges in the plane frame.
//
// A certainty of 0.6 and more means that the direction is right within 2 degrees,
// but for a quarter turn where Either, in at least 95 of 100 cases; set on drawn
// weaves, stripes, checks, twills and plain surfaces at 2.5 to 9 px/mm (of 273
// fresh ones called sure, 1 was off by more). A single
// direction that no crossing threads confirm and that is too fine for stripes may
// be the ribs of a twill, which run askew to its grain: its certainty stays
// below 0.5. So does that of a direction which the threads do not share with
// what is printed on them.
func Read(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, outer geometry.Path, holes []geometry.Path) (r Reading, ok bool, err error) {
	if photo.Width != cal.Width || photo.Height != cal.Height || len(photo.BGR) != 3*photo.Width*photo.Height {
		return r, false, fmt.Errorf("weave: the photo has %d x %d pixels, the calibration is for %d x %d", photo.Width, photo.Height, cal.Width, cal.Height)
	}
	if len(outer) == 0 {
		return r, false, nil
	}
	cloth := newRegion(cal, outer, holes)
	fine, coarse, err := look(ctx, photo, cal, cloth)
	if err != nil || fine == nil {
		return r, false, err
	}
	r, ok = judge(fine, coarse, cloth.rings[0])
	return r, ok, nil
}

// look returns how the texture stands out by direction at the scale of threads
// and at that of stripes; nil where the piece is too small.
func look(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, cloth region) (fine, coarse *profile, err error) {
	lo, hi := cloth.rings[0].Bounds()
	scale := cal.PxPerMM(lo.Lerp(hi, 0.5))
	bin := max(1, int(scale/finestPxPerMM+0.5))
	for _, side := range []int{fineSide, fineSide / 2} {
		if fine, err = average(ctx, photo, cal, cloth, side, bin); fine != nil || err != nil {
			break
		}
	}
	if err != nil || fine == nil {
		return nil, nil, err
	}
	coarse, err = average(ctx, photo, cal, cloth, coarseSide, max(2, int(scale/coarsePxPerMM+0.5)))
	return fine, coarse, err
}

// average returns the mean rise over the squares of the given side, in pixels of
// bin x bin of the photo's; nil when too few fit.
func average(ctx context.Context, photo *vision.Photo, cal *calib.Calibration, cloth region, side, bin int) (*profile, error) {
	places := sites(cal, cloth, side*bin, mostSites)
	if len(places) < leastSites {
		return nil, nil
	}
	l := newLens(side, bin)
	var sum profile
	for _, s := range places {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		p := l.profile(photo, s)
		for i, v := range p {
			sum[i] += v / float64(len(places))
		}
	}
	sum = sum.rise()
	return &sum, nil
}

const (
	// squareDeg is how far from a right angle two thread systems may cross:
	// pressed cloth is often skewed by some degrees.
	squareDeg = 8.0
	// alikeDeg is the skew up to which both are taken as measures of one square
	// weave and averaged.
	alikeDeg = 1.5
	// leastPartner is the height from which crossing threads count as seen.
	leastPartner = 0.25
	// stripeHeight is the height at the coarse scale from which a single
	// direction is taken for stripes rather than for the ribs of a twill.
	stripeHeight = 1.8
	// doubtful is the most that a direction is worth which might be a twill's or
	// a print's.
	doubtful = 0.45
	// leastSure is the certainty below which nothing is said.
	leastSure = 0.2
)

// judge draws the conclusion from the rises at both scales (coarse may be nil).
func judge(fine, coarse *profile, ring geometry.Polyline) (r Reading, ok bool) {
	both := *fine
	if coarse != nil {
		for i := range both {
			both[i] = (fine[i] + coarseShare*coarse[i]) / (1 + coarseShare)
		}
	}
	peaks := both.peaks(5)
	if len(peaks) == 0 || peaks[0].height <= 0 {
		return r, false
	}
	main, partner, rival := peaks[0], peak{}, 0.0
	for _, p := range peaks[1:] {
		if partner.height == 0 && apart(p.deg, main.deg+90) <= squareDeg {
			partner = p
		} else {
			rival = max(rival, p.height)
		}
	}
	crossed := partner.height >= leastPartner
	r.Stripes = coarse != nil && striped(coarse, main, partner)
	r.Grain.Sure = certainty(main.height, partner.height, rival)
	if !crossed && !r.Stripes || !fine.agrees(main.deg) {
		r.Grain.Sure = min(r.Grain.Sure, doubtful)
	}
	r.Grain.Deg = main.deg
	if crossed {
		r.Grain.Deg = settle(main, partner)
	}
	if crossed && !r.Stripes {
		r.Either = true
		if long, ok := lengthwise(ring); ok && apart(main.deg, long) > 45 {
			r.Grain.Deg = settle(partner, main)
		}
	}
	return r, r.Grain.Sure >= leastSure
}

// striped reports whether the main direction is that of stripes: strong at the
// coarse scale, and alone there.
func striped(coarse *profile, main, partner peak) bool {
	h := coarse.near(main.deg)
	across := coarse.near(main.deg + 90)
	if partner.height > 0 {
		across = coarse.near(partner.deg)
	}
	return h >= stripeHeight && across < h/3
}

// settle returns the direction of thread system a. Where b crosses it squarely,
// b's direction helps; where b is far plainer, it is believed alone.
func settle(a, b peak) float64 {
	off := turn180(b.deg+90-a.deg+90) - 90 // of b's perpendicular from a
	switch {
	case math.Abs(off) <= alikeDeg:
	case b.height > 2*a.height:
		return turn180(b.deg + 90)
	default:
		return a.deg
	}
	return turn180(a.deg + off*b.height/(a.height+b.height))
}

// certainty maps the heights of the peaks to 0..1; set so that few drawn cloths at
// 0.6 and above are read wrong.
func certainty(main, partner, rival float64) float64 {
	strength := 0.9 * (main + 0.5*max(partner, 0) - 1.5*rival)
	return min(max(strength, 0), 1)
}

// apart returns the angle in degrees between two directions, 0 to 90.
func apart(a, b float64) float64 {
	d := turn180(a - b)
	return min(d, 180-d)
}

// lengthwise returns the direction of the piece's length in degrees: the axis of
// least inertia of its area. ok is false when the piece is about as wide as long.
func lengthwise(ring geometry.Polyline) (deg float64, ok bool) {
	lo, hi := ring.Bounds()
	mid := lo.Lerp(hi, 0.5)
	var a, mx, my, xx, yy, xy float64
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		u, v := p.Sub(mid), q.Sub(mid)
		w := u.Cross(v)
		a += w / 2
		mx, my = mx+w*(u.X+v.X)/6, my+w*(u.Y+v.Y)/6
		xx += w * (u.X*u.X + u.X*v.X + v.X*v.X) / 12
		yy += w * (u.Y*u.Y + u.Y*v.Y + v.Y*v.Y) / 12
		xy += w * (2*u.X*u.Y + u.X*v.Y + v.X*u.Y + 2*v.X*v.Y) / 24
	}
	if a == 0 {
		return 0, false
	}
	mx, my = mx/a, my/a
	xx, yy, xy = xx/a-mx*mx, yy/a-my*my, xy/a-mx*my
	spread := math.Hypot((xx-yy)/2, xy)
	long, short := (xx+yy)/2+spread, (xx+yy)/2-spread
	if long < longer*longer*short {
		return 0, false
	}
	return turn180(math.Atan2(2*xy, xx-yy) / 2 * 180 / math.Pi), true
}

// longer is how many times its width a piece must be long for its length to have
// a direction.
const longer = 1.15
