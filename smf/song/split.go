package song

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf"
)

// Cutting is how a song is cut into files.
type Cutting string

const (
	ByPart    Cutting = "part"    // a file for each part, the sounds of a kit apart
	ByTrack   Cutting = "track"   // a file for each track
	BySection Cutting = "section" // a file for each part in each section, as long as the section
)

// Cuttings returns the ways of cutting a song.
func Cuttings() []Cutting { return []Cutting{ByPart, ByTrack, BySection} }

// SplitFile is one of the files that a song is split into.
type SplitFile struct {
	// Name is a name to store it under, without an ending: lower-case letters, digits and hyphens, by section with
	// one slash between the folder of the section and the file.
	Name    string
	File    *smf.File // of format 0
	Parts   []string  // the names of the parts in it
	Track   int       // index of the track that they stand on
	Section string    // as spans call it, numbered where several bear a name; "" for all of the song
	Bar     int       // its first bar in the song, from 1; 0 where there are no common bars
	Bars    int       // its length in bars; 0 where there are no common bars
	Notes   int       // how many notes it has
	Cut     int       // how many of them are cut where the section ends
	Moved   int       // how many of them begin less than a 1/64 note before the section in the song, and with it here
}

// ErrNoSections is the error of splitting a song by section that has none.
var ErrNoSections = errors.New("found no sections, want some to split by")

// Split returns the song as files of its parts, of its tracks, or of its parts in each section. What holds no note has
// no file. Each file is of one track, which begins with its name and has
//
//   - tempo, metre, key, SMPTE offset and markers of the whole song;
//   - what sets up the channels of its notes, from whatever track of their port it stands on;
//   - what else stands on its own track, and the system exclusive messages of tracks without notes;
//   - its notes.
//
// A file of a part or track has the song's full length from bar 1. One of a section begins at the section's first bar
// and lasts as long as it; what is in force there, of tempo, metre, key, bank, program, controllers, parameters, bend
// and pressure, stands at its start. Its notes are those whose onsets count to the section (see [Song.Counted]): one that begins just before
// it begins with it. A note that is held over its end is cut there. So one file after the other has the song's notes.
//
// Names are numbered in the order of the parts, tracks and sections: 01-kick, 05-drop-1/02-bass; a part has the same
// number in every section. The tracks of format 2 are separate pieces and keep their own events and lengths. Unknown
// chunks are left out.
//
// By section, a song without common bars is an error, and so is one without sections and without markers on bar lines
// ([ErrNoSections]).
func (s Song) Split(by Cutting) ([]SplitFile, error) {
	c := newCutter(s)
	voices := c.parts()
	switch by {
	case ByTrack:
		voices = c.tracks()
	case BySection:
		return c.sections(voices)
	}
	var out []SplitFile
	for i, v := range voices {
		f := c.whole(v)
		f.Name = numberedWord(i+1, len(voices), v.word)
		out = append(out, f)
	}
	return out, nil
}

// voice is what one file plays: a part, or all parts of a track.
type voice struct {
	word  string // for the name of its file
	name  []byte // of its track
	track int
	parts []Part
	all   bool // all parts of the track: what stands on it is theirs
}

// plays tells whether the voice sounds on a channel.
func (v voice) plays(channel uint8) bool {
	return slices.ContainsFunc(v.parts, func(p Part) bool { return p.Channel == channel })
}

// has tells whether an event of its track is the voice's: every one but those of other parts' channels and keys.
func (v voice) has(e Event) bool {
	switch {
	case v.all || !e.IsChannel():
		return true
	case e.IsOff() || e.Kind() == 0xA0:
		return slices.ContainsFunc(v.parts, func(p Part) bool { return p.Channel == e.Chan() && p.Keys.Has(e.Data1()) })
	}
	return v.plays(e.Chan())
}

// cutter cuts a song into files.
type cutter struct {
	song  Song
	notes []bool  // of each track, whether it has notes
	ports []uint8 // of each track, the port it begins with
}

func newCutter(s Song) *cutter {
	c := &cutter{song: s, notes: make([]bool, len(s.Tracks)), ports: make([]uint8, len(s.Tracks))}
	for _, p := range s.Parts {
		c.notes[p.Track] = c.notes[p.Track] || len(p.Notes) > 0
	}
	for i, t := range s.Tracks {
		if at := slices.IndexFunc(t.Events, isPort); at >= 0 {
			if b := t.Long(t.Events[at]); len(b) == 1 {
				c.ports[i] = b[0]
			}
		}
	}
	return c
}

