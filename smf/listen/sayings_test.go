//go:build oracles

package listen

import "testing"

func TestTrackNamesSayKitsOrNothing(t *testing.T) {
	for _, row := range []struct {
		name                  string
		kit, ofBreak, generic bool
	}{
		{"Drums", true, false, false},
		{"Drum Kit", true, false, false},
		{"909 Kit", true, false, false},
		{"Beat", true, false, false},
		{"Kick & Snare", true, false, false},
		{"Kick/Hat", true, false, false},
		{"Amen Break", true, true, false},
		{"sliced", true, true, false},
		{"Schlagzeug", true, false, false},
		{"Batería", true, false, false},
		{"Slagverk", true, false, false},
		{"ドラム", true, false, false},
		{"Rhythm Guitar", false, false, false},
		{"Drums/Bass", true, false, false},
		{"Spur 3", false, false, true},
		{"Sp\xe5r 1", false, false, true},
		{"Staff-1", false, false, true},
		{"Kick Drum", false, false, false},
		{"Hat and Hat", false, false, false},
		{"Track 1", false, false, true},
		{"MIDI Ch 10", false, false, true},
		{"Untitled", false, false, true},
		{"909", false, false, true},
		{"", false, false, true},
		{"Harbour", false, false, false},
	} {
		got := nameSays(row.name)
		if got.kit != row.kit || got.ofBreak != row.ofBreak || got.generic != row.generic {
			t.Errorf("%q: kit %v, break %v, generic %v; want %v, %v, %v", row.name, got.kit, got.ofBreak, got.generic, row.kit, row.ofBreak, row.generic)
		}
	}
}

// Keys and names: General MIDI percussion map, RP-003 table 3; 82: RP-024 appendix B.
func TestPercussionNames(t *testing.T) {
	for _, row := range []struct {
		key  uint8
		name string
	}{
		{35, "Acoustic Bass Drum"}, {36, "Bass Drum 1"}, {37, "Side Stick"},
		{38, "Acoustic Snare"}, {39, "Hand Clap"}, {40, "Electric Snare"},
		{42, "Closed Hi Hat"}, {44, "Pedal Hi-Hat"}, {46, "Open Hi-Hat"},
		{49, "Crash Cymbal 1"}, {51, "Ride Cymbal 1"}, {52, "Chinese Cymbal"},
		{53, "Ride Bell"}, {54, "Tambourine"}, {55, "Splash Cymbal"},
		{56, "Cowbell"}, {57, "Crash Cymbal 2"}, {59, "Ride Cymbal 2"},
		{41, "Low Floor Tom"}, {50, "High Tom"}, {69, "Cabasa"},
		{70, "Maracas"}, {75, "Claves"}, {82, "Shaker"},
	} {
		if got := percussionName(row.key); got != row.name {
			t.Errorf("key %d: got %q, want %q", row.key, got, row.name)
		}
	}
	for key := uint8(0); key < 128; key++ {
		inMap := key >= 27 && key <= 87
		if got := percussionName(key); (got != "") != inMap {
			t.Errorf("key %d: got %q; want names for keys 27 to 87", key, got)
		}
	}
}
