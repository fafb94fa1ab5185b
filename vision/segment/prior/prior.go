// Package prior runs the learned guess of where cloth lies (README.md is its
// model card).
package prior

import (
	_ "embed"
	"fmt"
	"sync"

	"secondcut/vision/internal/cv"
)

//go:embed cloth-prior.onnx
var onnx []byte

// Sizes of the network's square input and output, in points.
const (
	inSide  = 320
	outSide = 160
)

// shared is the loaded network, one for the process: loading takes longer than
// running it. A network serves one caller at a time.
var shared struct {
	sync.Mutex
	net *cv.Net
}

// Guess is the network's answer for one picture.
type Guess struct {
	logits []float32
	scale  float64 // output points to a picture pixel
	x0, y0 float64 // where the picture's first pixel centre lies
}

// Run returns the guess for a picture of width x height pixels (bgr: three bytes
// each) of which only the pixels with seen true may be looked at.
func Run(bgr []byte, seen []bool, width, height int) (*Guess, error) {
	if width <= 0 || height <= 0 || len(bgr) != 3*width*height || len(seen) != width*height {
		return nil, fmt.Errorf("prior: %d bytes for %d x %d pixels", len(bgr), width, height)
	}
	scale := inSide / float64(max(width, height))
	x0 := (inSide - float64(width)*scale) / 2
	y0 := (inSide - float64(height)*scale) / 2
	out, err := forward(input(bgr, seen, width, height, scale, x0, y0))
	if err != nil {
		return nil, fmt.Errorf("prior: %w", err)
	}
	half := scale * outSide / inSide
	return &Guess{out, half, (x0+0.5*scale)/2 - 0.5, (y0+0.5*scale)/2 - 0.5}, nil
}

// Load makes the network ready, so that a first Run need not. It may be called
// while other work goes on, and more than once; what fails here fails again, and
// is reported, in Run.
func Load() {
	// The network lays out its memory when it first runs.
	_, _ = forward(make([]float32, 4*inSide*inSide))
}

func forward(in []float32) ([]float32, error) {
	shared.Lock()
	defer shared.Unlock()
	if shared.net == nil {
		net, err := cv.OpenNet(onnx)
		if err != nil {
			return nil, err
		}
		shared.net = net
	}
	return shared.net.Forward(in, 4, inSide, inSide, outSide*outSide)
}

// input lays the picture out as the network wants it: each input point is the
// mean of the seen pixels that it covers, or the nearest pixel when it covers
// none.
func input(bgr []byte, seen []bool, width, height int, scale, x0, y0 float64) []float32 {
	const n = inSide * inSide
	in := make([]float32, 4*n)
	for i := range 3 * n {
		in[i] = 0.5
	}
	for v := range inSide {
		top, bottom := span(v, y0, scale, height)
		for u := range inSide {
			left, right := span(u, x0, scale, width)
			var sum [3]int
			count, all := 0, 0
			for y := top; y < bottom; y++ {
				for x := left; x < right; x++ {
					all++
					if i := y*width + x; seen[i] {
						count++
						sum[0] += int(bgr[3*i])
						sum[1] += int(bgr[3*i+1])
						sum[2] += int(bgr[3*i+2])
					}
				}
			}
			if 2*count <= all {
				continue
			}
			at := v*inSide + u
			for k := range 3 {
				in[k*n+at] = float32(sum[2-k]) / float32(255*count)
			}
			in[3*n+at] = 1
		}
	}
	return in
}

// span returns the pixels that input point u covers along one axis.
func span(u int, origin, scale float64, size int) (from, to int) {
	a, b := (float64(u)-origin)/scale, (float64(u+1)-origin)/scale
	if b <= 0 || a >= float64(size) {
		return 0, 0
	}
	from = max(0, int(a+0.5))
	to = min(size, int(b+0.5))
	if to <= from {
		from = min(size-1, max(0, int((a+b)/2)))
		to = from + 1
	}
	return from, to
}

// At returns the log odds of cloth at pixel position (x, y) of the picture,
// interpolated between the network's points.
func (g *Guess) At(x, y float64) float64 {
	u := min(max(x*g.scale+g.x0, 0), outSide-1.001)
	v := min(max(y*g.scale+g.y0, 0), outSide-1.001)
	i, j := int(u), int(v)
	fu, fv := u-float64(i), v-float64(j)
	row, below := g.logits[j*outSide+i:], g.logits[(j+1)*outSide+i:]
	a := float64(row[0])*(1-fu) + float64(row[1])*fu
	b := float64(below[0])*(1-fu) + float64(below[1])*fu
	return a*(1-fv) + b*fv
}
