package oracle

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
)

// examples holds the tunes that come with Debian's abcmidi (GPL-2 or later).
const examples = "/usr/share/doc/abcmidi/examples"

// Tune is a tune whose parts are written in its source, unfolded by abc2midi to a file at 480 ticks a
// quarter note.
type Tune struct {
	File
	Form   string  // which part is played when
	Starts []int64 // the ticks at which the parts begin, the first left out
}

// Tunes returns seven tunes. Their parts begin where a controller comes to lie that is written after each
// P: or repeat sign of the source. If they cannot be had the test is skipped or failed, see [Need].
func Tunes(t testing.TB) []Tune {
	t.Helper()
	Need(t, "abc2midi")
	var out []Tune
	for _, row := range []struct {
		file   string
		number int
		form   string
		starts []int64
	}{
		{"demo", 1, "AABBCC", []int64{7680, 15360, 23040, 30720, 38400}},
		{"demo", 2, "AABB, two endings", []int64{15360, 30720, 46080}},
		{"demo", 5, "ABABAB", []int64{14880, 30720, 45600, 61440, 76320}},
		{"demo", 6, "AABB", []int64{15360, 30720, 46080}},
		{"boys", 3, "AABB", []int64{11520, 23040, 34560}},
		{"dergasn", 145, "AABB, upbeats", []int64{11400, 22920, 34440}},
		{"baym_rebin", 63, "AABBCC", []int64{15360, 30720, 46080, 61440, 76800}},
	} {
		source := filepath.Join(examples, row.file+".abc")
		if _, err := os.Stat(source); err != nil {
			lack(t, "no "+source+": install Debian's abcmidi with its documentation")
		}
		path := filepath.Join(t.TempDir(), row.file+strconv.Itoa(row.number)+".mid")
		if text, err := exec.Command("abc2midi", source, strconv.Itoa(row.number), "-o", path).CombinedOutput(); err != nil {
			t.Fatalf("abc2midi %s: %v\n%s", source, err, text)
		}
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, Tune{File{filepath.Base(path), path, b}, row.form, row.starts})
	}
	return out
}
