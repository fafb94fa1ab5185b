// Package pattern holds garments and their pieces, and reads and writes the
// garment file.
//
// What comes before is a traced outline in the plane frame of its photo;
// [NewPiece] brings it into the piece frame: millimetres, the outline's lower
// left bounds at the origin, the grain along +y where it is known well enough.
// A piece keeps the rigid map from plane to piece, so that its photo stays
// usable.
//
// The file's form is published as a JSON Schema; see [Schema].
package pattern
