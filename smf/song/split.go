package song

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf"
)

// NamedFile is a file with a name to store it under: lower-case letters, digits and hyphens, without
// an ending.
type NamedFile struct {
	Name string
	File *smf.File
}

// Split returns one file for each track, for programs that take a track at a time. Each has the
// song's full length from bar 1, begins with its name at tick 0, so that no program takes the
// silence before its first note for nothing, and carries the conductor events of the whole song:
// tempo, metre, key, SMPTE offset and markers, before the track's own events of the same tick.
//
// Tracks of nothing but conductor events and names are left out, as all of it is in the others, if
// there is any other. Names are numbered in the order of the tracks: 01-kick, 02-bass. The tracks of
// format 2 are separate pieces and keep their own events and lengths. Unknown chunks are left out.
func (s Song) Split() []NamedFile {
	whole := s.File()
	var out []NamedFile
	for i := range whole.Tracks {
		if s.plays(i) || !s.anyPlays() {
			f := &smf.File{Format: 0, Division: s.Division, Tracks: []smf.Track{s.splitTrack(whole, i)}}
			out = append(out, NamedFile{fmt.Sprintf("%02d-%s", len(out)+1, s.trackWord(i)), f})
		}
	}
	return out
}

// conducts tells whether a meta event of this type is about the whole song: marker, tempo, SMPTE
// offset, time signature, key signature (RP-001 pp. 9-10).
func conducts(kind byte) bool {
	switch kind {
	case smf.MetaMarker, smf.MetaTempo, smf.MetaSMPTEOffset, smf.MetaMetre, smf.MetaKey:
		return true
	}
	return false
}

// plays tells whether a track has anything besides conductor events and a name.
func (s Song) plays(track int) bool {
	for _, p := range s.Parts {
		if p.Track == track && len(p.Notes) > 0 {
			return true
		}
	}
	for _, e := range s.Tracks[track].Events {
		if kind, meta := e.MetaType(); !meta || !conducts(kind) && kind != 0x03 {
			return true
		}
	}
	return false
}

func (s Song) anyPlays() bool {
	for i := range s.Tracks {
		if s.plays(i) {
			return true
		}
	}
	return false
}

// splitTrack makes the one track of a file: its name, then the conductor events and its own by tick.
func (s Song) splitTrack(whole *smf.File, track int) smf.Track {
	own := &whole.Tracks[track]
	name, rest := takeName(own)
	if name == nil {
		name = []byte(s.trackWord(track))
	}
	var out smf.Track
	out.AppendMeta(0, 0x03, name)
	if s.Format != 2 {
		var conductor []conducted
		conductor, rest = gatherConductor(whole), withoutConductor(rest)
		for _, c := range conductor {
			for len(rest) > 0 && rest[0].Tick < c.event.Tick {
				out.Append(out.CopyLong(own, rest[0], rest[0].Tick))
				rest = rest[1:]
			}
			out.Append(out.CopyLong(c.from, c.event, c.event.Tick))
		}
	}
	for _, e := range rest {
		out.Append(out.CopyLong(own, e, e.Tick))
	}
	out.End = max(out.End, own.End)
	if s.Format != 2 {
		out.End = max(out.End, s.End)
	}
	return out
}

// takeName returns the bytes of a track's first name, nil if it has none, and its other events.
func takeName(t *smf.Track) ([]byte, []smf.Event) {
	for i, e := range t.Events {
		if kind, meta := e.MetaType(); meta && kind == 0x03 {
			return t.Long(e), append(clip(t.Events[:i]), t.Events[i+1:]...)
		}
	}
	return nil, t.Events
}

// conducted is a conductor event and the track that holds its bytes.
type conducted struct {
	event smf.Event
	from  *smf.Track
}

// gatherConductor returns the conductor events of all tracks by tick; those of one tick by track, so
// that the one that counts (the last, see [smf.File.Timeline]) still does.
func gatherConductor(f *smf.File) []conducted {
	var out []conducted
	for i := range f.Tracks {
		t := &f.Tracks[i]
		for _, e := range t.Events {
			if kind, meta := e.MetaType(); meta && conducts(kind) {
				out = append(out, conducted{e, t})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b conducted) int { return cmp.Compare(a.event.Tick, b.event.Tick) })
	return out
}

func withoutConductor(events []smf.Event) []smf.Event {
	out := make([]smf.Event, 0, len(events))
	for _, e := range events {
		if kind, meta := e.MetaType(); !meta || !conducts(kind) {
			out = append(out, e)
		}
	}
	return out
}

// trackWord makes a word of a track's name, else of the name of its part, else "track".
func (s Song) trackWord(track int) string {
	if w := fileWord(s.Tracks[track].Name); w != "" {
		return w
	}
	for _, p := range s.Parts {
		if p.Track == track && p.Name != "" {
			return fileWord(p.Name)
		}
	}
	return "track"
}

// fileWord keeps the ASCII letters and digits of a name, in lower case, with a hyphen for whatever
// stands between; at most 40 characters, which every file system takes.
func fileWord(name string) string {
	var b strings.Builder
	gap := false
	for _, c := range strings.ToLower(name) {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') {
			gap = true
			continue
		}
		if b.Len() >= 39 { // a hyphen may come with it
			break
		}
		if gap && b.Len() > 0 {
			b.WriteByte('-')
		}
		gap = false
		b.WriteRune(c)
	}
	return b.String()
}
