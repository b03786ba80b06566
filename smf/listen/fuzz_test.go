package listen_test

import (
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
	"loopdraft/smf/song/songtest"
)

func seeds(f *testing.F) {
	for _, text := range []string{groove, `"" 10 36 x.x.......xx....
		"" 10 38 ....X..o.o..X..o`, `"Amen" 2 36 x.x.x.x.`} {
		b, err := loop(f, text).Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	b, _ := timed(track(5*bar, bar-5, 2*bar), track(3*bar, 0, 2*bar)).Encode()
	f.Add(b)
}

// Whatever is heard, every note is in one part, the file is the same, and what was heard, written out,
// is heard again.
func FuzzHear(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		s, ok := songtest.Decoded(b)
		if !ok {
			return
		}
		heard, r, err := listen.Hear(s, listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkPartition(t, s, heard)
		checkWritten(t, s, listen.Loop{}, heard, r)
	})
}

// A loop that is found can be written, is a loop of the same length when read again, and can be heard.
func FuzzFindLoop(f *testing.F) {
	seeds(f)
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := smf.Decode(b)
		if err != nil {
			return
		}
		found, l, _, err := listen.FindLoop(file, listen.LoopOptions{})
		if err != nil {
			return
		}
		if l.Bars < 1 || l.Len < 1 || len(l.Cycles) != len(found.Tracks) {
			t.Fatalf("found %+v", l)
		}
		if _, err := found.Encode(); err != nil {
			t.Fatal(err)
		}
		_, again, _, err := listen.FindLoop(found, listen.LoopOptions{LoopBars: l.Bars})
		if err != nil || again.Len != l.Len {
			t.Fatalf("found %+v, then %+v, %v", l, again, err)
		}
		s, err := song.From(found)
		if err != nil {
			return
		}
		heard, _, err := listen.Hear(s, listen.Options{Loop: l})
		if err != nil {
			t.Fatal(err)
		}
		checkPartition(t, s, heard)
	})
}
