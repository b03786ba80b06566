//go:build !oracles

package main

import (
	"testing"

	"loopdraft/smf/oracle"
)

// TestPagesInABrowser stands for the tests that drive Chromium. They are built with the tag oracles, so that a first run
// does not compile what drives it.
func TestPagesInABrowser(t *testing.T) {
	oracle.Need(t, "chromium")
	t.Fatal("pages are tried with -tags oracles")
}
