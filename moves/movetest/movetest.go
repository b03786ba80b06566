// Package movetest checks what every move promises. [Run] takes rows that read as music: the song
// before, a step, the song after, in the grids of [song.ParseGrid].
//
// On every row it checks that the song that came in is untouched, also behind the ends of its slices;
// that two runs agree; that the notes that come out are sorted and inside the song; that the move
// breaks no invariant that held before; that nothing outside the step's spans and parts has changed;
// and that the grid is the one wanted.
package movetest

import (
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/remark"
	"loopdraft/recipes/wording"
	"loopdraft/smf"
	"loopdraft/smf/song"

	"github.com/google/go-cmp/cmp"
)

// Row is a step on a song.
type Row struct {
	Name     string // the rule, in words
	Step     moves.Step
	Before   string                    // grid; "" with Loop: the loop over the sections
	Sections string                    // such as "intro 1, drop 2", with their bars; "" for none
	After    string                    // grid; "" where Look looks
	Steps    int                       // steps a quarter of the grids; 0: 4
	Loop     string                    // grid of the loop that Before is made of; "": Before itself
	Setup    func(song.Song) song.Song // changes the loop, or Before where there is none, ahead of the step
	Seed     uint64                    // of the step; 0: 1

	// May tells what the move is documented to change outside its spans and parts: notes and events
	// of a part at a tick. nil: nothing.
	May func(part song.Part, at song.Tick) bool

	Told   []string // texts that must be among what is told, whole or in part
	Warned []string // the same for the warnings; other warnings than these are a failure
	Err    string   // part of the error wanted; "": none

	Nothing remark.Kind // why the step has nothing to do; "": not looked at

	Look func(t Reporter, before, after song.Song, came moves.Outcome) // what a grid does not show
}

// Reporter is the part of [testing.TB] that a check needs.
type Reporter interface {
	Helper()
	Errorf(format string, args ...any)
}

// Anything is a May that allows every change.
func Anything(song.Part, song.Tick) bool { return true }

// Parts returns a May that allows every change of the parts of these names.
func Parts(names ...string) func(song.Part, song.Tick) bool {
	return func(p song.Part, _ song.Tick) bool { return slices.Contains(names, p.Name) }
}

// Tempo returns a Setup that sets a tempo in whole bpm at the start of the song.
func Tempo(bpm int) func(song.Song) song.Song {
	return func(s song.Song) song.Song {
		micros := (60_000_000 + bpm/2) / bpm
		e := s.Edit()
		e.InsertMeta(0, 0, smf.MetaTempo, []byte{byte(micros >> 16), byte(micros >> 8), byte(micros)})
		return e.Song()
	}
}

// Run checks each row as a test of its own.
func Run(t *testing.T, rows ...Row) {
	t.Helper()
	for _, row := range rows {
		t.Run(row.Name, func(t *testing.T) {
			t.Helper()
			Check(t, row)
		})
	}
}

// Check checks one row.
func Check(t Reporter, row Row) {
	t.Helper()
	in, env, err := row.songs()
	if err != nil {
		t.Errorf("the row cannot be read: %v", err)
		return
	}
	in, spare := withSpare(in)
	first := clone(in)
	came, err := moves.Run(env, row.Step, in)
	if diff := cmp.Diff(first, clone(in), everything()); diff != "" {
		t.Errorf("the move wrote to the song it got (- before, + after):\n%s", diff)
	}
	if what := spare.touched(); what != "" {
		t.Errorf("the move wrote behind the end of %s of the song it got", what)
	}
	twice, err2 := moves.Run(env, row.Step, in)
	if fmt.Sprint(err) != fmt.Sprint(err2) {
		t.Errorf("two runs disagree:\n%v\n%v", err, err2)
	}
	if !row.wanted(t, err) || err != nil {
		return
	}
	if diff := cmp.Diff(came.Song, twice.Song, everything()); diff != "" {
		t.Errorf("two runs disagree (- first, + second):\n%s", diff)
	}
	if diff := cmp.Diff(came.Remarks, twice.Remarks); diff != "" {
		t.Errorf("two runs tell different things (- first, + second):\n%s", diff)
	}
	CheckSong(t, in, came.Song)
	row.checkOutside(t, env, in, came.Song)
	row.checkTold(t, came)
	row.checkGrid(t, in, came.Song)
	if row.Look != nil {
		row.Look(t, in, came.Song, came)
	}
}

