package movetest_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// fake is a move that does what a test makes of it.
type fake struct {
	moves.Target
	do func(o *moves.Outcome, in song.Song) (song.Song, error)
}

func (f *fake) Name() string { return "fake" }

func (f *fake) Apply(_ *moves.Env, in song.Song) (moves.Outcome, error) {
	var o moves.Outcome
	var err error
	o.Song, err = f.do(&o, in)
	return o, err
}

// reports collects what a check reports.
type reports struct{ texts []string }

func (r *reports) Helper() {}
func (r *reports) Errorf(format string, args ...any) {
	r.texts = append(r.texts, fmt.Sprintf(format, args...))
}

const before = "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x."

func fakeRow(do func(o *moves.Outcome, in song.Song) (song.Song, error)) movetest.Row {
	return movetest.Row{
		Step:   &fake{Target: moves.Target{Part: where.PartsOf("kick"), Over: where.SpansOf("bar 2")}, do: do},
		Before: before, Sections: "drop 2",
	}
}

// edited is a fake that edits the song.
func edited(change func(e *song.Edit)) func(*moves.Outcome, song.Song) (song.Song, error) {
	return func(_ *moves.Outcome, in song.Song) (song.Song, error) {
		e := in.Edit()
		change(e)
		return e.Song(), nil
	}
}

// withNotes returns a song with other notes in its first part, past all tools.
func withNotes(in song.Song, change func(notes []song.Note) []song.Note) song.Song {
	out := in.Edit().Song()
	notes := append([]song.Note(nil), out.Parts[0].Notes...)
	notes = change(notes)
	out.Parts[0].Notes = notes[:len(notes):len(notes)]
	return out
}

// TestBrokenMovesAreSeen breaks each promise once.
func TestBrokenMovesAreSeen(t *testing.T) {
	calls := 0
	for _, tt := range []struct {
		rule string
		do   func(o *moves.Outcome, in song.Song) (song.Song, error)
		want string
	}{
		{"it writes to a note of the song it got", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			in.Parts[0].Notes[0].Vel--
			return in, nil
		}, "wrote to the song it got"},
		{"it renames a section of the song it got", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			in.Sections[0].Name = "gone"
			return in, nil
		}, "wrote to the song it got"},
		{"it appends to notes it shares", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			_ = append(in.Parts[0].Notes, song.Note{Start: 1, End: 2})
			return in, nil
		}, "behind the end of the notes"},
		{"it appends to events it shares", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			e := in.Edit()
			e.Insert(0, smf.Channel(0, 0xB0, 7, 100))
			in = e.Song()
			return in, nil
		}, "track 1 changed outside"},
		{"it gives another song each time", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			calls++
			return edited(func(e *song.Edit) {
				e.Place(0, song.Note{Start: 400 + song.Tick(calls), End: 500, Key: 36, Vel: 100})
			})(nil, in)
		}, "two runs disagree"},
		{"it tells other things each time", func(o *moves.Outcome, in song.Song) (song.Song, error) {
			calls++
			o.Remarks = []remark.Remark{{Kind: remark.Own, Numbers: []int{calls}}}
			return in, nil
		}, "two runs tell different things"},
		{"its notes are not in order", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			return withNotes(in, func(n []song.Note) []song.Note { n[5], n[6] = n[6], n[5]; return n }), nil
		}, "notes of kick are not in order"},
		{"a note lies past the end", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			return withNotes(in, func(n []song.Note) []song.Note { n[7].End = 10_000; return n }), nil
		}, "lies past the end of the song"},
		{"two notes overlap", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			return withNotes(in, func(n []song.Note) []song.Note { n[5].End = n[6].Start + 10; return n }), nil
		}, "starts while the key still sounds"},
		{"a note has no length", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			return withNotes(in, func(n []song.Note) []song.Note { n[5].End = n[5].Start; return n }), nil
		}, "shorter than a tick"},
		{"notes have room for an append", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			out := in.Edit().Song()
			out.Parts[0].Notes = append(make([]song.Note, 0, 99), out.Parts[0].Notes...)
			return out, nil
		}, "room for an append"},
		{"a note outside the span changes", edited(func(e *song.Edit) {
			e.Map(0, func(n song.Note) (song.Note, bool) { n.Vel = 1; return n, true })
		}), "kick changed outside the spans and parts of the step: key 36 at tick 0"},
		{"a note before the span goes", edited(func(e *song.Edit) {
			e.Map(0, func(n song.Note) (song.Note, bool) { return n, n.Start > 0 })
		}), "kick changed outside"},
		{"a note after the span is added", func(_ *moves.Outcome, in song.Song) (song.Song, error) {
			return edited(func(e *song.Edit) { e.Place(0, song.Note{Start: 50, End: 60, Key: 36, Vel: 1}) })(nil, in)
		}, "kick changed outside"},
		{"a part that is not named changes", edited(func(e *song.Edit) {
			e.Map(1, func(n song.Note) (song.Note, bool) { return n, false })
		}), "hat changed outside"},
		{"a part is added", edited(func(e *song.Edit) {
			e.Place(e.NewPart(song.Part{Name: "new", Channel: 3}), song.Note{Start: 400, End: 410, Key: 1, Vel: 1})
		}), "new changed outside"},
		{"the sections change", func(_ *moves.Outcome, in song.Song) (song.Song, error) { return in.WithSections(nil), nil }, "sections changed"},
		{"the tempo changes", edited(func(e *song.Edit) { e.InsertMeta(0, 0, 0x51, []byte{1, 2, 3}) }), "track 1 changed outside"},
		{"an error nobody wants", func(_ *moves.Outcome, in song.Song) (song.Song, error) { return in, fmt.Errorf("broken") }, `got the error "broken"`},
		{"a warning nobody wants", func(o *moves.Outcome, in song.Song) (song.Song, error) {
			o.Nothing = remark.Remark{Kind: remark.OwnWarning, Text: "look here"}
			return in, nil
		}, "want no such warning"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var got reports
			movetest.Check(&got, fakeRow(tt.do))
			if !strings.Contains(strings.Join(got.texts, "\n"), tt.want) {
				t.Errorf("reported %q, want %q among it", got.texts, tt.want)
			}
		})
	}
}

