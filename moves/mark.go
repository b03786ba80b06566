package moves

import (
	"sort"

	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Mark writes markers.
type Mark struct {
	At   where.Places `yaml:"at" doc:"where the markers stand; left out, at the start of every section"`
	Text string       `yaml:"text" doc:"what they say; left out, the name of the section there"`
}

func markMove() Move {
	return Move{
		Group: Structure,
		Brief: "Write markers into the first track",
		Doc: `Each is a marker event (FF 06) at its place in the first track, as the standard has it (RP-001 p. 9). Without a text it bears the name of the section its place lies in; a place outside every section gets none. A draft with sections is marked by itself.

A marker of the same text at the same tick is not written twice. Notes are left as they are.`,
		New: func() Step { return &Mark{} },
		Example: func() Example {
			return Example{
				Step:     &Mark{At: where.PlacesOf("bar 2"), Text: "turn"},
				Before:   "kick x...x...x...x...|x...x...x...x...",
				After:    "kick x...x...x...x...|x...x...x...x...",
				Sections: "drop 2",
			}
		},
	}
}

// Name implements [Step].
func (*Mark) Name() string { return "mark" }

// Apply implements [Step].
func (m *Mark) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(in.Tracks) == 0 {
		return o, nil
	}
	var at []song.Tick
	if m.At.IsZero() {
		for _, s := range in.Sections {
			at = append(at, in.SectionRange(s).Start)
		}
	} else {
		var err error
		if at, err = o.places(env, "at", m.At, in); err != nil {
			return Outcome{}, err
		}
	}
	e, outside := in.Edit(), 0
	for _, t := range at {
		text := m.Text
		if text == "" {
			text = sectionAt(in, t)
		}
		if text == "" {
			outside++
			continue
		}
		if !hasMarker(in, t, text) {
			e.InsertMeta(0, t, smf.MetaMarker, []byte(text))
		}
	}
	if outside > 0 {
		o.tell(remark.Remark{Kind: remark.NoMarker})
	}
	if outside > 0 && outside == len(at) {
		o.Nothing = remark.Remark{Kind: remark.NoMarker}
	}
	return o.with(e.Song()), nil
}

// sectionAt returns the name of the section a tick lies in, or "".
func sectionAt(s song.Song, t song.Tick) string {
	i := sort.Search(len(s.Sections), func(i int) bool { return s.SectionRange(s.Sections[i]).End > t })
	if i < len(s.Sections) && s.SectionRange(s.Sections[i]).Has(t) {
		return s.Sections[i].Name
	}
	return ""
}

func hasMarker(s song.Song, at song.Tick, text string) bool {
	events := s.Tracks[0].Events
	for i := sort.Search(len(events), func(i int) bool { return events[i].Tick >= at }); i < len(events) && events[i].Tick == at; i++ {
		ev := events[i]
		if kind, ok := ev.MetaType(); ok && kind == smf.MetaMarker && string(s.Tracks[0].Long(ev)) == text {
			return true
		}
	}
	return false
}
