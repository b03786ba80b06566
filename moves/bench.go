package moves

import (
	"slices"
	"sort"

	"loopdraft/smf/song"
)

// bench is a song of which a composite move changes a few bars of a part at a time. A step is carried out on those
// bars of the parts of one track alone, and what it makes of them is put in their place, so that a step takes as long
// as the bars that it works on and not as long as the song.
type bench struct {
	env   Env
	step  Env       // of the step that is tried
	song  song.Song // its parts have the notes that the bench began with
	parts []benched
	know  []known     // of each track
	left  int64       // events that may still be added
	room  song.Room   // for the notes of one trial after the other
	lent  []song.Note // the notes that were asked for last, where they do not stand in one list
}

// benched is what a bench knows of a part.
type benched struct {
	changed map[int][]song.Note // the notes that start in stretches that were changed
	longest song.Tick           // no note lasts longer
	chord   int64               // no chord has more notes
	more    int                 // notes than it began with
	local   bool                // what it plays elsewhere does not matter to steps that work on a few of its bars
}

// known is what a bench knows of a track.
type known struct {
	found       bool
	first, last int  // its parts, from first up to last
	plain       bool // no note-off is without a note
	rests       bool // it has pedals, bend or pressure, which a mute puts to rest
}

// stretch is how many bars are made anew where one of them changes.
const stretch = 16

// newBench returns a bench for a song.
func newBench(env Env, in song.Song) *bench {
	env.swing()
	env.memo = newMemo(&env)
	b := &bench{env: env, song: in, parts: make([]benched, len(in.Parts)), know: make([]known, len(in.Tracks)), left: song.MaxEvents - eventsIn(in)}
	b.song.Parts, b.song.Tracks = slices.Clone(in.Parts), slices.Clone(in.Tracks)
	for i, p := range in.Parts {
		b.parts[i] = b.knownOf(i, p)
	}
	return b
}

// knownOf finds out about a part.
func (b *bench) knownOf(i int, p song.Part) benched {
	out := benched{changed: map[int][]song.Note{}}
	if i >= len(b.env.Full.Parts) || b.env.Full.Parts[i].Name != p.Name {
		return out
	}
	source := b.env.Full.Parts[i].Notes
	ppq := int64(b.song.Time().PPQ())
	for _, n := range p.Notes {
		out.longest = max(out.longest, n.End-n.Start)
	}
	for _, n := range source { // what a layer adds
		out.longest = max(out.longest, n.End-n.Start)
	}
	out.chord = max(longestChord(source, p.Notes, ppq), 1)
	lowest := func(notes []song.Note) int { return lowestPitchIn(notes) }
	out.local = len(source) > 0 && lowest(p.Notes) >= lowest(source)
	return out
}

// group returns the parts of the track of a part, from first up to last, and what is known of the track.
func (b *bench) group(part int) known {
	track := b.song.Parts[part].Track
	k := &b.know[track]
	if k.found {
		return *k
	}
	*k = known{found: true, first: part, last: part + 1, plain: true}
	for k.first > 0 && b.song.Parts[k.first-1].Track == track {
		k.first--
	}
	for k.last < len(b.song.Parts) && b.song.Parts[k.last].Track == track {
		k.last++
	}
	for _, ev := range b.song.Tracks[track].Events {
		switch kind := ev.Kind(); {
		case ev.IsOff():
			k.plain = false
		case kind == 0xA0 || kind == 0xD0 || kind == 0xE0, kind == 0xB0 && slices.Contains([]byte{64, 66, 67, 69}, ev.Data1()):
			k.rests = true
		}
	}
	return *k
}

// line returns where a stretch begins.
func (b *bench) line(k int) song.Tick { return b.song.Time().BarStart(1 + k*stretch) }

// stretchOf returns the stretch of a tick.
func (b *bench) stretchOf(t song.Tick) int { return (b.song.Time().BarOf(t) - 1) / stretch }

// notes returns the notes of a part that start from one tick to another. They are not to be written to.
func (b *bench) notes(part int, from, to song.Tick) []song.Note {
	if notes, is := b.inOne(part, from, to); is {
		return notes
	}
	return b.add(nil, part, from, to)
}

