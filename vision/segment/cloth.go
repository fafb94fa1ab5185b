package segment

import (
	"cmp"
	"context"
	"slices"

	"secondcut/geometry"
	"secondcut/vision"
	"secondcut/vision/calib"
)

// spacing of contour points in mm.
const spacing = 1.0

// Cloth finds the pieces of cloth in the plane image, largest first, and what
// the person should know about them. Who asks again with other strokes reads a
// [Picture] first. The image should have about one pixel to
// the millimetre; half a million pixels take some 130 ms of one core. cal tells which side
// of the photo a place is on; without it (nil) the plane image stands for the
// photo.
//
// It refuses, as a vision.Refusal, with CodeNoCloth when nothing can be believed
// to be cloth, CodeCutByFrame when a piece runs out of the picture, and
// CodeStrokes when the strokes leave no cloth. Other errors: the image's sizes
// do not fit, or ctx ended.
//
// It fails, by giving a wrong outline with high doubt, where cloth and surface
// differ in neither colour nor texture and the learned guess errs as well.
func Cloth(ctx context.Context, pl *calib.Plane, cal *calib.Calibration, opt Options) ([]Region, []geometry.Finding, error) {
	f, err := newFind(pl, opt)
	if err != nil {
		return nil, nil, err
	}
	return f.cloth(ctx, cal, opt)
}

// cloth is [Cloth] of what has been looked at.
func (f *find) cloth(ctx context.Context, cal *calib.Calibration, opt Options) ([]Region, []geometry.Finding, error) {
	r, pieces, err := f.search(ctx, opt)
	if err != nil {
		return nil, nil, err
	}
	if len(pieces) == 0 {
		return nil, nil, noCloth(opt)
	}
	in, cut := whole(pieces)
	var left []geometry.Finding
	for _, p := range cut {
		if len(in) == 0 || p.area > cutShare*in[0].area {
			return nil, nil, r.cutByFrame(p, cal)
		}
		if p.area > scrapMM2 {
			left = append(left, r.leftOut(p, cal))
		}
	}
	var regions []Region
	for _, p := range in {
		if g, ok := r.region(p); ok {
			regions = append(regions, g)
		}
	}
	if len(regions) == 0 {
		return nil, nil, noCloth(opt)
	}
	return regions, append(r.findings(regions), left...), nil
}

// When the learned guess counts as misled; set on composites of photographed cloth
// and floors.
const (
	misledShare = 0.25 // how much, beside what is believed, may be disbelieved before the search is done again
	alikeOdds   = 1.0  // mean log odds by colour below which something looks no different from the surface
)

// search divides the picture and returns the pieces, largest first; none when
// there is no cloth. The learned guess can be misled, by a bare stretch of floor,
// say, and then spoils what is learned from it: where much of what was taken for
// cloth looks no different from the surface, the guess there is turned down and
// all is done again.
func (f *find) search(ctx context.Context, opt Options) (*refiner, []*piece, error) {
	for again := false; ; again = true {
		if err := f.learnAndDivide(ctx); err != nil {
			return nil, nil, err
		}
		if f.cells == nil {
			return nil, nil, nil
		}
		r := f.refine(opt)
		r.closeStripes()
		open(r.mask, f.pl.Width, f.pl.Height, f.pl.PxPerMM)
		r.keepStrokes()
		r.closeHoles()
		pieces, doubted := r.pieces()
		if err := ctx.Err(); err != nil {
			return nil, nil, err
		}
		if again || area(doubted) <= misledShare*area(pieces) {
			return r, pieces, nil
		}
		f.turnDown(r, doubted)
	}
}

// turnDown makes the guess say surface where pieces look like it.
func (f *find) turnDown(r *refiner, pieces []*piece) {
	for _, p := range pieces {
		if p.colour > alikeOdds {
			continue
		}
		for _, i := range p.pixels {
			c := r.cellOf(int(i))
			f.odds.guess[c] = min(f.odds.guess[c], -guessCap/2)
		}
	}
}

// noCloth is the refusal when nothing is left that is cloth.
func noCloth(opt Options) error {
	for _, st := range opt.Strokes {
		if st.value() < 0 {
			return vision.Refuse(vision.CodeStrokes,
				"The strokes leave no cloth.",
				"Take back the last stroke of \"not cloth\", or paint over the piece as cloth.")
		}
	}
	return vision.Refuse(vision.CodeNoCloth,
		"No piece of cloth stands out from the surface.",
		"Lay the piece on a surface of another colour, plain if you can, and take the photo again; or paint over it as cloth.")
}

// keepStrokes puts back what a clean-up took from under a stroke.
func (r *refiner) keepStrokes() {
	for i, v := range r.hard {
		if v != 0 {
			r.mask[i] = v > 0 && r.pl.Known[i] != calib.KnownNot
		}
	}
}

// region draws the contours of a piece. ok is false when nothing is left of it.
func (r *refiner) region(p *piece) (g Region, ok bool) {
	rings := newField(p.pixels, r.pl.Width).rings(r.pl)
	slices.SortStableFunc(rings, func(a, b geometry.Polyline) int { return -cmp.Compare(a.Area(), b.Area()) })
	if len(rings) == 0 || rings[0].Area() <= 0 {
		return g, false
	}
	g.Outer = r.contour(rings[0])
	for _, ring := range rings[1:] {
		if ring.Area() < -pinholeMM2/2 {
			g.Holes = append(g.Holes, r.contour(ring))
		}
	}
	return g, true
}
