package smf

import (
	"fmt"
	"strings"
)

// maxWarnings bounds the memory that a file with a flaw in every track can ask for.
const maxWarnings = 100

// Warning is an oddity that was repaired or read past; the result is usable.
type Warning struct {
	Track  int   // from 1; 0: the file as a whole
	Offset int64 // bytes from the start of the file; -1: no one place
	Text   string
}

// String returns the warning in one line: track and byte as far as known, then the text.
func (w Warning) String() string { return place(w.Track, "", w.Offset) + w.Text }

// Error is a refusal: the file means nothing certain from this byte on.
type Error struct {
	Track  int    // from 1; 0: not inside a track
	Name   string // the track's name, if it stood before the fault
	Offset int64  // bytes from the start of the file
	Found  string
	Want   string
}

// Error returns the refusal in one line: where, what was found, what was wanted.
func (e *Error) Error() string {
	return fmt.Sprintf("%sfound %s, want %s", place(e.Track, e.Name, e.Offset), e.Found, e.Want)
}

// place is the beginning of every message about a file, such as `track 2 "bass", byte 0x1a4: `.
func place(track int, name string, offset int64) string {
	var s strings.Builder
	if track > 0 {
		fmt.Fprintf(&s, "track %d", track)
		if name != "" {
			fmt.Fprintf(&s, " %q", name)
		}
	}
	if offset >= 0 {
		if track > 0 {
			s.WriteString(", ")
		}
		fmt.Fprintf(&s, "byte %#x", offset)
	}
	if s.Len() > 0 {
		s.WriteString(": ")
	}
	return s.String()
}
