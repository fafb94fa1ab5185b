// Package proof closes the loop from a piece to its print and back: the outline of a piece
// that was photographed again (laid on its print, or cut anew) is laid on the stored line,
// and what differs is measured edge by edge. Camera, printer and hand show in it together.
// Lengths in mm, in the piece frame of the stored piece.
//
// Literature: Besl and McKay, A Method for Registration of 3-D Shapes, IEEE PAMI 14 (1992)
// 239 (closest points by turns with a rigid motion); Chen and Medioni, Image and Vision
// Computing 10 (1992) 145 (distances along normals); Geman and McClure, Bulletin of the International Statistical
// Institute 52 (1987) (the bounded loss; from memory).
package proof
