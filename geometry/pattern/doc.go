// Package pattern holds garments and their pieces, reads and writes the garment
// file, and turns traced outlines into pattern pieces that can be cut and sewn.
//
// What comes before is a traced outline in the plane frame of its photo;
// [NewPiece] brings it into the piece frame: millimetres, the outline's lower
// left bounds at the origin, the grain along +y where it is known well enough.
// A piece keeps the rigid map from plane to piece, so that its photo stays
// usable.
//
// [Draft] moves the traced edges in by what is known of their old allowances (the
// stitch line) and out again by what each edge's finish asks for (the cut line), so
// that nothing is added on top of an allowance that is there. It places marks and
// finds room for the label. [Check] walks what gets sewn together along the stitch
// lines; [Review] does both at once. What comes after draws it on paper.
//
// Edges, pieces and marks are named by ids that never change. What hangs on an edge
// (notches) is kept as edge and fraction of its arc length, so that it survives a
// new outline; see [Piece.Refit].
//
// The file's form is published as a JSON Schema; see [Schema].
package pattern