// parts returns the parts that have notes.
func (c *cutter) parts() []voice {
	var out []voice
	for _, p := range c.song.Parts {
		if len(p.Notes) == 0 {
			continue
		}
		name := cmp.Or(p.Name, c.song.Tracks[p.Track].Name, "part")
		out = append(out, voice{word: cmp.Or(fileWord(name), "part"), name: []byte(name), track: p.Track, parts: []Part{p}})
	}
	return out
}

// tracks returns the tracks that have notes.
func (c *cutter) tracks() []voice {
	var out []voice
	for i, t := range c.song.Tracks {
		if !c.notes[i] {
			continue
		}
		v := voice{track: i, all: true}
		for _, p := range c.song.Parts {
			if p.Track == i && len(p.Notes) > 0 {
				v.parts = append(v.parts, p)
			}
		}
		v.word = cmp.Or(fileWord(t.Name), fileWord(v.parts[0].Name), "track")
		v.name = []byte(v.word)
		if at := slices.IndexFunc(t.Events, isName); at >= 0 {
			v.name = t.Long(t.Events[at])
		}
		out = append(out, v)
	}
	return out
}

// whole makes the file of a voice in the whole song.
func (c *cutter) whole(v voice) SplitFile {
	f := SplitFile{Track: v.track}
	t := c.newCutTrack(v)
	for _, from := range c.gather(v) {
		t.add(from, from.Tick)
	}
	end := c.song.End
	if c.song.Format == 2 {
		end = c.song.Tracks[v.track].End
	}
	for _, p := range v.parts {
		f.Parts = append(f.Parts, p.Name)
		f.Notes += len(p.Notes)
	}
	if c.song.time != nil {
		f.Bar, f.Bars = 1, c.song.Bars()
	}
	f.File = t.file(c.song.Division, v.parts, max(end, c.song.Tracks[v.track].End))
	return f
}

// sections makes the files of voices in each section.
func (c *cutter) sections(voices []voice) ([]SplitFile, error) {
	s := c.song
	if s.time == nil {
		return nil, errors.New("found a song without bars, want one to split by section")
	}
	sections := s.Sections
	if len(sections) == 0 {
		sections = s.MarkedSections()
	}
	if len(sections) == 0 {
		return nil, ErrNoSections
	}
	gathered := make([][]gathered, len(voices))
	for i, v := range voices {
		gathered[i] = c.gather(v)
	}
	var out []SplitFile
	names := SectionNames(sections)
	for k, sec := range sections {
		folder := numberedWord(k+1, len(sections), cmp.Or(fileWord(names[k]), "section"))
		r := s.SectionRange(sec)
		counted := r
		if k == len(sections)-1 { // a note that counts to the bar after the song's end is nowhere else
			counted.End = math.MaxInt64
		}
		for i, v := range voices {
			v.parts = slices.Clone(v.parts)
			p := &v.parts[0]
			if p.Notes = s.In(*p, counted); len(p.Notes) == 0 {
				continue
			}
			f := SplitFile{Parts: []string{p.Name}, Track: v.track, Section: names[k], Bar: sec.Bar, Bars: sec.Bars, Notes: len(p.Notes)}
			f.Name = folder + "/" + numberedWord(i+1, len(voices), v.word)
			p.Notes, f.Cut, f.Moved = within(p.Notes, r)
			t := c.newCutTrack(v)
			c.setUp(t, v, gathered[i], r.Start)
			for _, g := range gathered[i] {
				if r.Has(g.Tick) && !g.is(smf.MetaSMPTEOffset) {
					t.add(g, g.Tick-r.Start)
				}
			}
			f.File = t.file(s.Division, v.parts, r.Len())
			out = append(out, f)
		}
	}
	return out, nil
}

// within returns notes as they are in a stretch, counted from its start: those that begin just before it begin with it,
// and those that are held over its end are cut there. It returns how many are cut and how many are moved.
func within(notes []Note, r Range) (out []Note, cut, moved int) {
	out = make([]Note, len(notes))
	for i, n := range notes {
		if n.Start < r.Start {
			n.Start = r.Start
			moved++
			if n.End <= n.Start {
				n.setEnd(n.Start + 1)
			}
		}
		if n.End > r.End {
			n.setEnd(r.End)
			cut++
		}
		n.Start, n.End = n.Start-r.Start, n.End-r.Start
		out[i] = n
	}
	return out, cut, moved
}

