// Package twin compares pieces that were cut as mirror images of each other: the left
// and the right one, or the two halves of one piece.
//
// [Propose] finds them, [Compare] lays one mirrored on the other so that worn
// stretches do not pull and says edge by edge how they differ, and [Borrow] takes an
// edge that is worn through from the twin. What comes after is [reconcile], which
// averages twins by how sure each stretch is.
//
// # Literature
//
//   - P. J. Besl, N. D. McKay, A Method for Registration of 3-D Shapes (1992): nearest
//     points and a rigid move, by turns.
//   - Y. Chen, G. Medioni, Object Modelling by Registration of Multiple Range Images
//     (1992): distances along the normal.
//   - J. W. Tukey's biweight, as in P. W. Holland, R. E. Welsch, Robust Regression Using
//     Iteratively Reweighted Least-Squares (1977).
//
// [reconcile]: secondcut/geometry/reconcile
package twin
