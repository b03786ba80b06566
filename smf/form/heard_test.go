package form_test

import (
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// songIn returns the song in a file's bytes, its parts heard.
func songIn(t testing.TB, data []byte) song.Song {
	t.Helper()
	file, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	s, err := song.From(file)
	if err != nil {
		t.Fatal(err)
	}
	if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
		t.Fatal(err)
	}
	return s
}
