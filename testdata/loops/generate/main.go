// Command generate writes the demo loops into testdata/loops below the folder it is run in, or
// into the folder named:
//
//	go run ./testdata/loops/generate
package main

import (
	"fmt"
	"os"
	"path/filepath"

	"loopdraft/testdata/loops/demo"
)

func main() {
	dir := filepath.Join("testdata", "loops")
	if len(os.Args) > 1 {
		dir = os.Args[1]
	}
	if err := write(dir); err != nil {
		fmt.Fprintln(os.Stderr, "generate:", err)
		os.Exit(1)
	}
}

// write makes every loop before it writes the first one.
func write(dir string) error {
	files, err := demo.Files()
	if err != nil {
		return err
	}
	for _, f := range files {
		name := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(name, f.Bytes, 0o644); err != nil {
			return err
		}
	}
	return nil
}
