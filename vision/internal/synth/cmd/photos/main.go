// Command photos draws photos with known truth: the demo garment's, or a series
// of random scenes. Beside each NAME.jpg it writes the truth as NAME.json.
//
//	go run ./vision/internal/synth/cmd/photos -demo testdata/demo
//	go run ./vision/internal/synth/cmd/photos -scenes 24 -o DIR
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"secondcut/vision/internal/synth"
)

func main() {
	demo := flag.String("demo", "", "write the demo garment's photos and manifest into this folder")
	scenes := flag.Int("scenes", 0, "how many random scenes to write")
	first := flag.Uint64("first", 1, "number of the first random scene")
	width := flag.Int("width", 2048, "width of random scenes in pixels; the height is 3/4 of it")
	out := flag.String("o", ".", "folder for the random scenes")
	flag.Parse()
	if *demo == "" && *scenes <= 0 {
		flag.Usage()
		os.Exit(2)
	}
	if err := run(*demo, *out, *scenes, *first, *width); err != nil {
		fmt.Fprintln(os.Stderr, "photos:", err)
		os.Exit(1)
	}
}

func run(demo, out string, scenes int, first uint64, width int) error {
	if demo != "" {
		if err := writeDemo(demo); err != nil {
			return err
		}
	}
	for i := range scenes {
		n := first + uint64(i)
		if err := write(out, fmt.Sprintf("scene%03d", n), synth.Rough(n, width, width*3/4)); err != nil {
			return err
		}
	}
	return nil
}

// write draws the scene and writes photo and truth.
func write(dir, name string, s synth.Scene) error {
	photo, err := synth.JPEG(s)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, name+".jpg"), photo, 0o644); err != nil {
		return err
	}
	return writeJSON(filepath.Join(dir, name+".json"), s.Truth(name+".jpg"))
}

func writeJSON(file string, v any) error {
	text, err := json.MarshalIndent(v, "", " ")
	if err != nil {
		return err
	}
	return os.WriteFile(file, append(text, '\n'), 0o644)
}
