package weave

import "math"

// profile is a value for each direction, half a degree apart, from +x.
type profile [angles]float64

const perDegree = angles / 180

func (p *profile) at(i int) float64 { return p[(i%angles+angles)%angles] }

// mean returns the mean over the directions from i up to and including j.
func (p *profile) mean(i, j int) float64 {
	var sum float64
	for k := i; k <= j; k++ {
		sum += p.at(k)
	}
	return sum / float64(j-i+1)
}

// rise returns how far each direction stands above those 10 to 20 degrees to
// both sides of it: what is left of a direction that lens, shake or compression
// favours gently is nothing, threads keep their height.
func (p *profile) rise() profile {
	var out profile
	for i := range out {
		side := p.mean(i-20*perDegree, i-10*perDegree) + p.mean(i+10*perDegree, i+20*perDegree)
		out[i] = p.mean(i-perDegree, i+perDegree) - side/2
	}
	return out
}

// peak is a direction in which the cloth's texture runs.
type peak struct {
	deg, height float64
}

// peaks returns the local maxima, highest first, none within 10 degrees of a
// higher one.
func (p *profile) peaks(most int) []peak {
	left := *p
	var out []peak
	for len(out) < most {
		top := 0
		for i, v := range left {
			if v > left[top] {
				top = i
			}
		}
		if math.IsInf(left[top], -1) || p.at(top) < p.at(top-1) || p.at(top) < p.at(top+1) {
			if math.IsInf(left[top], -1) {
				break
			}
			left[top] = math.Inf(-1)
			continue
		}
		out = append(out, peak{p.centre(top), p[top]})
		for d := -10 * perDegree; d <= 10*perDegree; d++ {
			left[((top+d)%angles+angles)%angles] = math.Inf(-1)
		}
	}
	return out
}

// centre returns the direction in degrees of the peak about index top: the
// centroid of what stands above half its height.
func (p *profile) centre(top int) float64 {
	half := p[top] / 2
	var sum, weight float64
	for _, dir := range [2]int{-1, 1} {
		for d := dir; d*dir <= 8*perDegree && p.at(top+d) > half; d += dir {
			w := p.at(top+d) - half
			sum += w * float64(d)
			weight += w
		}
	}
	weight += half
	return turn180((float64(top) + sum/weight) / perDegree)
}

// turn180 brings a direction into [0, 180).
func turn180(deg float64) float64 {
	deg = math.Mod(deg, 180)
	if deg < 0 {
		deg += 180
	}
	if deg >= 180 { // a negative too small to change 180
		deg = 0
	}
	return deg
}

// near returns the greatest value within 3 degrees of a direction.
func (p *profile) near(deg float64) float64 {
	i := int(math.Round(turn180(deg) * perDegree))
	top := math.Inf(-1)
	for d := -3 * perDegree; d <= 3*perDegree; d++ {
		top = math.Max(top, p.at(i+d))
	}
	return top
}

// agrees reports whether a peak lies within a degree and a half of a direction.
func (p *profile) agrees(deg float64) bool {
	for _, k := range p.peaks(5) {
		if apart(k.deg, deg) <= 1.5 {
			return true
		}
	}
	return false
}
