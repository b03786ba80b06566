//go:build oracles

package recipes

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// 10 dB less is half as loud, so that 1.5 dB either way is a tenth less and a ninth more.
func TestParseEnergy(t *testing.T) {
	for _, tt := range []struct {
		texts   string // apart by commas
		units   int
		want    string // the range of each unit, in tenths
		against string
	}{
		{"52%..58%", 2, "520..580 520..580", ""},
		{"50%", 1, "450..554", ""},
		{"-10 dB..0 dB", 1, "500..1000", ""},
		{"-20dB..-10.0 dB", 1, "250..500", ""},
		{"7 dB..9 dB under drop 1", 1, "-90..-70", "drop 1"},
		{"1.5 dB over groove", 1, "0..30", "groove 0"},
		{"60%..70% to 75%..85%", 4, "600..700 650..750 700..800 750..850", ""},
		{"95%..100%,86%..97%", 3, "950..1000 860..970 950..1000", ""},
		{"150%..150%", 1, "1500..1500", ""},
		{"1%..2%", 1, "10..20", ""},
		{"rising", 1, "0..0", ""},
	} {
		e, err := parseEnergy(strings.Split(tt.texts, ",")...)
		if err != nil {
			t.Errorf("%s: %v", tt.texts, err)
			continue
		}
		var got []string
		for k := range tt.units {
			low, high := e.unit(k, tt.units)
			got = append(got, fmt.Sprintf("%d..%d", low, high))
		}
		against := ""
		if name, nth, _ := e.against(); name != "" {
			against = fmt.Sprint(name, " ", nth)
		}
		if text := strings.Join(got, " "); text != tt.want || against != tt.against {
			t.Errorf("%s: got %s against %q, want %s against %q", tt.texts, text, against, tt.want, tt.against)
		}
	}
}

func TestUnits(t *testing.T) {
	for _, tt := range []struct {
		bars, phrase int
		want         []int // lengths
	}{
		{32, 8, []int{8, 8, 8, 8}}, {20, 8, []int{4, 8, 8}}, {16, 8, []int{4, 4, 4, 4}}, {12, 8, []int{4, 4, 4}},
		{8, 8, []int{2, 2, 2, 2}}, {5, 8, []int{1, 2, 2}}, {1, 8, []int{1}}, {4, 4, []int{2, 2}}, {2, 1, []int{1, 1}},
	} {
		var got []int
		for _, u := range unitsOf(tt.bars, tt.phrase) {
			got = append(got, u.last-u.first+1)
		}
		if !slices.Equal(got, tt.want) {
			t.Errorf("%d bars in phrases of %d: got %v, want %v", tt.bars, tt.phrase, got, tt.want)
		}
	}
}
