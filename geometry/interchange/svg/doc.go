// Package svg reads outlines of pieces from SVG drawings in true size: paths with all
// their commands, basic shapes, transforms, and lengths in mm, cm, in, pt, pc or px (CSS:
// 96 to the inch). What is read is put together by [interchange.Assemble].
//
// Literature: W3C, Scalable Vector Graphics (SVG) 2, chapters 7 (coordinate systems, units),
// 9 (paths) and appendix B.2 (elliptical arcs).
package svg
