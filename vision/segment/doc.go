// Package segment finds the cloth in the rectified photo: which part of the
// plane is cloth, to a millimetre or three, and where that is doubtful.
//
// What comes before in the flow is calib (the photo seen from straight above);
// what comes after is outline, which measures the edge in the photo itself along
// the contours found here.
//
// The picture is divided twice: first all of it, in cells of a few millimetres,
// then a band along the first edge, pixel by pixel. Each time the cheapest
// division is sought (package cut) for costs that add up several witnesses:
//
//   - colour and texture of a cell against mixtures learned from cloth and from
//     surface, light falling unevenly taken out first;
//   - the learned guess of package prior;
//   - shadow: surface that is darker but of the same hue is still surface;
//   - the person's strokes, which overrule all others;
//   - an edge should be short and run where the picture changes.
//
// # Literature
//
//   - C. Rother, V. Kolmogorov, A. Blake, "GrabCut": Interactive Foreground
//     Extraction using Iterated Graph Cuts, ACM TOG 23 (2004) 309-314.
//   - Y. Boykov, M.-P. Jolly, Interactive Graph Cuts for Optimal Boundary and
//     Region Segmentation of Objects in N-D Images, ICCV 2001.
//   - H. Lombaert, Y. Sun, L. Grady, C. Xu, A Multilevel Banded Graph Cuts
//     Method for Fast Image Segmentation, ICCV 2005.
//   - W. Lorensen, H. Cline, Marching Cubes, SIGGRAPH 1987 (here in the plane).
package segment