// songs returns the song the step works on and what surrounds it.
func (row Row) songs() (song.Song, *moves.Env, error) {
	env := &moves.Env{Strict: true, Seed: max(row.Seed, 1)}
	setup := func(s song.Song) song.Song {
		if row.Setup != nil {
			return row.Setup(s)
		}
		return s
	}
	sections, err := moves.ParseSections(row.Sections)
	if err != nil {
		return song.Song{}, nil, err
	}
	parse := func(grid string) (song.Song, error) { return song.ParseGridAt(grid, row.steps()) }
	if row.Loop == "" {
		in, err := parse(row.Before)
		if err != nil {
			return song.Song{}, nil, err
		}
		return setup(in).WithSections(sections), env, nil
	}
	loop, err := parse(row.Loop)
	if err != nil {
		return song.Song{}, nil, err
	}
	env.Loop, env.Bars = setup(loop), loop.Bars()
	layout := lay.Layout{Loop: env.Loop, Bars: env.Bars}
	for _, s := range sections {
		layout.Blocks = append(layout.Blocks, lay.Block{Bars: s.Bars})
	}
	if len(sections) == 0 {
		layout.Blocks = []lay.Block{{Bars: 2 * env.Bars, RunOn: true}}
	}
	full, _, err := lay.Lay(layout)
	if err != nil {
		return song.Song{}, nil, err
	}
	env.Full = full.WithSections(sections)
	if row.Before == "" {
		return env.Full, env, nil
	}
	want, err := parse(row.Before)
	if err != nil {
		return song.Song{}, nil, err
	}
	return lineUp(env.Full, want), env, nil
}

// lineUp leaves out of a laid loop what a grid does not have.
func lineUp(full, want song.Song) song.Song {
	e := full.Edit()
	for i, p := range full.Parts {
		j := want.Index(p.Name)
		e.Map(i, func(n song.Note) (song.Note, bool) {
			return n, j >= 0 && slices.ContainsFunc(want.Parts[j].Notes, func(m song.Note) bool { return m.Start == n.Start && m.Key == n.Key })
		})
	}
	return e.Song()
}

func (row Row) steps() int {
	if row.Steps > 0 {
		return row.Steps
	}
	return 4
}

func (row Row) wanted(t Reporter, err error) bool {
	t.Helper()
	switch {
	case err == nil && row.Err == "":
		return true
	case err == nil:
		t.Errorf("got no error, want %q", row.Err)
	case row.Err == "":
		t.Errorf("got the error %q, want none", err)
	case !strings.Contains(err.Error(), row.Err):
		t.Errorf("got the error  %q\nwant it to have %q", err, row.Err)
	default:
		return true
	}
	return false
}

func (row Row) checkTold(t Reporter, came moves.Outcome) {
	t.Helper()
	told, warned := Told(came), Warned(came)
	for _, want := range row.Told {
		if !slices.ContainsFunc(told, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("told %q, want %q among it", told, want)
		}
	}
	for _, want := range row.Warned {
		if !slices.ContainsFunc(warned, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("warned %q, want %q among it", warned, want)
		}
	}
	for _, got := range warned {
		if !slices.ContainsFunc(row.Warned, func(s string) bool { return strings.Contains(got, s) }) {
			t.Errorf("warned %q, want no such warning", got)
		}
	}
	if why := wording.Text(came.Nothing); came.Nothing.Kind != row.Nothing && row.Nothing != "" {
		t.Errorf("it had nothing to do because %q, want the reason %q", why, row.Nothing)
	}
}

// Told returns what a step told, as a producer reads it.
func Told(came moves.Outcome) []string { return wording.All(came.Remarks, false) }

// Warned returns what a step warned of, as a producer reads it.
func Warned(came moves.Outcome) []string { return wording.All(came.Remarks, true) }

func (row Row) checkGrid(t Reporter, in, out song.Song) {
	t.Helper()
	if row.After == "" {
		return
	}
	want, err := song.ParseGridAt(row.After, row.steps())
	if err != nil {
		t.Errorf("the row's grid cannot be read: %v", err)
		return
	}
	wantGrid, got := grid(row.After), song.GridAt(out, row.steps())
	if grid(got) != wantGrid {
		t.Errorf("\nbefore\n%s\ngot\n%s\nwant\n%s", song.GridAt(in, row.steps()), got, aligned(row.After))
	}
	if want.End != out.End {
		t.Errorf("the song ends at tick %d, want %d", out.End, want.End)
	}
}

