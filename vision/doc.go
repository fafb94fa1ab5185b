// Package vision holds the nouns of tracing cloth from a photo: pixels, photos,
// masks, traces, and the refusals that a step may answer with.
//
// # Units and frames
//
//   - Image frame: pixels, origin at the centre of the top left pixel, x right,
//     y down. A [Photo] is always upright: the EXIF turn is already applied.
//   - Plane frame: the surface that the cloth lies on, millimetres, seen from
//     the camera's side, x right, y up (a [geometry.Point]).
//
// Only package calib converts between the two. Images cross package borders as
// plain Go values that own their pixels; OpenCV is used in vision/internal/cv
// alone, and its matrices never leave a call.
//
// # Flow
//
// [Decode] reads a photo; card.Detect finds the scale cards; calib.Solve finds
// camera and plane; calib.Rectify draws the coarse plane image; segment.Cloth
// finds the cloth in it; outline.Trace finds its edge in the original pixels;
// fit.Edge (in geometry) turns that into a clean path.
//
// # Literature
//
//   - D. C. Brown, Close-range camera calibration, Photogrammetric Engineering
//     37 (1971) 855-866 (radial and decentring distortion).
//   - Z. Zhang, A flexible new technique for camera calibration, IEEE TPAMI 22
//     (2000) 1330-1334 (plane homographies constrain the camera).
//   - P. J. Huber, Robust Statistics, Wiley 1981 (the loss and its constant).
package vision
