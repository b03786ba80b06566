package oracle

import (
	"os"
	"runtime/debug"
	"testing"
)

// Main runs the tests of a package with memory collected seldom: they make many songs and recordings and hold none for
// long. It is for a TestMain.
func Main(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
