package recipes_test

import (
	"testing"

	"loopdraft/recipes"
)

func TestParseLength(t *testing.T) {
	for _, row := range []struct {
		text   string
		bars   int
		micros int64
		ok     bool
	}{
		{"192 bars", 192, 0, true},
		{"1 bar", 1, 0, true},
		{"9999 bars", 9999, 0, true},
		{"6m30s", 0, 390_000_000, true},
		{"90s", 0, 90_000_000, true},
		{"10000 bars", 0, 0, false},
		{"0 bars", 0, 0, false},
		{"-8 bars", 0, 0, false},
		{"192", 0, 0, false},
		{"6:30", 0, 0, false},
		{"", 0, 0, false},
	} {
		bars, micros, err := recipes.ParseLength(row.text)
		if bars != row.bars || micros != row.micros || (err == nil) != row.ok {
			t.Errorf("%q: got %d bars, %d microseconds, %v", row.text, bars, micros, err)
		}
	}
}
