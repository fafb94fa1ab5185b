// Package fit finds the clean outline behind a noisy one: a closed ring of edge
// samples goes in, a closed path of sharp corners, straight lines and few cubic
// Beziers comes out, together with how sure it is. In the flow it stands between
// the sub-pixel tracing of a photo and the pattern piece.
//
// # What is wanted
//
// The outline of the cloth as it was cut, before it was worn. Fray sticks out as
// single threads and eats in as ragged loss, so the clean edge lies near the
// outer limit of what is left; a rippled edge lies evenly on both sides of the
// clean one; nicks and notches are bridged and reported.
//
// # How
//
//  1. Prepare: samples at even steps ([Sample] to ring), narrow excursions
//     (threads, nicks, notches) cut out and bridged.
//  2. Corners: turning at several scales gives candidates; each is tested by
//     robust fits of its two neighbours, whose intersection is the corner.
//  3. Spans: between corners a straight line, or a cubic spline with as few
//     intervals as leave no misfit that stands out from the noise and no break
//     that would earn its keep. The noise is
//     measured on the span itself, its correlation along the edge included.
//  4. Fray: the robust centre is moved out by the loss that the lopsided or
//     unduly wide spread of the samples tells of; how doubtful that is goes into
//     the stated uncertainty.
//  5. Curves: each clean span is written with the fewest cubics within a small
//     tolerance, smooth where they join.
//
// # Literature
//
//   - P. J. Schneider, An algorithm for automatically fitting digitized curves,
//     in Graphics Gems, Academic Press 1990, 612-626 (cubics with given end
//     tangents, re-parameterisation).
//   - P. J. Huber, Robust Statistics, Wiley 1981; J. W. Tukey's bisquare with
//     c = 4.685 for 95 % efficiency under normal noise.
//   - C. de Boor, A Practical Guide to Splines, Springer 1978 (B-spline basis
//     and least squares).
//   - A. Savitzky and M. J. E. Golay, Analytical Chemistry 36 (1964) 1627
//     (smoothing by local polynomials).
//   - G. V. Bayley and J. M. Hammersley, The effective number of independent
//     observations in an autocorrelated time series, J. Royal Stat. Soc. Suppl. 8
//     (1946) 184.
package fit