// look returns the notes of a part that start from one tick to another, until it is asked again.
func (b *bench) look(part int, from, to song.Tick) []song.Note {
	if notes, is := b.inOne(part, from, to); is {
		return notes
	}
	b.lent = b.add(b.lent[:0], part, from, to)
	return b.lent
}

// inOne returns the notes of a part that start from one tick to another; false where they do not stand in one list.
func (b *bench) inOne(part int, from, to song.Tick) ([]song.Note, bool) {
	from, to = max(from, 0), min(to, b.song.End)
	if from >= to {
		return nil, true
	}
	if changed := b.parts[part].changed; len(changed) > 0 {
		for k, last := b.stretchOf(from), b.stretchOf(to-1); k <= last; k++ {
			if _, is := changed[k]; is {
				return nil, false
			}
		}
	}
	return starting(b.song.Parts[part].Notes, from, to), true
}

// add adds the notes of a part that start from one tick to another to a list.
func (b *bench) add(out []song.Note, part int, from, to song.Tick) []song.Note {
	from, to = max(from, 0), min(to, b.song.End)
	for k := b.stretchOf(from); from < to; k++ {
		end := min(to, b.line(k+1))
		notes, is := b.parts[part].changed[k]
		if !is {
			notes = b.song.Parts[part].Notes
		}
		out = append(out, starting(notes, from, end)...)
		from = end
	}
	return out
}

// starting returns those of notes that start from one tick to another.
func starting(notes []song.Note, from, to song.Tick) []song.Note {
	i := sort.Search(len(notes), func(i int) bool { return notes[i].Start >= from })
	j := i + sort.Search(len(notes)-i, func(k int) bool { return notes[i+k].Start >= to })
	return notes[i:j:j]
}

// trial is what steps make of a few bars of the parts of a track.
type trial struct {
	*bench
	known
	from, to song.Tick   // the notes that start there are tried
	was, is  []song.Song // of the track's parts these notes, before each step and after it
	steps    []Step
	done     []Outcome
}

// try carries out steps on a part over whole bars of a bench; what was tried before is gone. It is not done where one of them cannot be, or has
// nothing to do; it is not local where that needs the whole song.
func (b *bench) try(part, first, last int, steps ...Step) (t *trial, done, local bool) {
	k := b.group(part)
	if !k.plain {
		return nil, false, false
	}
	longest := b.song.Time().BarTicks(first)
	for i := k.first; i < k.last; i++ {
		if !b.parts[i].local {
			return nil, false, false
		}
		longest = max(longest, b.parts[i].longest)
	}
	over := b.song.BarRange(first, last)
	t = &trial{bench: b, was: make([]song.Song, 0, len(steps)), is: make([]song.Song, 0, len(steps)), done: make([]Outcome, 0, len(steps)), known: k, steps: steps, from: max(over.Start-longest, 0), to: min(b.song.Time().BarStart(last+2), b.song.End)}
	b.room.Keep(song.Song{})
	in := t.song(k.rests && slices.ContainsFunc(steps, func(s Step) bool { _, mutes := s.(*Mute); return mutes }))
	for _, step := range steps {
		if !t.hasRoom(in, part, over) {
			return nil, false, false
		}
		e := &b.step
		*e = b.env
		e.Parts, e.Ranges, e.uncut, e.partsFrom = []int{part - k.first}, []song.Range{over}, nil, k.first
		if c, ok := step.(interface{ chance() *Chance }); ok && !c.chance().Seed.IsZero() {
			e.Seed = c.chance().Seed.Value
		}
		o, err := e.carryOut(step, in, nil)
		if err != nil || o.Idle() {
			return nil, false, true
		}
		o.Parts = []int{part}
		t.was, t.is, t.done = append(t.was, in), append(t.is, o.Song), append(t.done, o)
		in = o.Song
	}
	return t, true, true
}

// hasRoom tells whether there is room for more than a step can add over a range.
func (t *trial) hasRoom(in song.Song, part int, over song.Range) bool {
	notes, chord := int64(0), int64(1)
	for i, p := range in.Parts {
		notes, chord = notes+int64(len(p.Notes)), max(chord, t.parts[t.first+i].chord)
	}
	source := int64(len(t.env.Full.In(t.env.Full.Parts[part], over)))
	most := places([]song.Range{over}, int64(in.Time().PPQ()), 4)*chord + 6*(notes+chord) + source
	return most < t.left/4
}

