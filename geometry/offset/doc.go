// Package offset draws cut lines: curves that run beside a stitch line at the
// distance which the finish of each edge asks for. In the flow it stands between
// the corrected outline of a piece and its printed pattern.
//
// # What a cut line is
//
// [CutLine] moves every edge of a closed outline out, square to itself, by a
// distance that is constant or changes linearly with arc length. Out is to the
// right of the direction of travel: away from the cloth for an outer outline
// (counter-clockwise), into the hole for an inner one (clockwise).
//
//   - Corners: both cut lines run on along their tangents until they meet (the
//     stitch line is taken to run on straight beyond its end). A spike is cut off
//     square at a limit. Where one line meets the other before that one's end, it
//     is trimmed there, unless that would take more than the wider of the two
//     distances: then, and where edges join smoothly, a straight step leads from
//     one distance to the other, square to the wider edge, which keeps its width.
//   - Folded edges (hems, casings): both ends mirror what the flap will lie on,
//     side allowance included. See [Edge].Folds. Beside a crease of the cloth they
//     run straight on along it.
//   - Trimming: parts that would lie inside the allowance of another stretch are
//     cut away; what remains is one closed line that does not cross itself.
//
// # How
//
//  1. Each edge is offset by itself: cubics fitted to the true parallel curve.
//  2. Corners and flaps join them to one closed raw line, which may cross itself
//     in tight curves, at concave corners and where edges come close.
//  3. The raw line is split at its crossings. Each part has a winding number to
//     either side; those between "not covered" and "covered" are the cut line.
//
// # Limits
//
// Where an edge bends, right at its end, more tightly than it is wide, its cut
// line is cut back and runs on straight from there; with widths far beyond that
// radius the corner may come nearer to the edge than the width, which a finding says
// from 0.1 mm on (TestNarrowingIsSaid).
// Two folded edges that meet in a corner run on to a plain corner (exact for a
// right angle, reported otherwise). Where allowances close a gap, the space left
// over in it is given up to the allowance and reported.
//
// # Literature
//
//   - R. T. Farouki and C. A. Neff, Analytic properties of plane offset curves,
//     Computer Aided Geometric Design 7 (1990) 83-99 (regularity, cusps where
//     the radius of curvature equals the distance).
//   - G. Elber, I.-K. Lee and M.-S. Kim, Comparing offset curve approximation
//     methods, IEEE Computer Graphics and Applications 17 (1997) 62-71 (least
//     squares fits need the fewest cubics for a given tolerance).
//   - P. J. Schneider, An algorithm for automatically fitting digitized curves,
//     in Graphics Gems, Academic Press 1990, 612-626 (handles by least squares
//     with given end tangents, parameters improved by Newton steps).
//   - X. Chen and S. McMains, Polygon offsetting by computing winding numbers,
//     Proc. ASME IDETC 2005 (valid parts of a raw offset by winding number).
//   - J. Steiner, Ueber parallele Flaechen, 1840 (length and area of parallel
//     curves; used by the tests).
package offset
