package song

import "loopdraft/smf"

// Tick is a position or length in ticks.
type Tick = smf.Tick

// Song is the music of a file: tracks with all that is not a note, parts with the notes, and,
// once arranged, sections. It is a value: whatever it points to is shared between songs and never
// written to. Change a song through [Song.Edit].
type Song struct {
	Format   uint16
	Division smf.Division
	Tracks   []*Track
	Parts    []Part    // in order of their tracks
	Sections []Section // in order, adjoining, from bar 1; empty for a song without sections
	End      Tick      // the end of the song: no note starts at or after it or ends past it
	Chunks   []smf.Chunk

	time *smf.Timeline // nil where there are no common bars (format 2, SMPTE)
	room *Room         // for what edits make of it; nil: there is none
}

// Track is what a song keeps of one track besides its notes.
type Track struct {
	Name   string  // from its first FF 03, trimmed of spaces and NULs; "" if it has none
	Events []Event // everything that is not a note, in the song's total order
	End    Tick    // where its end of track stands
	store  []byte  // bytes of long events, as in smf.Track
}

// Event is an event that is not a note, with its place in the order of events at one tick.
type Event struct {
	smf.Event
	Seq  uint32 // place in the track it was read from
	Pass uint16 // pass of the loop it was laid in
	New  bool   // written by a move, not read from the file
}

// Flags of a note.
const (
	OffAsOn uint8 = 1 << iota // its note-off is a note-on of velocity 0
	Open                      // it has no note-off; End is where it would be closed
	New                       // written by a move
	NewEnd                    // its end was set by a move
)

// Note is one note: onset and end in ticks, key and velocities 0..127, and the places of its two
// events in the order of events at one tick. It holds no pointer and has 32 bytes.
type Note struct {
	Start, End      Tick
	OnSeq, OffSeq   uint32
	OnPass, OffPass uint16
	Key, Vel        uint8
	OffVel, Flags   uint8
}

// Is tells whether any of the flags is set.
func (n Note) Is(flag uint8) bool { return n.Flags&flag != 0 }

// Keys is a set of keys 0..127; the empty set stands for every key.
type Keys [2]uint64

// KeySet makes a set of the keys given.
func KeySet(keys ...uint8) Keys {
	var k Keys
	for _, n := range keys {
		k[n>>6&1] |= 1 << (n & 63)
	}
	return k
}

// Has tells whether the key is in the set.
func (k Keys) Has(n uint8) bool { return k == Keys{} || k[n>>6&1]&(1<<(n&63)) != 0 }

// All tells whether the set stands for every key.
func (k Keys) All() bool { return k == Keys{} }

// List returns the keys of the set in rising order; nil if it stands for every key.
func (k Keys) List() []uint8 {
	var out []uint8
	for n := range uint8(128) {
		if !k.All() && k.Has(n) {
			out = append(out, n)
		}
	}
	return out
}

// Tails says what becomes of a note that rings into a silenced stretch.
type Tails uint8

// Entry says what becomes of a note held over the place where a part comes in.
type Entry uint8

const (
	TailsAuto Tails = iota // pitched parts are cut, drums and fx ring
	TailsCut
	TailsRing
)

const (
	EntryAuto     Entry = iota // pad, chords, strings and drone are struck again, the others wait
	EntryRestrike              // struck again with its remaining length
	EntryWait                  // silent until its next onset
)

// Part is one voice: a track and channel, or the keys of one sound within them, or the notes of
// given keys at given places of the loop (the skeleton of a break).
type Part struct {
	Name    string // lower case letters, digits, hyphens; numbered "hat 1" where several share a name
	Role    Role
	Job     Job
	Turn    int   // which of the parts of its job it is, from 1: extra 1, extra 2; 0: as its role and place among the parts say
	Track   int   // index into Song.Tracks
	Channel uint8 // 0..15
	Port    uint8 // as in FF 21
	Keys    Keys  // the keys that are this part's; empty: all
	Kit     bool  // a sound of a drum kit (or a whole kit): its key is no pitch
	Tails   Tails
	Entry   Entry
	Home    []Home       // home values given by the recipe, by controller
	Mapped  []Controller // controllers known to be mapped

	StandsFor []Role // roles that no part has and that this one takes the place of
	Notes     []Note // by onset, then by their order
}

// Home is the value a controller rests at.
type Home struct {
	Controller Controller
	Value      int
}

// Pitched tells whether the part's keys are pitches: neither a kit sound nor fx, vocal or trigger.
func (p Part) Pitched() bool {
	return !p.Kit && p.Role != RoleFX && p.Role != RoleTrigger && p.Job != JobBeat && p.Job != JobBackbeat && p.Job != JobTops && p.Job != JobPerc
}