// song returns the song with the tried bars of the parts of the track alone; the track has its events where steps
// change them.
func (t *trial) song(events bool) song.Song {
	out, own := t.bench.song.WithRoom(&t.bench.room), t.bench.song.Parts[t.first].Track
	track := t.bench.song.Tracks[own]
	out.Tracks = []*song.Track{track}
	if !events {
		out.Tracks[0] = &song.Track{Name: track.Name, End: track.End}
	}
	out.Parts = slices.Clone(out.Parts[t.first:t.last])
	for i := range out.Parts {
		out.Parts[i].Track, out.Parts[i].Notes = 0, t.bench.notes(t.first+i, t.from, t.to)
	}
	return out
}

// touched returns the parts that play something else.
func (t *trial) touched() []int {
	var out []int
	before, after := t.was[0], t.is[len(t.is)-1]
	for i := range before.Parts {
		if a, b := before.Parts[i].Notes, after.Parts[i].Notes; len(a) != len(b) || len(a) > 0 && &a[0] != &b[0] {
			out = append(out, t.first+i)
		}
	}
	return out
}

// events returns the track with the events that are tried, nil where it has those that it had.
func (t *trial) events() *song.Track {
	was, is := t.was[0].Tracks[0], t.is[len(t.is)-1].Tracks[0]
	if was != t.bench.song.Tracks[t.bench.song.Parts[t.first].Track] || slices.Equal(was.Events, is.Events) {
		return nil
	}
	return is
}

// before and after return what is tried of a part: its notes as they were, and as they are.
func (t *trial) before(part int) []song.Note { return t.was[0].Parts[part-t.first].Notes }
func (t *trial) after(part int) []song.Note {
	return t.is[len(t.is)-1].Parts[part-t.first].Notes
}

// part returns a part of the track with its notes that start from one tick to another, as they are after so many of
// the steps, until the bench is asked for others.
func (t *trial) part(part, steps int, from, to song.Tick) song.Part {
	p := t.bench.song.Parts[part]
	if steps == 0 {
		p.Notes = t.bench.look(part, from, to)
		return p
	}
	tried := starting(t.is[steps-1].Parts[part-t.first].Notes, from, to)
	if t.from <= from && to <= t.to {
		p.Notes = tried
		return p
	}
	p.Notes = append(t.bench.add(t.lent[:0], part, from, min(to, t.from)), tried...)
	p.Notes = t.bench.add(p.Notes, part, max(from, t.to), to)
	t.lent = p.Notes
	return p
}

// take puts what a trial came to in its place.
func (b *bench) take(t *trial) {
	after := t.is[len(t.is)-1]
	for _, i := range t.touched() {
		was, is := t.before(i), t.after(i)
		p := &b.parts[i]
		p.more += len(is) - len(was)
		p.chord += int64(max(len(is)-len(was), 0))
		b.left -= 2 * int64(len(is)-len(was))
		for _, n := range is {
			p.longest = max(p.longest, n.End-n.Start)
		}
		first, last := b.stretchOf(t.from), b.stretchOf(max(t.to-1, t.from))
		notes := slices.Concat(b.notes(i, b.line(first), t.from), is, b.notes(i, t.to, b.line(last+1)))
		for k := first; k <= last; k++ {
			p.changed[k] = starting(notes, b.line(k), b.line(k+1))
		}
		b.song.Parts[i].Keys = after.Parts[i-t.first].Keys
	}
	own := b.song.Parts[t.first].Track
	switch is := t.events(); {
	case is != nil:
		b.left -= 2 * int64(max(len(is.Events)-len(b.song.Tracks[own].Events), 0))
		b.song.Tracks[own] = is
	case after.Tracks[0].End != b.song.Tracks[own].End:
		track := *b.song.Tracks[own]
		track.End = after.Tracks[0].End
		b.song.Tracks[own] = &track
	}
}

// whole returns the song with all that was changed.
func (b *bench) whole() song.Song {
	out := b.song
	out.Parts, out.Tracks = slices.Clone(out.Parts), slices.Clone(out.Tracks)
	for i := range out.Parts {
		if len(b.parts[i].changed) == 0 {
			continue
		}
		out.Parts[i].Notes = b.add(make([]song.Note, 0, len(out.Parts[i].Notes)+b.parts[i].more), i, 0, out.End)
	}
	return out
}
