// Package reconcile lets the pieces of a worn garment correct each other: twins are one
// shape, edges that are sewn together agree along their stitch lines, corners that are
// joined make the angle that is meant, and each stretch moves within its own uncertainty.
//
// It is one weighted least squares over all pieces. The unknowns are moves of the
// outline along its normals, at knots, with a smooth course between them; a straight
// edge stays straight. Before anything is compared a move has the mean 0 and the
// standard deviation that the stretch states ([pattern.Doubts], 95 % = 1.96 of them),
// neighbours alike within [AlikeMM]. What must agree are condition equations
// (least squares adjustment of conditions):
//
//	x = P J' (J P J' + R)^-1 d,   P' = P - P J' (J P J' + R)^-1 J P
//
// P is made of a block for each piece or group of twins, and twins are solved within
// their block, so that only the few conditions that join blocks are solved together.
// Lengths are not linear: a few steps of Gauss and Newton measure them anew on the
// moved pieces. A condition that is off by more than all uncertainties explain counts
// less, the more it is off. No stretch moves by more than [Bound] times its stated
// uncertainty, and the sum of squares never grows.
//
// What comes before are pieces and the pairs of twins ([twin.Propose]); what comes
// after is the person, who accepts edge by edge ([Result.Accept]).
//
// # Literature
//
//   - F. R. Helmert, Die Ausgleichungsrechnung nach der Methode der kleinsten Quadrate
//     (1872): adjustment by conditions.
//   - C. E. Rasmussen, C. K. I. Williams, Gaussian Processes for Machine Learning (2006),
//     eq. 4.17: the correlation of neighbours.
//   - F. N. Fritsch, J. Butland, A Method for Constructing Local Monotone Piecewise Cubic
//     Interpolants (1984).
package reconcile
