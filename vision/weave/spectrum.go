package weave

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"secondcut/vision"
)

const (
	// angles is the number of directions in half a turn that are told apart.
	angles = 360
	// lowest and highest frequency that counts: in bins of the spectrum, below
	// which a direction cannot be told, and as a share of the sampling rate,
	// above which cameras and compression leave their own marks.
	lowBin   = 4
	highRate = 0.42
)

// floorGrey is the texture, in grey levels of 255, below which what a photo shows
// is the work of noise and compression. Set on drawn plain surfaces saved as JPEG
// of quality 80 to 95.
const floorGrey = 1.0

// lens turns patches of one size into angular profiles.
type lens struct {
	size, bin int
	fft       *fourier.CmplxFFT
	patch     []complex128
	line      []complex128
	power     []float64 // relative to the floor
	marks     []bool
	across    [angles][2]float64
}

func newLens(size, bin int) *lens {
	l := &lens{
		size: size, bin: bin, fft: fourier.NewCmplxFFT(size),
		patch: make([]complex128, size*size), line: make([]complex128, size),
		power: make([]float64, size*size), marks: blockMarks(size, bin),
	}
	for i := range l.across {
		sin, cos := math.Sincos((float64(i)/perDegree + 90) * math.Pi / 180)
		l.across[i] = [2]float64{cos, sin}
	}
	return l
}

// profile returns, for each direction of thread in the plane frame, how strong
// the spectrum is on the line across that direction, against the
// other directions: the mean over frequencies of the logarithm of its power.
// Threads and stripes are long and straight, so that their
// power lies on that line, at many frequencies; a repeating pattern of points,
// such as where warp and weft cross, is strong at few.
func (l *lens) profile(photo *vision.Photo, s site) profile {
	cut(photo, s, l.size, l.bin, l.patch)
	l.transform()
	// Frequencies turn with the inverse transpose: k(px) = J^-T k(mm).
	a, b, c, d := s.toPx[0], s.toPx[1], s.toPx[2], s.toPx[3]
	det := a*d - b*c
	scale := math.Sqrt(math.Abs(det))
	first, last := lowBin, int(highRate*float64(l.size))
	var p, weight profile
	var ring profile
	for r := first; r <= last; r++ {
		k := float64(r) * scale / det
		var sum, n float64
		for i, e := range l.across {
			v, ok := l.at(k*(d*e[0]-c*e[1]), k*(a*e[1]-b*e[0]))
			ring[i] = math.NaN()
			if ok {
				ring[i] = math.Log(1 + v)
				sum, n = sum+ring[i], n+1
			}
		}
		for i, v := range ring {
			if v == v {
				p[i] += v - sum/n
				weight[i]++
			}
		}
	}
	for i := range p {
		p[i] /= max(weight[i], 1)
	}
	return p
}

// transform fills power with the patch's power spectrum, the two halves of each
// frequency's line joined: P(k) + P(-k) is the power of lightness and colour.
func (l *lens) transform() {
	n := l.size
	for y := range n {
		row := l.patch[y*n : (y+1)*n]
		l.fft.Coefficients(row, row)
	}
	for x := range n {
		for y := range n {
			l.line[y] = l.patch[y*n+x]
		}
		l.fft.Coefficients(l.line, l.line)
		for y, z := range l.line {
			l.patch[y*n+x] = z
		}
	}
	// A Hann window keeps 3/8 of the power along each axis.
	floor := 1 / (2 * floorGrey * floorGrey * float64(n*n) * 9 / 64)
	for y := range n {
		for x := range n {
			z, m := l.patch[y*n+x], l.patch[(-y&(n-1))*n+(-x&(n-1))]
			l.power[y*n+x] = floor * (real(z)*real(z) + imag(z)*imag(z) + real(m)*real(m) + imag(m)*imag(m))
		}
	}
}

// blockMarks says which bins hold the marks that the blocks of JPEG, 8 pixels
// wide, leave on the axes of a spectrum: they are no threads.
func blockMarks(size, bin int) []bool {
	marks := make([]bool, size*size)
	block := 8 / bin
	if block < 2 {
		return marks
	}
	for k := size / block; k < size; k += size / block {
		for d := -1; d <= 1; d++ {
			for e := -1; e <= 1; e++ {
				u, v := (k+d)&(size-1), e&(size-1)
				marks[v*size+u], marks[u*size+v] = true, true
			}
		}
	}
	return marks
}

// at returns the power at frequency (u, v) in bins, bilinear. ok is false where
// compression leaves its marks.
func (l *lens) at(u, v float64) (power float64, ok bool) {
	fu, fv := math.Floor(u), math.Floor(v)
	s, t := u-fu, v-fv
	m := l.size - 1 // the size is a power of two
	i, j := int(fu)&m, int(fv)&m
	i1, j1 := (i+1)&m, (j+1)&m
	if l.marks[int(fv+math.Round(t))&m*l.size+int(fu+math.Round(s))&m] {
		return 0, false
	}
	row, next := l.power[j*l.size:], l.power[j1*l.size:]
	top := row[i] + (row[i1]-row[i])*s
	return top + (next[i]+(next[i1]-next[i])*s-top)*t, true
}
