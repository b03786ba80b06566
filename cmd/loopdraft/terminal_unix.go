//go:build linux || darwin

package main

import (
	"io"
	"os"
	"syscall"
	"unsafe"
)

// terminalWidth returns the columns of the terminal w writes to, 0 if it does not say, and whether
// w is a terminal.
func terminalWidth(w io.Writer) (int, bool) {
	f, ok := w.(*os.File)
	if !ok {
		return 0, false
	}
	var size struct{ rows, columns, x, y uint16 }
	_, _, fault := syscall.Syscall(syscall.SYS_IOCTL, f.Fd(), syscall.TIOCGWINSZ, uintptr(unsafe.Pointer(&size)))
	return int(size.columns), fault == 0
}