// grid returns a grid without what only decorates it.
func grid(text string) string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		if label, steps, ok := strings.Cut(strings.TrimSpace(line), " "); ok {
			out = append(out, label+" "+strings.NewReplacer("|", "", " ", "").Replace(steps))
		}
	}
	return strings.Join(out, "\n")
}

func aligned(text string) string {
	lines := strings.Split(strings.TrimSpace(text), "\n")
	width := 0
	for _, l := range lines {
		label, _, _ := strings.Cut(strings.TrimSpace(l), " ")
		width = max(width, len(label))
	}
	for i, l := range lines {
		label, steps, _ := strings.Cut(strings.TrimSpace(l), " ")
		lines[i] = fmt.Sprintf("%-*s %s", width, label, strings.TrimSpace(steps))
	}
	return strings.Join(lines, "\n") + "\n"
}

// CheckSong checks what holds for every song a move returns: notes in order and inside the song, no
// violation of an invariant that the song before did not have, slices that no append can reach back
// through, events in order.
func CheckSong(t Reporter, before, after song.Song) {
	t.Helper()
	for _, p := range after.Parts {
		if !slices.IsSortedFunc(p.Notes, song.CompareNotes) {
			t.Errorf("the notes of %s are not in order", p.Name)
		}
		if cap(p.Notes) != len(p.Notes) && !sameParts(before, after) {
			t.Errorf("the notes of %s have room for an append to write to a shared song", p.Name)
		}
		if p.Track < 0 || p.Track >= len(after.Tracks) {
			t.Errorf("%s is on track %d of %d", p.Name, p.Track+1, len(after.Tracks))
		}
	}
	for i, track := range after.Tracks {
		if !slices.IsSortedFunc(track.Events, song.CompareEvents) {
			t.Errorf("the events of track %d are not in order", i+1)
		}
	}
	had := map[string]int{}
	for _, v := range before.Check() {
		had[v.String()]++
	}
	for _, v := range after.Check() {
		if had[v.String()]--; had[v.String()] < 0 {
			t.Errorf("the move broke an invariant: %s", v)
		}
	}
}

// sameParts tells whether a move gave the parts back that it got.
func sameParts(a, b song.Song) bool {
	return len(a.Parts) == len(b.Parts) && len(a.Parts) > 0 && &a.Parts[0] == &b.Parts[0]
}

// checkOutside checks that nothing outside the step's spans and parts has changed.
func (row Row) checkOutside(t Reporter, env *moves.Env, in, out song.Song) {
	t.Helper()
	parts, ranges, err := targetOf(env, row.Step, in)
	if err != nil {
		t.Errorf("the row's parts and spans: %v", err)
		return
	}
	may := row.May
	if may == nil {
		may = func(song.Part, song.Tick) bool { return false }
	}
	within := func(at song.Tick) bool {
		return slices.ContainsFunc(ranges, func(r song.Range) bool { return r.Has(at) })
	}
	for i, p := range out.Parts {
		mine := slices.Contains(parts, i)
		allowed := func(at song.Tick) bool {
			return mine && within(in.Counted(min(at, in.End))) || may(p, at)
		}
		var was []song.Note
		if i < len(in.Parts) {
			was = in.Parts[i].Notes
		}
		for _, n := range changedNotes(was, p.Notes, ranges, mine) {
			if !allowed(n.Start) {
				t.Errorf("%s changed outside the spans and parts of the step: key %d at tick %d", p.Name, n.Key, n.Start)
			}
		}
	}
	for i := range in.Tracks {
		for _, ev := range changedEvents(in.Tracks[i], out.Tracks[i]) {
			if !eventAllowed(in, out, i, ev, parts, ranges, may) {
				t.Errorf("track %d changed outside the spans and parts of the step: status %02X, %d %d at tick %d", i+1, ev.Status(), ev.Data1(), ev.Data2(), ev.Tick)
			}
		}
	}
	if len(out.Tracks) < len(in.Tracks) || len(out.Parts) < len(in.Parts) {
		t.Errorf("tracks or parts are gone: %d and %d, were %d and %d", len(out.Tracks), len(out.Parts), len(in.Tracks), len(in.Parts))
	}
	anything := may(song.Part{}, in.End)
	if !anything && (in.End != out.End || in.Division != out.Division || !slices.Equal(in.Sections, out.Sections)) {
		t.Errorf("the song's end, resolution or sections changed")
	}
}

