//go:build !oracles

package reference_test

import (
	"testing"

	"loopdraft/smf/oracle"
)

// TestSchemasByAValidator stands for the tests that ask a validator of JSON schemas. They are built with the tag oracles,
// so that a first run does not compile it.
func TestSchemasByAValidator(t *testing.T) {
	if oracle.Size(0, 1, 1) > 0 {
		t.Fatal("schemas are checked with -tags oracles")
	}
}