// RingsOn tells whether a note ringing into a silenced stretch is left to ring.
func (p Part) RingsOn() bool {
	switch p.Tails {
	case TailsCut:
		return false
	case TailsRing:
		return true
	}
	return !p.Pitched()
}

// Restrikes tells whether a note held over the part's entry is struck again.
func (p Part) Restrikes() bool {
	switch p.Entry {
	case EntryRestrike:
		return true
	case EntryWait:
		return false
	}
	return p.Role == RolePad || p.Role == RoleChords || p.Role == RoleStrings || p.Role == RoleDrone
}

// Section is a named stretch of whole bars.
type Section struct {
	Name string
	Kind Kind
	Bar  int // its first bar, from 1
	Bars int // its length in bars, at least 1
}

// Time returns the song's bars, beats and seconds; nil where there are no common bars (format 2,
// SMPTE time).
func (s Song) Time() *smf.Timeline { return s.time }

// Bars returns the number of bars the song has, a short last one included.
func (s Song) Bars() int {
	if s.End <= 0 {
		return 0
	}
	return s.time.BarOf(s.End - 1)
}

// BarRange returns the ticks of bars first to last, both included and counted from 1.
func (s Song) BarRange(first, last int) Range {
	return Range{s.time.BarStart(first), s.time.BarStart(last + 1)}
}

// SectionRange returns the ticks of a section.
func (s Song) SectionRange(sec Section) Range { return s.BarRange(sec.Bar, sec.Bar+sec.Bars-1) }

// Counted returns the tick an onset counts at: the bar line after it if that is less than a 1/64
// note away, else its own tick.
func (s Song) Counted(t Tick) Tick {
	_, line := s.time.BarAround(t)
	return countedBefore(line, t, s.time.PPQ())
}

// Counter tells where onsets count, as [Song.Counted] does, and is quick for ticks that rise: the bar line ahead is
// looked up once a bar.
type Counter struct {
	time       *smf.Timeline
	begin, end Tick // of the bar looked at last
	bar        int  // its number; 0: nobody has asked
}

// countedBefore returns the tick that an onset counts at in a bar that ends on a line.
func countedBefore(line, t, ppq Tick) Tick {
	if (line-t)*16 < ppq {
		return line
	}
	return t
}

// Counter returns a counter for the bars of the song.
func (s Song) Counter() Counter { return Counter{time: s.time} }

// Counted returns the tick an onset counts at.
func (c *Counter) Counted(t Tick) Tick {
	if t < c.begin || t >= c.end {
		c.begin, c.end = c.time.BarAround(t)
		c.bar = 0
	}
	return countedBefore(c.end, t, c.time.PPQ())
}

// Bar returns the bar that an onset counts to.
func (c *Counter) Bar(t Tick) int {
	counted := c.Counted(t)
	if c.bar == 0 {
		c.bar = c.time.BarOf(t)
	}
	if counted == c.end {
		return c.bar + 1
	}
	return c.bar
}

// In returns the notes of a part whose onsets count to the range, as a clipped slice of its notes.
// It takes logarithmic time.
func (s Song) In(p Part, r Range) []Note {
	// Counted is monotone in the tick, so the notes of a range are a run of the part's notes.
	i := s.Before(p.Notes, r.Start)
	j := i + s.Before(p.Notes[i:], r.End)
	return p.Notes[i:j:j]
}

// Before returns how many notes of a part count before a tick. It takes logarithmic time.
func (s Song) Before(notes []Note, t Tick) int {
	t = s.counts(t)
	first, end := 0, len(notes)
	for first < end {
		if mid := (first + end) / 2; notes[mid].Start < t {
			first = mid + 1
		} else {
			end = mid
		}
	}
	return first
}

// counts returns the first tick of which an onset counts at t or later.
func (s Song) counts(t Tick) Tick {
	begin, line := s.time.BarAround(t - 1) // line: the bar line at t, or the next one after it
	return min(t, max(line-(s.time.PPQ()+15)/16+1, begin))
}

// Index returns the index of the part of this name, or -1.
func (s Song) Index(name string) int {
	for i := range s.Parts {
		if s.Parts[i].Name == name {
			return i
		}
	}
	return -1
}

// Long returns the bytes of a meta event or sysex of the track; nil for other events. They are
// shared and must not be written to.
func (t *Track) Long(e Event) []byte { return smf.LongIn(t.store, e.Event) }

// Change is an entry of the trace of a draft: what one step did.
type Change struct {
	Step   int      // index of the step in the recipe, from 0; -1: before the recipe's own steps
	Move   string   // name of the move
	Within string   // name of the composite move it is a step of; "" for none
	Ranges []Range  // where
	Parts  []string // names of the parts changed
	Text   string   // in a producer's words; "" where move, ranges and parts say it
}

// MaxBars is the greatest length of a song in bars.
const MaxBars = 9999
