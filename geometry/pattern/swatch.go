package pattern

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image/jpeg"
	"maps"
	"slices"
)

// Bounds of the pictures of cloths that a garment file may hold.
const (
	// MaxSwatches is how many there may be.
	MaxSwatches = 20
	// MaxSwatchBytes is how many bytes one may have.
	MaxSwatchBytes = 512 << 10
	// MaxSwatchPx is the longest side that one may have in pixels: 300 to the inch where
	// a making sheet prints it.
	MaxSwatchPx = 640
)

// Swatches are small photos of cloths, as JPEG, by the name that cloths refer to: see
// [SwatchName].
type Swatches map[string][]byte

// SwatchName returns what a picture goes by: the SHA-256 of its bytes in hexadecimal.
func SwatchName(picture []byte) string {
	sum := sha256.Sum256(picture)
	return hex.EncodeToString(sum[:])
}

// checkSwatches validates pictures without decoding their pixels.
func checkSwatches(all Swatches, cloths []Cloth) error {
	if len(all) > MaxSwatches {
		return wrong("swatches", "are %d; there may be %d", len(all), MaxSwatches)
	}
	named := map[string]bool{"": true}
	for i, c := range cloths {
		if named[c.Swatch] = true; len(named) > MaxSwatches+1 {
			return wrong(fmt.Sprintf("cloths[%d].swatch", i), "is one photo of a cloth too many; there may be %d", MaxSwatches)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(all)) {
		if err := checkSwatch(fmt.Sprintf("swatches[%.12q]", name), name, all[name]); err != nil {
			return err
		}
	}
	return nil
}

func checkSwatch(field, name string, picture []byte) error {
	if len(picture) > MaxSwatchBytes {
		return wrong(field, "has %d bytes; it may have %d", len(picture), MaxSwatchBytes)
	}
	if SwatchName(picture) != name {
		return wrong(field, "is not the picture that its name, a SHA-256, stands for")
	}
	c, err := jpeg.DecodeConfig(bytes.NewReader(picture))
	if err != nil {
		return wrong(field, "is no JPEG")
	}
	if long := max(c.Width, c.Height); long > MaxSwatchPx || min(c.Width, c.Height) < 1 {
		return wrong(field, "is %d x %d pixels; a side may have 1 to %d", c.Width, c.Height, MaxSwatchPx)
	}
	return nil
}

// checkSwatchName validates what a cloth says of its picture, which need not be there.
func checkSwatchName(field, name string) error {
	sum, err := hex.DecodeString(name)
	if name == "" || err == nil && len(sum) == sha256.Size && name == hex.EncodeToString(sum) {
		return nil
	}
	return wrong(field, "is %.70q; it names a picture by its SHA-256, 64 characters of 0 to 9 and a to f", name)
}

// RenamedSwatches returns the cloths with the names of their pictures replaced; a picture that is
// not in the table is let go.
func RenamedSwatches(cloths []Cloth, now map[string]string) []Cloth {
	out := slices.Clone(cloths)
	for i := range out {
		out[i].Swatch = now[out[i].Swatch]
	}
	return out
}
