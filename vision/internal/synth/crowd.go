package synth

// Version goes up whenever a scene of the same number gives another photo: drawn
// scenes are kept in files, and those of another version are drawn anew.
const Version = 3

// Crowd returns scene n of the crowd by which accuracy is judged: Rough ones as
// phones take them, most of 12 megapixels, one in five of 3, as messengers send
// them, and one in a hundred of 48.
func Crowd(n uint64) Scene {
	width := 4000
	switch {
	case n%100 == 12:
		width = 8000
	case n%5 == 3:
		width = 2048
	}
	return Rough(n, width, width*3/4)
}