// targetOf resolves the part and over options of a step; none for a step without them.
func targetOf(env *moves.Env, step moves.Step, in song.Song) ([]int, []song.Range, error) {
	field := reflect.ValueOf(step).Elem().FieldByName("Target")
	if !field.IsValid() {
		return nil, nil, nil
	}
	target := field.Interface().(moves.Target)
	parts, err := target.Part.Resolve(in)
	if err != nil {
		return nil, nil, err
	}
	if target.Over.IsZero() {
		return parts, []song.Range{{End: in.End}}, nil
	}
	ranges, _, err := target.Over.Resolve(env.SpanContext(in))
	return parts, ranges, err
}

// changedNotes returns the notes that are in only one of two lists. In a part that the step names, a
// note that only ends sooner, where a span begins or a note of its key that is new starts, is not one.
func changedNotes(before, after []song.Note, ranges []song.Range, mine bool) []song.Note {
	left := map[song.Note]int{}
	for _, n := range before {
		left[n]++
	}
	var added []song.Note
	for _, n := range after {
		if left[n] > 0 {
			left[n]--
		} else {
			added = append(added, n)
		}
	}
	var out []song.Note
	for _, n := range before {
		if left[n] == 0 {
			continue
		}
		left[n]--
		i := slices.IndexFunc(added, func(m song.Note) bool { return mine && endedSooner(n, m, after, ranges) })
		if i < 0 {
			out = append(out, n)
			continue
		}
		added = slices.Delete(added, i, i+1)
	}
	return append(out, added...)
}

func endedSooner(n, m song.Note, after []song.Note, ranges []song.Range) bool {
	if n.Start != m.Start || n.Key != m.Key || n.Vel != m.Vel || m.End >= n.End {
		return false
	}
	return slices.ContainsFunc(ranges, func(r song.Range) bool { return r.Start == m.End }) ||
		slices.ContainsFunc(after, func(next song.Note) bool { return next.Key == m.Key && next.Start == m.End && next.Is(song.New) })
}

// changedEvents returns the events that are in only one of two tracks.
func changedEvents(before, after *song.Track) []song.Event {
	type key struct {
		ev   song.Event
		long string
	}
	left := map[key]int{}
	of := func(t *song.Track, ev song.Event) key {
		if ev.IsChannel() {
			return key{ev: ev}
		}
		// Where its bytes lie among the track's is nobody's business.
		kind, _ := ev.MetaType()
		bare := ev
		bare.Event = song.Event{}.At(ev.Tick)
		return key{bare, fmt.Sprint(ev.Status(), kind, string(t.Long(ev)))}
	}
	for _, ev := range before.Events {
		left[of(before, ev)]++
	}
	var out []song.Event
	for _, ev := range after.Events {
		k := of(after, ev)
		if left[k] > 0 {
			left[k]--
		} else {
			out = append(out, ev)
		}
	}
	for _, ev := range before.Events {
		if k := of(before, ev); left[k] > 0 {
			left[k]--
			out = append(out, ev)
		}
	}
	return out
}

// eventAllowed tells whether a step may change an event: one of a channel it names, within a span or
// where the span ends, or one that the move is documented to change.
func eventAllowed(in, out song.Song, track int, ev song.Event, parts []int, ranges []song.Range, may func(song.Part, song.Tick) bool) bool {
	for i, p := range out.Parts {
		if p.Track != track || ev.IsChannel() && p.Channel != ev.Chan() {
			continue
		}
		if may(p, ev.Tick) {
			return true
		}
		if i < len(in.Parts) && ev.IsChannel() && slices.Contains(parts, i) && slices.ContainsFunc(ranges, func(r song.Range) bool { return r.Has(ev.Tick) || ev.Tick == r.End }) {
			return true
		}
	}
	return may(song.Part{Track: track}, ev.Tick)
}

// everything compares unexported fields too.
func everything() cmp.Option {
	return cmp.Exporter(func(reflect.Type) bool { return true })
}
