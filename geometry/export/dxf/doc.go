// Package dxf writes pattern pieces as DXF for cutters and other programs, and reads
// such files back. Millimetres, y up, each piece in its own frame.
//
// [Write] follows ASTM D6673, the standard by which the trade still exchanges patterns
// although it was withdrawn in 2019; so the files are made after it and claim no more.
// Its layers are numbers (see the constants), each piece is a block, and all text is
// 7-bit. What is said there of layers is from tables of the standard as others publish
// them; the texts, and how a notch carries its depth, are from memory.
//
// The files are of DXF release 12, which every reader knows. It has no curves: they
// become short lines within 0.005 mm, with the points that were set marked on layers 2
// and 3, from which [Read] makes the curves again.
package dxf
