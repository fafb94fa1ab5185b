// Package outline finds where cloth ends, to a fraction of a pixel, in the
// original pixels of a photo. It starts from the coarse contour of package
// segment and hands its samples to package fit, which takes fray and needle
// wear off; nothing here decides what the clean edge is.
//
// # How
//
//   - Profiles are read from the photo along the normals of the contour, through
//     the camera: the picture is interpolated once, never warped.
//   - Two colour models are learnt for every stretch of a few centimetres, one of
//     the cloth and one of what it lies on, each of several kinds of colour, so
//     that stripes, checks and wood grain are normal.
//   - The cost of an edge at some offset is the likelihood of all colours on
//     either side of it, not the greatest step: a pattern line has the same
//     colours on both sides and costs the same.
//   - The cheapest closed path through all profiles is found by dynamic
//     programming; bending costs, so that a thread is cheaper to cross than to
//     follow. This is done twice, at millimetre spacing in a wide band, then
//     finely in a narrow one about the first path.
//   - Each sample then moves to where the profile, read as "share of cloth",
//     passes from one to nought. The ground is darker at the foot of the edge, where
//     half of the sky is hidden: by how much is measured a little further out, and
//     belongs to the step that is fitted. The direction in colour space that is read
//     is Fisher's, with other shadows on the ground counted as noise: where hue tells
//     cloth from ground, they are hardly seen.
//
// # Literature
//
//   - R. A. Fisher, The use of multiple measurements in taxonomic problems,
//     Annals of Eugenics 7 (1936) 179-188.
//   - S. C. Zhu and A. Yuille, Region competition, IEEE TPAMI 18 (1996) 884-900
//     (edges from the likelihood of both sides).
//   - A. A. Amini, T. E. Weymouth and R. C. Jain, Using dynamic programming for
//     solving variational problems in vision, IEEE TPAMI 12 (1990) 855-867.
//   - P. Kohli and P. H. S. Torr, Measuring uncertainty in graph cut solutions,
//     CVIU 112 (2008) 30-38 (min-marginals as confidence).
package outline
