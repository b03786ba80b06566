//go:build oracles

package oracle

import (
	"encoding/hex"
	"strings"
	"testing"
)

// smallWAD is a WAD of three lumps; doomwiki.org, "WAD", has the layout.
const smallWAD = `
	50 57 41 44              # "PWAD"
	03 00 00 00              # three lumps
	0C 00 00 00              # the directory is at byte 12
	00 00 00 00  00 00 00 00 # a label: no place, no bytes
	44 5F 53 54 41 52 54 00  # "D_START"
	3C 00 00 00  05 00 00 00 # at byte 60, five bytes
	44 5F 4F 4E 45 00 00 00  # "D_ONE"
	3D 00 00 00  02 00 00 00 # at byte 61, two bytes
	45 49 47 48 54 5F 38 38  # "EIGHT_88", which has no room for a zero
	4D 54 68 64 21           # the five bytes
`

// unhex turns hex into bytes; blanks count for nothing and # starts a comment.
func unhex(t testing.TB, text string) []byte {
	t.Helper()
	var digits strings.Builder
	for line := range strings.Lines(text) {
		line, _, _ = strings.Cut(line, "#")
		digits.WriteString(strings.Join(strings.Fields(line), ""))
	}
	b, err := hex.DecodeString(digits.String())
	if err != nil {
		t.Fatalf("bad hex in the test: %v", err)
	}
	return b
}

func TestLumps(t *testing.T) {
	b := unhex(t, smallWAD)
	lumps, err := lumpsOf(b)
	if err != nil {
		t.Fatal(err)
	}
	want := []lump{{"D_START", nil}, {"D_ONE", []byte("MThd!")}, {"EIGHT_88", []byte("Th")}}
	if len(lumps) != len(want) {
		t.Fatalf("got %d lumps, want %d", len(lumps), len(want))
	}
	for i, l := range lumps {
		if l.name != want[i].name || string(l.data) != string(want[i].data) {
			t.Errorf("lump %d: got %q %q, want %q %q", i+1, l.name, l.data, want[i].name, want[i].data)
		}
	}
	for cut := range b {
		if _, err := lumpsOf(b[:cut]); err == nil {
			t.Errorf("a WAD cut to %d of %d bytes is taken", cut, len(b))
		}
	}
}

func TestMalformedWADs(t *testing.T) {
	for _, tt := range []struct {
		rule, from, to, want string
	}{
		{"another kind of file", "50 57 41 44  ", "52 49 46 46", `byte 0x0: found "RIFF", want "IWAD" or "PWAD", the start of a WAD`},
		{"more lumps than there is room for", "03 00 00 00  ", "FF FF FF FF", "byte 0x4: found 4294967295 lumps, want at most 3, then the directory comes to the end of the file"},
		{"a directory past the end", "0C 00 00 00  ", "42 00 00 00", "byte 0x8: found a directory at byte 0x42, want one inside the 65 bytes of the file"},
		{"a lump past the end", "3D 00 00 00  02", "40 00 00 00  02", `byte 0x2c: found lump "EIGHT_88" of 2 bytes at byte 0x40, want one inside the 65 bytes of the file`},
		{"a lump past four gigabytes", "3D 00 00 00  02 00 00 00", "FF FF FF FF  FF FF FF FF", `byte 0x2c: found lump "EIGHT_88" of 4294967295 bytes at byte 0xffffffff, want one inside the 65 bytes of the file`},
	} {
		_, err := lumpsOf(unhex(t, strings.Replace(smallWAD, tt.from, tt.to, 1)))
		if err == nil || err.Error() != tt.want {
			t.Errorf("%s: got %v, want %s", tt.rule, err, tt.want)
		}
	}
}
