//go:build !linux && !darwin

package main

import (
	"io"
	"os"
)

// terminalWidth tells whether w is a terminal (a character device other than the null device);
// its width is not known here.
func terminalWidth(w io.Writer) (int, bool) {
	f, ok := w.(*os.File)
	if !ok {
		return 0, false
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return 0, false
	}
	null, err := os.Stat(os.DevNull)
	return 0, err != nil || !os.SameFile(info, null)
}