func TestWantedThingsThatAreMissingAreSeen(t *testing.T) {
	nothing := func(_ *moves.Outcome, in song.Song) (song.Song, error) { return in, nil }
	for _, tt := range []struct {
		rule string
		set  func(*movetest.Row)
		want string
	}{
		{"another grid", func(r *movetest.Row) { r.After = strings.Replace(before, "x", "X", 1) }, "want\nkick X...x...x...x...|x...x...x...x...\n"},
		{"another length", func(r *movetest.Row) { r.After = "kick x...x...x...x...\nhat  ..x...x...x...x." }, "the song ends at tick 768, want 384"},
		{"an error", func(r *movetest.Row) { r.Err = "keep: found" }, "got no error"},
		{"a text that is told", func(r *movetest.Row) { r.Told = []string{"map it"} }, `want "map it" among it`},
		{"a warning", func(r *movetest.Row) { r.Warned = []string{"silence"} }, `want "silence" among it`},
		{"a reason to do nothing", func(r *movetest.Row) { r.Nothing = remark.NothingPlays }, "want the reason"},
		{"a grid that reads", func(r *movetest.Row) { r.Before = "kick ???" }, "the row cannot be read"},
		{"sections that read", func(r *movetest.Row) { r.Sections = "drop" }, "the row cannot be read"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			row := fakeRow(nothing)
			tt.set(&row)
			var got reports
			movetest.Check(&got, row)
			if !strings.Contains(strings.Join(got.texts, "\n"), tt.want) {
				t.Errorf("reported %q, want %q among it", got.texts, tt.want)
			}
		})
	}
}

func TestGoodMovesPass(t *testing.T) {
	movetest.Run(t,
		movetest.Row{Name: "nothing is done", Step: &fake{do: func(_ *moves.Outcome, in song.Song) (song.Song, error) { return in, nil }, Target: moves.Target{Part: where.PartsOf("kick")}},
			Before: before, After: before},
		movetest.Row{Name: "a note in the span goes", Step: fakeRow(edited(func(e *song.Edit) {
			e.Map(0, func(n song.Note) (song.Note, bool) { return n, n.Start != 384 })
		})).Step, Before: before, After: strings.Replace(before, "|x", "|.", 1)},
		movetest.Row{Name: "a note that rings into the span may end there", Step: fakeRow(edited(func(e *song.Edit) {
			e.Cut(0, []song.Range{{Start: 384, End: 768}}, false)
		})).Step, Before: "kick x...x...x...x---|----x...........", After: "kick x...x...x...x---|................"},
		movetest.Row{Name: "a loop is laid over its sections, and Before thins it out", Step: fakeRow(func(_ *moves.Outcome, in song.Song) (song.Song, error) { return in, nil }).Step,
			Sections: "intro 1, drop 2", Loop: "kick x...x...x...x...|xx..x...x...x...",
			Before: "kick ................|x...x...x...x...|xx..x...x...x...", After: "kick ................|x...x...x...x...|xx..x...x...x..."},
	)
}
