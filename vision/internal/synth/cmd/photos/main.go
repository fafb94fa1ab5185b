// Command photos draws photos with known truth: the demo garment's, or a series
// of rough scenes. Beside each NAME.jpg it writes the truth as NAME.json. Scenes
// that are there already are kept, unless another version of the renderer drew
// them.
//
//	go run ./vision/internal/synth/cmd/photos -demo testdata/demo
//	go run ./vision/internal/synth/cmd/photos -sewn testdata/sewn
//	go run ./vision/internal/synth/cmd/photos -things testdata/things
//	go run ./vision/internal/synth/cmd/photos -scenes 24 -o DIR
package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"secondcut/vision/internal/synth"
)

func main() {
	demo := flag.String("demo", "", "write the demo garment's photos and manifest into this folder")
	sewn := flag.String("sewn", "", "write the photo of a piece with needle holes into this folder")
	things := flag.String("things", "", "write the photo of a piece beside things of known size into this folder")
	scenes := flag.Int("scenes", 0, "how many scenes to write")
	first := flag.Uint64("first", 1, "number of the first scene")
	width := flag.Int("width", 0, "width of all scenes in pixels, the height is 3/4 of it; 0 gives them the sizes of the crowd")
	clutter := flag.Bool("clutter", false, "lay things about in the scenes that are no cloth")
	out := flag.String("o", ".", "folder for the scenes")
	flag.Parse()
	if *demo == "" && *sewn == "" && *things == "" && *scenes <= 0 {
		flag.Usage()
		os.Exit(2)
	}
	if *sewn != "" {
		if err := write(*sewn, "sewn", sewnScene()); err != nil {
			fmt.Fprintln(os.Stderr, "photos:", err)
			os.Exit(1)
		}
	}
	if *things != "" {
		if err := writeThings(*things); err != nil {
			fmt.Fprintln(os.Stderr, "photos:", err)
			os.Exit(1)
		}
	}
	if err := run(*demo, *out, *scenes, *first, *width, *clutter); err != nil {
		fmt.Fprintln(os.Stderr, "photos:", err)
		os.Exit(1)
	}
}

func run(demo, out string, scenes int, first uint64, width int, clutter bool) error {
	if demo != "" {
		if err := writeDemo(demo); err != nil {
			return err
		}
	}
	if scenes <= 0 {
		return nil
	}
	if err := renew(out); err != nil {
		return err
	}
	for i := range uint64(scenes) {
		if err := add(out, first+i, width, clutter); err != nil {
			return err
		}
	}
	return nil
}

// renew makes the folder and clears it of what another version of the renderer
// drew.
func renew(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	note := filepath.Join(dir, "version")
	text, err := os.ReadFile(note)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	if strings.TrimSpace(string(text)) == strconv.Itoa(synth.Version) {
		return nil
	}
	old, err := filepath.Glob(filepath.Join(dir, "scene*.j*"))
	if err != nil {
		return err
	}
	for _, f := range old {
		if err := os.Remove(f); err != nil {
			return err
		}
	}
	return os.WriteFile(note, fmt.Appendln(nil, synth.Version), 0o644)
}

// add writes scene n unless it is there. The truth is written last, so that a
// scene with a truth is whole.
func add(dir string, n uint64, width int, clutter bool) error {
	name := fmt.Sprintf("scene%03d", n)
	if _, err := os.Stat(filepath.Join(dir, name+".json")); err == nil {
		return nil
	}
	scene := synth.Crowd(n)
	if width > 0 {
		scene = synth.Rough(n, width, width*3/4)
	}
	if clutter {
		scene = synth.Cluttered(n, scene.Width, scene.Height)
	}
	return write(dir, name, scene)
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
