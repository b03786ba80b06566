package smf_test

import (
	"encoding/binary"
	"encoding/hex"
	"strings"
	"testing"

	"loopdraft/smf"
)

// unhex turns hex into bytes; blanks count for nothing and # starts a comment.
func unhex(tb testing.TB, text string) []byte {
	tb.Helper()
	var digits strings.Builder
	for line := range strings.Lines(text) {
		line, _, _ = strings.Cut(line, "#")
		digits.WriteString(strings.Join(strings.Fields(line), ""))
	}
	b, err := hex.DecodeString(digits.String())
	if err != nil {
		tb.Fatalf("bad hex in the test: %v", err)
	}
	return b
}

// firstEvent is where the events of the first track stand in a file without surprises: 14 bytes
// of header, 8 of the track chunk.
const firstEvent = 22

// file makes a file of 96 ticks a quarter note from its format and its tracks' events in hex.
func file(tb testing.TB, format byte, tracks ...string) []byte {
	tb.Helper()
	b := append([]byte("MThd\x00\x00\x00\x06\x00"), format, 0, byte(len(tracks)), 0, 96)
	for _, t := range tracks {
		b = append(b, chunk("MTrk", unhex(tb, t))...)
	}
	return b
}

func chunk(typ string, data []byte) []byte {
	return append(binary.BigEndian.AppendUint32([]byte(typ), uint32(len(data))), data...)
}

// The two worked examples of RP-001 pp. 12-14.
const rp001Format0 = `
	4D 54 68 64  00 00 00 06  # MThd, 6 bytes
	00 00  00 01  00 60       # format 0, one track, 96 ticks a quarter note
	4D 54 72 6B  00 00 00 3B  # MTrk, 59 bytes
	00 FF 58 04 04 02 18 08   # 4/4, click a quarter note
	00 FF 51 03 07 A1 20      # 500,000 us a quarter note
	00 C0 05                  # channel 1, program 5
	00 C1 2E                  # channel 2, program 46
	00 C2 46                  # channel 3, program 70
	00 92 30 60               # channel 3, key 48 on, velocity 96
	00 3C 60                  # key 60 on, running status
	60 91 43 40               # tick 96: channel 2, key 67 on, velocity 64
	60 90 4C 20               # tick 192: channel 1, key 76 on, velocity 32
	81 40 82 30 40            # tick 384: channel 3, key 48 off, velocity 64
	00 3C 40                  # key 60 off, running status
	00 81 43 40               # channel 2, key 67 off
	00 80 4C 40               # channel 1, key 76 off
	00 FF 2F 00               # end of track
`

const rp001Format1 = `
	4D 54 68 64  00 00 00 06
	00 01  00 04  00 60       # format 1, four tracks, 96 ticks a quarter note
	4D 54 72 6B  00 00 00 14  # 20 bytes: the tempo map
	00 FF 58 04 04 02 18 08
	00 FF 51 03 07 A1 20
	83 00 FF 2F 00            # ends at tick 384
	4D 54 72 6B  00 00 00 10  # 16 bytes
	00 C0 05
	81 40 90 4C 20            # tick 192
	81 40 4C 00               # running status, velocity 0: off
	00 FF 2F 00
	4D 54 72 6B  00 00 00 0F  # 15 bytes
	00 C1 2E
	60 91 43 40               # tick 96
	82 20 43 00
	00 FF 2F 00
	4D 54 72 6B  00 00 00 15  # 21 bytes
	00 C2 46
	00 92 30 60
	00 3C 60
	83 00 30 00
	00 3C 00
	00 FF 2F 00
`

// The packets of RP-001 p. 7: a system exclusive message sent in three parts, and between them
// what the standard's text allows: only time.
const rp001Packets = `
	00 F0 03 43 12 00              # begins
	81 48 F7 06 43 12 00 43 12 00  # 200 ticks later
	64 F7 04 43 12 00 F7           # 100 ticks later, ends
	00 FF 2F 00
`

// odd holds what a file may legally hold and few do.
const odd = `
	00 F0 05 43 12 00 07 F7     # a whole system exclusive message, RP-001 p. 6
	00 F7 01 F8                 # an escape: timing clock
	00 F7 00                    # an escape of nothing
	00 FF 00 02 12 34           # sequence number
	00 FF 00 00                 # sequence number left out
	00 FF 03 00                 # empty track name
	00 FF 20 01 09              # channel prefix
	00 FF 21 01 02              # port
	00 FF 54 05 41 02 03 04 05  # SMPTE offset
	00 FF 59 02 F9 01           # seven flats, minor
	00 FF 59 02 03 FF           # three sharps, mode FFh
	00 FF 60 02 00 01           # type unknown to RP-001
	00 FF 7F 04 00 20 6B 01     # maker's own
	00 FF 7E 00                 # type unknown to all
	00 A0 3C 40                 # polyphonic pressure
	00 B0 07 64                 # controller
	00 0A 40                    # running status
	00 C0 7F                    # program
	00 00                       # running status, one data byte
	00 D0 10                    # channel pressure
	00 E0 00 40                 # bend
	00 90 3C 01                 # on
	00 90 3C 7F                 # the same key again, status repeated though not needed
	00 3C 00                    # off
	FF FF FF 7F 80 3C 00        # the longest delta time
	80 00 80 3C 40              # an over-long zero; a note-off without a note
	00 FF 2F 00
`

func events(f *smf.File) (n int) {
	for i := range f.Tracks {
		n += len(f.Tracks[i].Events)
	}
	return n
}
