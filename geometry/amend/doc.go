// Package amend makes the changes of a piece that a pattern maker makes with scissors,
// ruler and glue: opened along a line, taken in, a dart put in or closed, mirrored,
// made symmetric, turned to its grain, made fair. What comes before is a piece of a
// garment file; what comes after is drafted and checked like any other.
//
// Each is a function of a piece (mm, piece frame, y up) that returns a new piece and
// leaves the old one alone. Edges keep their ids, names, allowances and finishes, and
// notches their places on the cloth. A mark that lay on what was taken out is kept,
// detached, and reported. [Apply] does what an [Op] says, which is the form of files,
// requests and the command line.
//
// Pieces change size by the same means: see [Resize].
//
// Cutting and opening, taking in and pivoting a dart are common practice of flat
// pattern cutting, no source; the lengthen line square to the grain is from memory.
package amend
