//go:build oracles

package listen

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// kostka returns the profiles that Temperley, Music and Probability, 2007, made of the corpus of Kostka
// and Payne, times 1000.
func kostka() (major, minor profile) {
	return profile{748, 60, 488, 82, 670, 460, 96, 715, 104, 366, 57, 400},
		profile{712, 84, 474, 618, 49, 460, 105, 747, 404, 67, 133, 330}
}

// signature returns the first key signature of a song (FF 59: sharps, less flats; 1 for minor: RP-001).
func signature(s song.Song) (Key, bool) {
	for _, t := range s.Tracks {
		for _, e := range t.Events {
			if kind, meta := e.MetaType(); meta && kind == 0x59 {
				data := t.Long(e)
				fifths, minor := int(int8(data[0])), data[1] == 1
				if minor {
					fifths += 3 // the relative major is a minor third above
				}
				return Key{uint8(((7*fifths)%12 + 12) % 12), minor}, true
			}
		}
	}
	return Key{}, false
}

// relations are what a key heard can be to the right one, in the order of tables.
func relations() []string { return []string{"exact", "fifth", "relative", "parallel", "other"} }

// relationOf returns what a key is to the right one, and what that scores: 1, a fifth above 0.5, the
// relative 0.3, the parallel 0.2 (mir_eval key.py, which has it from MIREX). A fifth below scores nothing.
func relationOf(right, heard Key) (string, float64) {
	up := (int(heard.Tonic) - int(right.Tonic) + 12) % 12
	relative := 9
	if right.Minor {
		relative = 3
	}
	switch same := right.Minor == heard.Minor; {
	case same && up == 0:
		return "exact", 1
	case same && up == 7:
		return "fifth", .5
	case !same && up == relative:
		return "relative", .3
	case !same && up == 0:
		return "parallel", .2
	}
	return "other", 0
}

func TestRelationsOfKeys(t *testing.T) {
	for _, row := range []struct {
		right, heard Key
		want         string
	}{
		{Key{0, false}, Key{0, false}, "exact"}, {Key{0, false}, Key{7, false}, "fifth"}, {Key{0, false}, Key{5, false}, "other"},
		{Key{0, false}, Key{9, true}, "relative"}, {Key{9, true}, Key{0, false}, "relative"}, {Key{5, true}, Key{5, false}, "parallel"},
		{Key{0, false}, Key{7, true}, "other"},
	} {
		if got, _ := relationOf(row.right, row.heard); got != row.want {
			t.Errorf("%s heard as %s: got %s, want %s", row.right, row.heard, got, row.want)
		}
	}
}

// keysBy compares the key heard in files with the key signature they carry, by each of the published
// profiles, those of dance music, which are in use, last. It returns how many of the keys heard by these are
// exact, their mean score, and how many files have a signature.
func keysBy(t *testing.T, files []oracle.File) (exact int, score float64, signed int) {
	t.Helper()
	profiles := []struct {
		name string
		of   func() (major, minor profile)
	}{{"Krumhansl-Kessler", krumhansl}, {"Temperley", temperley}, {"Kostka-Payne", kostka}, {"dance music", danceProfiles}}
	counts, scores := make([]map[string]int, len(profiles)), make([]float64, len(profiles))
	var table strings.Builder
	for _, f := range files {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s, err := song.From(file)
		if err != nil {
			t.Fatal(err)
		}
		right, ok := signature(s)
		if !ok {
			continue
		}
		if s, _, err = Hear(s, Options{}); err != nil {
			t.Fatal(err)
		}
		signed++
		fmt.Fprintf(&table, "%-28s %-8s", f.Name, right)
		for i, p := range profiles {
			major, minor := p.of()
			heard, _ := keyOf(durations(s), major, minor)
			relation, score := relationOf(right, heard)
			if counts[i] == nil {
				counts[i] = map[string]int{}
			}
			counts[i][relation]++
			scores[i] += score
			fmt.Fprintf(&table, "  %-8s %-8s", heard, relation)
		}
		table.WriteByte('\n')
	}
	for i, p := range profiles {
		scores[i] /= float64(max(signed, 1))
		fmt.Fprintf(&table, "%-18s", p.name)
		for _, r := range relations() {
			fmt.Fprintf(&table, " %s %d,", r, counts[i][r])
		}
		fmt.Fprintf(&table, " score %.3f\n", scores[i])
	}
	t.Logf("key signature, and the key by each profile:\n%s", table.String())
	used := len(profiles) - 1
	return counts[used]["exact"], scores[used], signed
}

// TestKeysOfRealSongs: in three of the songs, all with a signature of a major key, more minor than major
// thirds sound, as in blues.
func TestKeysOfRealSongs(t *testing.T) {
	var files []oracle.File
	for _, f := range oracle.RealFiles(t) {
		if strings.Contains(f.Path, "openmsx") {
			files = append(files, f)
		}
	}
	if exact, score, signed := keysBy(t, files); signed != 11 || exact < 7 || score < .69 {
		t.Errorf("got %d of %d keys right and a score of %.3f, want 7 of 11 and 0.69", exact, signed, score)
	}
}

// TestKeysOfDemoLoops: the profiles made from dance music hear more of these right than any other does.
func TestKeysOfDemoLoops(t *testing.T) {
	var files []oracle.File
	paths, err := filepath.Glob("../../testdata/loops/*.mid")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, oracle.File{Name: filepath.Base(path), Path: path, Bytes: data})
	}
	if exact, score, signed := keysBy(t, files); signed != 6 || exact < 5 || score < .88 {
		t.Errorf("got %d of %d keys right and a score of %.3f, want 5 of 6 and 0.88", exact, signed, score)
	}
}
