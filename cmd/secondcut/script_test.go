package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"secondcut/vision"
)

func TestMain(m *testing.M) {
	// The service runs its own program for each photo, which is this one here.
	if os.Getenv(asProgram) != "" {
		main()
	}
	if len(os.Args) > 1 && os.Args[1] == childVerb {
		os.Exit(run(context.Background(), os.Args[1:]))
	}
	testscript.Main(m, map[string]func(){"secondcut": func() { os.Exit(run(context.Background(), os.Args[1:])) }})
}

// TestScripts runs the command line as a person would type it. Each script finds
// in its folder the files that badPictures writes, and a link "demo" to the demo
// photos.
func TestScripts(t *testing.T) {
	demo, err := filepath.Abs("../../testdata/demo")
	if err != nil {
		t.Fatal(err)
	}
	garments := filepath.Join(filepath.Dir(demo), "garments")
	testscript.Run(t, testscript.Params{
		Dir:  "testdata/script",
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"status": status},
		Setup: func(env *testscript.Env) error {
			env.Setenv("DEMO", demo)
			env.Setenv("GARMENTS", garments)
			env.Setenv("XDG_DATA_HOME", env.WorkDir)
			return badPictures(env.WorkDir)
		},
	})
}

// status runs a command that must end with the exit code named first.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status CODE COMMAND...")
	}
	got := "0"
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = strconv.Itoa(exit.ExitCode())
	}
	if got != args[0] {
		ts.Fatalf("exit code %s, want %s", got, args[0])
	}
}

// badPictures writes pictures that must be refused: plain.jpg shows neither card
// nor cloth, cut.jpg ends half way, huge.jpg claims 300 megapixels, big.jpg has
// 200 MB, empty.jpg has no byte, diary.jpg is a text.
func badPictures(dir string) error {
	p := &vision.Photo{Width: 800, Height: 600, BGR: bytes.Repeat([]byte{90, 120, 160}, 800*600)}
	plain, err := vision.EncodeJPEG(p, 90)
	if err != nil {
		return err
	}
	huge := bytes.Clone(plain)
	frame := bytes.Index(huge, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(huge[frame+5:], 15000)
	binary.BigEndian.PutUint16(huge[frame+7:], 20000)
	files := map[string][]byte{
		"plain.jpg": plain, "cut.jpg": plain[:len(plain)/2], "huge.jpg": huge,
		"empty.jpg": {}, "diary.jpg": []byte("Today I unpicked the sleeve."),
	}
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			return err
		}
	}
	big, err := os.Create(filepath.Join(dir, "big.jpg"))
	if err != nil {
		return err
	}
	defer big.Close()
	return big.Truncate(200 << 20) // a hole: it takes no room on the disk
}
