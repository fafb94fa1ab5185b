package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// writeFile lets write fill the named file, or stdout when name is empty or "-".
// The file appears whole or not at all: it is written under another name in the
// same folder and renamed.
func writeFile(stdout io.Writer, name string, write func(io.Writer) error) (err error) {
	if name == "" || name == "-" {
		return write(stdout)
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), ".secondcut-*")
	if err != nil {
		return fmt.Errorf("cannot write %s: %w", name, err)
	}
	defer func() {
		if err != nil {
			_ = tmp.Close()
			_ = os.Remove(tmp.Name())
		}
	}()
	b := bufio.NewWriter(tmp)
	if err := write(b); err != nil {
		return err
	}
	if err := b.Flush(); err != nil {
		return fmt.Errorf("cannot write %s: %w", name, err)
	}
	if err := tmp.Chmod(0o644); err != nil {
		return err
	}
	if err := tmp.Close(); err != nil {
		return fmt.Errorf("cannot write %s: %w", name, err)
	}
	return os.Rename(tmp.Name(), name)
}