// gathered is an event of a file and the track it comes from.
type gathered struct {
	Event
	from *Track
}

// is tells whether it is a meta event of the type.
func (g gathered) is(kind byte) bool {
	k, meta := g.MetaType()
	return meta && k == kind
}

// gather returns all that a voice's file has besides its name and its notes, by tick. Of one tick, what conducts comes
// first, then what its own track has and what others say of its channels, both in the order of the tracks, so that what
// counts (the last, see [smf.File.Timeline]) still does.
func (c *cutter) gather(v voice) []gathered {
	var out []gathered
	each := func(track int, want func(e Event) bool) {
		t := c.song.Tracks[track]
		for _, e := range t.Events {
			if want(e) {
				out = append(out, gathered{e, t})
			}
		}
	}
	apart := c.song.Format == 2
	for i := range c.song.Tracks {
		if !apart || i == v.track {
			each(i, isConductor)
		}
	}
	for i := range c.song.Tracks {
		switch {
		case i == v.track:
			each(i, func(e Event) bool { return !isConductor(e) && !isName(e) && v.has(e) })
		case !apart && c.ports[i] == c.ports[v.track]:
			each(i, func(e Event) bool {
				if e.IsSysex() {
					return !c.notes[i]
				}
				return e.IsChannel() && !e.IsOff() && e.Kind() != 0xA0 && v.plays(e.Chan())
			})
		}
	}
	slices.SortStableFunc(out, func(a, b gathered) int { return cmp.Compare(a.Tick, b.Tick) })
	return out
}

// isConductor tells whether an event is about the whole song: marker, tempo, SMPTE offset, time signature, key signature
// (RP-001 pp. 9-10).
func isConductor(e Event) bool {
	switch kind, meta := e.MetaType(); kind {
	case smf.MetaMarker, smf.MetaTempo, smf.MetaSMPTEOffset, smf.MetaMetre, smf.MetaKey:
		return meta
	}
	return false
}

func isName(e Event) bool {
	kind, meta := e.MetaType()
	return meta && kind == smf.MetaTrackName
}

func isPort(e Event) bool {
	kind, meta := e.MetaType()
	return meta && kind == smf.MetaPort
}

// cutTrack is the one track of a file on its way.
type cutTrack struct {
	Track
	own *Track // of the song, which the voice stands on
}

// newCutTrack begins with the name of a voice.
func (c *cutter) newCutTrack(v voice) *cutTrack {
	t := &cutTrack{own: c.song.Tracks[v.track]}
	t.meta(smf.MetaTrackName, v.name)
	return t
}

// meta adds a meta event at the start.
func (t *cutTrack) meta(kind byte, data []byte) {
	var e smf.Event
	t.store, e = smf.AppendLong(t.store, 0, 0xFF, kind, data)
	t.Events = append(t.Events, Event{Event: e, New: true})
}

// add adds an event at a tick. One of the voice's own track keeps its place among the notes, another comes before them.
func (t *cutTrack) add(g gathered, at Tick) {
	e := g.Event
	if g.from != t.own {
		e.New, e.Pass, e.Seq = true, 0, 0
	}
	if e.IsChannel() {
		e.Event = e.At(at)
	} else {
		kind, _ := e.MetaType()
		t.store, e.Event = smf.AppendLong(t.store, at, e.Status(), kind, g.from.Long(e))
	}
	t.Events = append(t.Events, e)
}

// file makes the file of the track with parts on it.
func (t *cutTrack) file(division smf.Division, parts []Part, end Tick) *smf.File {
	t.End = end
	s := Song{Format: 0, Division: division, Tracks: []*Track{&t.Track}, End: end}
	for _, p := range parts {
		p.Track = 0
		s.Parts = append(s.Parts, p)
	}
	return s.File()
}

// numberedWord makes the name of the n-th of several, with as many digits for all that their names stand in their order.
func numberedWord(n, of int, word string) string {
	return fmt.Sprintf("%0*d-%s", max(2, len(strconv.Itoa(of))), n, word)
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
