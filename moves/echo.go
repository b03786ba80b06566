package moves

import (
	"cmp"
	"fmt"
	"slices"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Echo repeats notes, softer each time.
type Echo struct {
	Target
	Spacing  option.NoteValue `yaml:"spacing" doc:"how far apart a note and its repeats are"`
	Repeats  int              `yaml:"repeats" range:"1..16" unit:"repeats" doc:"how many repeats of a note"`
	Velocity option.Share     `yaml:"velocity" doc:"share of the velocity before it that a repeat has, more than 0% and at most 100%"`
	Tails    string           `yaml:"tails" words:"cut,ring" doc:"what becomes of repeats after the span"`
}

func echoMove() Move {
	return Move{
		Group: Dynamics,
		Brief: "Repeat notes, softer each time",
		Doc: `Each note that starts in a span is repeated at the spacing, every repeat softer than the one before by a share; repeats end once they would be softer than 1. They come as late as the loop's off-beats and last as long as the note, up to the spacing.

A repeat that would start while its key sounds on the part's channel is left out, and one ends where the key is struck again: the part's own notes stay as they are. Of repeats on one place the loudest plays. Repeats ring past the span up to the song's end; with tails cut they end with the span.`,
		New: func() Step {
			return &Echo{Spacing: option.NoteValueOf(3, 16), Repeats: 3, Velocity: 60 * option.Whole / 100, Tails: "ring"}
		},
		Example: func() Example {
			return Example{
				Step:   &Echo{Target: Target{Part: where.PartsOf("stab"), Over: where.SpansOf("bar 1")}, Spacing: option.NoteValueOf(3, 16), Repeats: 3, Velocity: 60 * option.Whole / 100, Tails: "cut"},
				Before: "stab x...............|x...............",
				After:  "stab x..o..o..o......|x...............",
			}
		},
	}
}

// Name implements [Step].
func (*Echo) Name() string { return "echo" }

// Apply implements [Step].
func (m *Echo) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	switch {
	case m.Spacing.IsZero() || m.Spacing.Ticks(in.Time().PPQ()) < 1:
		return Outcome{}, &option.Mistake{Option: "spacing", Found: "less than a tick", Want: m.Spacing.Want()}
	case m.Repeats < 1 || m.Repeats > 16:
		return Outcome{}, &option.Mistake{Option: "repeats", Found: fmt.Sprint(m.Repeats), Want: "1 to 16"}
	case m.Velocity <= 0 || m.Velocity > option.Whole:
		return Outcome{}, &option.Mistake{Option: "velocity", Found: m.Velocity.String(), Want: "more than 0% and at most 100%"}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		there := channelKeys(in, in.Parts[p])
		for _, n := range m.repeats(env, in, in.Parts[p]) {
			if !there[n.Key].soundsAt(n.Start) {
				e.Place(p, n)
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("%d at %s", m.Repeats, m.Spacing.Texts()[0]))
	return o.with(e.Song()), nil
}

// repeats returns the repeats of a part's notes, of those on one place and key the loudest.
func (m *Echo) repeats(env *Env, in song.Song, p song.Part) []song.Note {
	tl, w := in.Time(), env.swing()
	ppq := tl.PPQ()
	var out []song.Note
	for _, r := range env.Ranges {
		end := in.End
		if m.Tails == "cut" {
			end = r.End
		}
		for _, n := range in.In(p, r) {
			straight, vel := w.straight(tl, n.Start), int(n.Vel)
			length := min(n.End-n.Start, m.Spacing.Ticks(ppq))
			for k := 1; k <= m.Repeats; k++ {
				vel = m.Velocity.Of(vel)
				at := w.late(tl, straight+m.Spacing.Times(k, ppq))
				if vel < 1 || in.Counted(at) >= end { // it is an early note of what comes after
					break
				}
				out = append(out, song.Note{Start: at, End: min(at+length, end), Key: n.Key, Vel: uint8(vel)})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b song.Note) int {
		return cmp.Or(cmp.Compare(a.Start, b.Start), cmp.Compare(a.Key, b.Key), cmp.Compare(b.Vel, a.Vel))
	})
	return slices.CompactFunc(out, func(a, b song.Note) bool { return a.Start == b.Start && a.Key == b.Key })
}

// sounding is when a key sounds.
type sounding struct{ starts, ends []song.Tick } // ends: the latest so far

// soundsAt tells whether the key sounds, or is struck, at a tick.
func (s sounding) soundsAt(t song.Tick) bool {
	i := sort.Search(len(s.starts), func(i int) bool { return s.starts[i] > t })
	return i > 0 && (s.ends[i-1] > t || s.starts[i-1] == t)
}

// channelKeys returns when the keys of a part's channel sound.
func channelKeys(in song.Song, part song.Part) *[128]sounding {
	var notes []song.Note
	parts := 0
	for _, p := range in.Parts {
		if sameChannel(p, part) {
			notes = append(notes, p.Notes...)
			parts++
		}
	}
	if parts > 1 {
		slices.SortStableFunc(notes, song.CompareNotes)
	}
	out := new([128]sounding)
	for _, n := range notes {
		s := &out[n.Key&127]
		end := n.End
		if k := len(s.ends); k > 0 {
			end = max(end, s.ends[k-1])
		}
		s.starts, s.ends = append(s.starts, n.Start), append(s.ends, end)
	}
	return out
}
