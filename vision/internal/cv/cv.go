// Package cv is the one place where OpenCV is called: tags, area resizing, grey
// values, and the small network. Pictures go in and come out as Go byte slices;
// OpenCV's matrices live only inside a call. Pixel centres are at integers.
package cv

/*
#cgo CXXFLAGS: -std=c++17 -O2 -I/usr/include/opencv4
#cgo LDFLAGS: -Wl,--as-needed -lopencv_core -lopencv_imgproc -lopencv_aruco -lopencv_dnn
#include "cv.h"
*/
import "C"

import (
	"errors"
	"fmt"
	"unsafe"
)

// maxTags is the size of the family 36h11; more than that cannot be found.
const maxTags = 587

// ErrSize says that a buffer does not have the length that its dimensions ask
// for.
var ErrSize = errors.New("cv: buffer does not match its dimensions")

// Tag is one AprilTag of family 36h11. Corners are pixels in the order top left,
// top right, bottom right, bottom left of the printed tag.
type Tag struct {
	ID      int
	Corners [4][2]float64
}

// DetectTags finds the tags in a grey picture of width x height bytes.
func DetectTags(gray []byte, width, height int) ([]Tag, error) {
	if width <= 0 || height <= 0 || len(gray) != width*height {
		return nil, ErrSize
	}
	var (
		ids     [maxTags]C.int
		corners [maxTags * 8]C.float
		count   C.int
		msg     [C.CV_ERR_LEN]C.char
	)
	if C.cv_detect_tags(bytePtr(gray), C.int(width), C.int(height), maxTags, &ids[0], &corners[0], &count, &msg[0]) != 0 {
		return nil, fail("detect tags", &msg)
	}
	tags := make([]Tag, count)
	for i := range tags {
		tags[i].ID = int(ids[i])
		for k := range tags[i].Corners {
			tags[i].Corners[k] = [2]float64{float64(corners[8*i+2*k]), float64(corners[8*i+2*k+1])}
		}
	}
	return tags, nil
}

// TagCells returns the 8 x 8 modules of a tag, border included, row by row from
// the top left; true is white.
func TagCells(id int) ([64]bool, error) {
	var (
		cells [64]C.uint8_t
		out   [64]bool
		msg   [C.CV_ERR_LEN]C.char
	)
	if id < 0 || id >= maxTags {
		return out, fmt.Errorf("cv: there is no tag %d", id)
	}
	if C.cv_tag_cells(C.int(id), &cells[0], &msg[0]) != 0 {
		return out, fail("draw tag", &msg)
	}
	for i, c := range cells {
		out[i] = c != 0
	}
	return out, nil
}

// ResizeArea returns the picture at another size, each new pixel the mean of
// the area that it covers. Best for making pictures smaller.
func ResizeArea(src []byte, width, height, channels, newWidth, newHeight int) ([]byte, error) {
	if width <= 0 || height <= 0 || newWidth <= 0 || newHeight <= 0 || len(src) != width*height*channels {
		return nil, ErrSize
	}
	dst := make([]byte, newWidth*newHeight*channels)
	var msg [C.CV_ERR_LEN]C.char
	if C.cv_resize_area(bytePtr(src), C.int(width), C.int(height), C.int(channels), bytePtr(dst), C.int(newWidth), C.int(newHeight), &msg[0]) != 0 {
		return nil, fail("resize", &msg)
	}
	return dst, nil
}

// Gray returns the luminance of a BGR picture.
func Gray(bgr []byte, width, height int) ([]byte, error) {
	if width <= 0 || height <= 0 || len(bgr) != width*height*3 {
		return nil, ErrSize
	}
	gray := make([]byte, width*height)
	var msg [C.CV_ERR_LEN]C.char
	if C.cv_bgr_to_gray(bytePtr(bgr), C.int(width), C.int(height), bytePtr(gray), &msg[0]) != 0 {
		return nil, fail("grey", &msg)
	}
	return gray, nil
}

// Net is a loaded network. It is not safe for use by two goroutines at once.
type Net struct{ p unsafe.Pointer }

// OpenNet loads a network from the bytes of an ONNX file. Close it after use.
func OpenNet(onnx []byte) (*Net, error) {
	if len(onnx) == 0 {
		return nil, ErrSize
	}
	var msg [C.CV_ERR_LEN]C.char
	p := C.cv_net_open(bytePtr(onnx), C.int(len(onnx)), &msg[0])
	if p == nil {
		return nil, fail("open network", &msg)
	}
	return &Net{p}, nil
}

// Forward runs the network on one input of channels x height x width values and
// returns its outLen outputs.
func (n *Net) Forward(in []float32, channels, height, width, outLen int) ([]float32, error) {
	if outLen <= 0 || len(in) == 0 || len(in) != channels*height*width {
		return nil, ErrSize
	}
	out := make([]float32, outLen)
	var msg [C.CV_ERR_LEN]C.char
	if C.cv_net_forward(n.p, (*C.float)(&in[0]), C.int(channels), C.int(height), C.int(width), (*C.float)(&out[0]), C.int(outLen), &msg[0]) != 0 {
		return nil, fail("run network", &msg)
	}
	return out, nil
}

// Close frees the network.
func (n *Net) Close() {
	C.cv_net_close(n.p)
	n.p = nil
}

func bytePtr(b []byte) *C.uint8_t { return (*C.uint8_t)(&b[0]) }

func fail(what string, msg *[C.CV_ERR_LEN]C.char) error {
	return fmt.Errorf("cv: %s: %s", what, C.GoString(&msg[0]))
}
