//go:build matprofile

package cv

// #include "cv.h"
import "C"

func init() { C.cv_count_mats() }

// LiveMats returns how many OpenCV matrix buffers are allocated and not yet
// released. It exists only in builds with the tag matprofile.
func LiveMats() int { return int(C.cv_live_mats()) }
