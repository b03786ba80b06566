package recipes_test

import (
	"os"
	"runtime/debug"
	"testing"
)

// TestMain has memory collected seldom: the tests make many drafts and hold none for long.
func TestMain(m *testing.M) {
	debug.SetGCPercent(400)
	os.Exit(m.Run())
}
