// Package derive makes the pieces that the make-up needs and nobody unpicked: a facing, a
// separate casing, a binding strip, interfacing, a pocket bag, a lining. What comes before
// are pieces with their finishes; what comes after is a piece like any other, drawn from
// their stitch lines (mm), that carries how it was made.
//
// [Make] makes one, [Stale] tells of those whose parents have changed since, and [Update]
// makes one anew and keeps what the person put on it. Nothing is updated unasked: a piece
// may have been printed and cut.
package derive
