// Package lay lays pattern pieces on cloth: irregular strip packing. A strip of
// given width and open length is to be as short as possible, with no two pieces
// overlapping, each at one of its allowed turns.
//
// # Frame
//
// The cloth frame: x along the length of the cloth from its cut end, y across it
// from one selvage, in millimetres (or in whatever one unit an instance uses). A
// piece is laid by mirroring it (x to -x) where that is asked, turning it
// counter-clockwise about its own origin, and moving it.
//
// # Method
//
// Outlines are cut into convex parts; where one shape may not lie beside another
// is a set of displacements, made of the Minkowski sums of their parts (package
// file region.go). Overlap is then the depth of a point in convex sets: exact, and
// cheap. A first layout comes from placing the pieces one by one, as far to the
// left as they go. It is made better by shortening the strip, which makes pieces
// overlap, and moving the overlapping ones about until none do, with weights that
// grow on pairs which stay in each other's way (guided local search), until the
// time is up.
//
// # Cloth
//
// [NewTask] turns a garment file and a cloth into an instance: folds, pairs and naps
// become counts, faces and turns; a remnant becomes obstacles outside its outline;
// stripes that are to meet hold pieces to a grid. [Task.Nest] lays around pieces that a
// person has put somewhere, and [Task.Check] says what is wrong with where they are; it
// looks at the outlines themselves, not at the regions of the search.
//
// # Literature
//
//   - Bennell, Oliveira: The geometry of nesting problems. EJOR 184, 2008 (no-fit
//     polygons).
//   - Egeblad, Nielsen, Odgaard: Fast neighborhood search for two- and
//     three-dimensional nesting problems. EJOR 183, 2007; Umetani et al.: Solving the
//     irregular strip packing problem via guided local search for overlap
//     minimization. ITOR 16, 2009 (shorten and separate, weights on pairs).
//   - Gardeyn, Vanden Berghe, Wauters: arXiv:2509.13329, 2025 (search by samples
//     and short descents, restarts from disturbed layouts).
package lay
