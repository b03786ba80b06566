package moves

import (
	"sort"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Gate sets how long notes last.
type Gate struct {
	Target
	Length NoteLength `yaml:"length" doc:"how long each note lasts: a share of its own length, or a note value" required:"true"`
}

// NoteLength is the length of a note: a share of the one it has, or a note value.
type NoteLength struct {
	Share option.Share
	Value option.NoteValue
}

// UnmarshalTexts reads a percentage or a note value.
func (l *NoteLength) UnmarshalTexts(texts []string) error {
	got, err := NoteLength{}, error(nil)
	if strings.Contains(texts[0], "/") {
		err = got.Value.UnmarshalTexts(texts)
	} else {
		err = got.Share.UnmarshalTexts(texts)
	}
	if err != nil || got.IsZero() {
		return &option.Mistake{Found: strconv.Quote(texts[0]), Want: l.Want()}
	}
	*l = got
	return nil
}

func (l NoteLength) Texts() []string {
	if l.Value.IsZero() {
		return l.Share.Texts()
	}
	return l.Value.Texts()
}
func (l NoteLength) IsZero() bool { return l == NoteLength{} }
func (l NoteLength) Want() string {
	return "a percentage more than 0% up to 1000%, or a note value such as 1/16"
}

// of returns the length of a note, at least a tick.
func (l NoteLength) of(n song.Note, ppq song.Tick) song.Tick {
	if !l.Value.IsZero() {
		return max(l.Value.Ticks(ppq), 1)
	}
	return max(song.HalfUp(int64(n.End-n.Start)*int64(l.Share), int64(option.Whole)), 1)
}

func gateMove() Move {
	return Move{
		Group: Dynamics,
		Brief: "Make notes shorter or longer",
		Doc: `The notes that start in a span last a share of their own length, or a note value, at least a tick. A note that is made longer ends where the part's next onset is at the latest, so that no new overlap comes about, and with the song; it may ring past the span.

A note of a bass that overlaps the next one glides into it and keeps its length. Notes that ring into the span stay as they are.`,
		New: func() Step { return &Gate{} },
		Example: func() Example {
			return Example{
				Step:   &Gate{Target: Target{Part: where.PartsOf("stab"), Over: where.SpansOf("bar 2")}, Length: NoteLength{Value: option.NoteValueOf(1, 16)}},
				Before: "stab x---..x---..x---|x---..x---..x---",
				After:  "stab x---..x---..x---|x.....x.....x...",
			}
		},
	}
}

// Name implements [Step].
func (*Gate) Name() string { return "gate" }

// Apply implements [Step].
func (m *Gate) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if m.Length.IsZero() {
		return Outcome{}, &option.Mistake{Option: "length", Found: "nothing", Want: m.Length.Want()}
	}
	o.checkNotes(env, in)
	ppq := in.Time().PPQ()
	e := in.Edit()
	for _, p := range env.Parts {
		part := in.Parts[p]
		moveNotes(e, in, p, env.Ranges, func(n song.Note, _ song.Range) song.Note {
			next := nextOnset(part.Notes, n.Start, in.End)
			if part.Job == song.JobBass && n.End > next {
				return n
			}
			end := n.Start + m.Length.of(n, ppq)
			if end > n.End {
				end = max(min(end, next), n.End)
			}
			n.End = end
			return n
		})
	}
	o.changed(in, env.Parts, env.Ranges, m.Length.Texts()[0])
	return o.with(e.Song()), nil
}

// nextOnset returns the first onset after a tick, or end if there is none.
func nextOnset(notes []song.Note, at, end song.Tick) song.Tick {
	i := sort.Search(len(notes), func(i int) bool { return notes[i].Start > at })
	if i == len(notes) {
		return end
	}
	return notes[i].Start
}

// Form says what the length of a note looks like.
func (l NoteLength) Form() option.Form {
	return option.Form{Pattern: option.SharePattern(1, 10*option.Whole) + "|" + option.NoteValue{}.Form().Pattern}
}
