//go:build oracles

package oracle

import (
	"fmt"
	"testing"
)

// The text form as midicsv 1.1 prints it, and the messages it stands for.
func TestTextFormBecomesMessages(t *testing.T) {
	tracks, err := parseCSV([]byte(`0, 0, Header, 1, 2, 480
1, 0, Start_track
1, 0, Title_t, "a ""b"" \\ \303\000"
1, 0, Text_t, ""
1, 0, Sequence_number, 4660
1, 0, Channel_prefix, 9
1, 0, MIDI_port, 2
1, 0, SMPTE_offset, 65, 2, 3, 4, 5
1, 0, Time_signature, 6, 3, 36, 8
1, 0, Tempo, 500000
1, 0, Key_signature, -7, "minor"
1, 0, Key_signature, 3, "major"
1, 0, Sequencer_specific, 2, 1, 255
1, 0, Unknown_meta_event, 96, 1, 7
1, 480, End_track
2, 0, Start_track
2, 0, Note_on_c, 15, 60, 100
2, 1, Note_off_c, 0, 60, 64
2, 2, Poly_aftertouch_c, 1, 2, 3
2, 3, Control_c, 2, 74, 127
2, 4, Program_c, 3, 5
2, 5, Channel_aftertouch_c, 4, 6
2, 6, Pitch_bend_c, 5, 8193
2, 7, System_exclusive, 3, 67, 18, 247
2, 8, System_exclusive_packet, 0
2, 9, End_track
0, 0, End_of_file
`))
	if err != nil {
		t.Fatal(err)
	}
	want := `
track
0 ff030a6120226222205c20c300
0 ff0100
0 ff00021234
0 ff200109
0 ff210102
0 ff54054102030405
0 ff580406032408
0 ff510307a120
0 ff5902f901
0 ff59020300
0 ff7f0201ff
0 ff600107
480 ff2f00
track
0 9f3c64
1 803c40
2 a10203
3 b24a7f
4 c305
5 d406
6 e50140
7 f04312f7
8 f7
9 ff2f00
`
	got := "\n"
	for _, track := range tracks {
		got += "track\n"
		for _, e := range track {
			got += fmt.Sprintf("%d %x\n", e.Tick, e.Message)
		}
	}
	if got != want {
		t.Errorf("got%swant%s", got, want)
	}
}

func TestRowsThatAreNotUnderstood(t *testing.T) {
	for _, row := range []string{
		"1, 0, Note_on_c, 0, 60, 100", // before any track
		"1, 0, Start_track\n1, 0, Polka_c, 1",
		"1, 0, Start_track\n1, 0, Note_on_c, 0, 60",
		"1, 0, Start_track\n1, 0, Tempo",
		"1, 0, Start_track\n1, x, Tempo, 1",
		"1, 0, Start_track\n1, 0, Tempo, x",
		"1, 0, Start_track\n1, 0, System_exclusive, 3, 1",
		"1, 0",
	} {
		if tracks, err := parseCSV([]byte(row)); err == nil {
			t.Errorf("%q becomes %v", row, tracks)
		}
	}
}

// A length over 127 takes two bytes, RP-001 p. 2.
func TestLengthsOfMetaEvents(t *testing.T) {
	for n, want := range map[int]string{0: "ff0100", 127: "ff017f", 128: "ff018100", 0x4000: "ff01818000"} {
		if got := fmt.Sprintf("%x", meta(1, make([]byte, n))[:len(want)/2]); got != want {
			t.Errorf("%d bytes: %s, want %s", n, got, want)
		}
	}
}
