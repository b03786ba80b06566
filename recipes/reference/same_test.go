package reference_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"loopdraft/recipes/reference"
)

func TestSchemaIsAlwaysTheSame(t *testing.T) {
	first := reference.Schema()
	if !json.Valid(first) || !bytes.Equal(first, reference.Schema()) {
		t.Error("two schemas differ, or are none")
	}
}
