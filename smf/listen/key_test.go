package listen_test

import (
	"testing"

	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

func TestKeyOf(t *testing.T) {
	for _, row := range []struct{ name, grid, want string }{
		{"a bass and chords in A minor", `
			bass:45 x---------------
			pad:60 x---------------
			pad:64 x-------........
			pad:57 x---------------`, "A minor"},
		{"drums have no key", "kick x...x...x...x...\nhat:45 ..x...x...x...x.", ""},
		{"nor has silence", "pad ................", ""},
		{"drums beside the music do not count", `
			kick:37 x---------------
			bass:43 x---------------
			pad:62 x---............`, "G minor"},
		{"nor do vocals", `
			vocal:61 x---------------
			bass:43 x---............
			pad:62 x...............`, "G minor"},
		{"nor does a key switch", `
			lead:13 x---------------
			lead:67 x---x---x---....
			lead:74 ............x---`, "G minor"},
		{"a deep sub alone is no key switch", "sub:23 x---------------", "B minor"},
		{"all pitch classes alike are no key", `
			lead:60 x.
			lead:61 x.
			lead:62 x.
			lead:63 x.
			lead:64 x.
			lead:65 x.
			lead:66 x.
			lead:67 x.
			lead:68 x.
			lead:69 x.
			lead:70 x.
			lead:71 x.`, ""},
	} {
		t.Run(row.name, func(t *testing.T) {
			s, err := song.ParseGrid(row.grid)
			if err != nil {
				t.Fatal(err)
			}
			got := ""
			if key, ok := listen.KeyOf(s); ok {
				got = key.String()
			}
			if got != row.want {
				t.Errorf("got %q, want %q", got, row.want)
			}
		})
	}
}

func TestDegrees(t *testing.T) {
	for _, row := range []struct {
		key          listen.Key
		degree, want int
	}{
		{listen.Key{0, false}, 1, 0}, {listen.Key{0, false}, 3, 4}, {listen.Key{0, false}, 7, 11}, {listen.Key{0, false}, 8, 12},
		{listen.Key{9, true}, 3, 3}, {listen.Key{9, true}, 6, 8}, {listen.Key{9, true}, 7, 10}, {listen.Key{9, true}, 10, 15}, {listen.Key{9, true}, 0, 0},
	} {
		if got := row.key.Degree(row.degree); got != row.want {
			t.Errorf("degree %d of %s is %d semitones up, want %d", row.degree, row.key, got, row.want)
		}
	}
}
