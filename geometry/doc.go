// Package geometry holds the nouns of flat pattern shapes: points, knots,
// segments, paths, polylines, and the findings that a check reports.
//
// # Units and frames
//
// Lengths are millimetres, angles radians, as float64. x runs right and y runs
// up. Outer outlines run counter-clockwise and have positive signed area; holes
// run clockwise. The package knows neither photos nor HTTP and does no I/O.
//
// # The two faces of a path
//
// A [Path] is stored, sent and edited as knots (a point, its two handles, and
// whether it is a corner). The maths walks over its [Segment]s, each a straight
// line or a cubic Bezier, obtained by [Path.Segments]. The JSON form of knots is
// the same in Go, in files and in the browser.
//
// Sub-packages do one step each: fit finds clean paths through noisy outlines,
// pattern holds garments and pieces, sheet lays drawings on paper, export writes
// files.
//
// # Literature
//
//   - G. Farin, Curves and Surfaces for CAGD, 5th ed. 2002 (Bezier evaluation
//     and subdivision, chapters 4 and 5).
//   - M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, 1964,
//     section 25.4 (Gauss's rule, used for arc length).
package geometry
