package listen

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Looped is one of several loops of a song, as [FindLoop] found it.
type Looped struct {
	Name string
	From string // the names of its files, for mistakes; "": not known
	File *smf.File
	Loop Loop
}

// String is a loop as a mistake names it.
func (l Looped) String() string {
	if l.From == "" {
		return l.Name
	}
	return fmt.Sprintf("%s (%s)", l.Name, l.From)
}

// Tape is several loops one after another in one file, the instruments of all on common tracks.
type Tape struct {
	File  *smf.File
	Loops []song.Stretch

	instruments []instrument
	heard       []*hearing // of each loop by itself
	players     [][]int    // of each loop, by its raw parts: the instrument
}

// instrument is what one track plays on one channel, whichever loop it plays.
type instrument struct {
	track         int
	channel, port uint8
	name          string // that says which track it is, in lower case; "" for none
	title         string // as a track of its own is called
	program       int    // -1: none
	role          song.Role
	kit           bool
}

// NewTape brings loops onto one tape, each starting on a bar line after all that sounds of the one before and an empty
// bar, so that no bar of a loop leads to one of another.
// Its tracks are those of the first loop and one for each instrument that has no track there.
//
// Instruments of two loops are the same where their tracks' names and channels are; else where their names
// are and no other part has it; else, where one of the two has no name that says which track it is, where role
// and program are, those of one channel first, then whose channel and program are, then in their order; and where each
// plays all that is on the channel for drums, be it one sound of a kit. One that no other loop has keeps its
// channel unless an instrument has that with another program: then it gets a free one, which is told, as is that
// none is free.
//
// Tempo and key are the first loop's. A change of metre in a loop, another metre than the first loop's, two
// loops of the same notes and what [Join] refuses of resolutions are errors, each a [LoopError].
func NewTape(loops []Looped) (*Tape, []string, error) {
	t := &taping{loops: loops, tape: &Tape{}}
	for _, step := range []func() error{t.check, t.hear} {
		if err := step(); err != nil {
			return nil, nil, err
		}
	}
	t.bringTogether()
	t.lay()
	return t.tape, t.told, nil
}

// taping are loops on their way to a tape.
type taping struct {
	loops   []Looped
	ppq     smf.Tick
	factors []smf.Tick // by which each loop's ticks are multiplied
	songs   []song.Song
	own     [][]instrument // of each loop, where it has them
	tape    *Tape
	told    []string
}

// LoopError says why one of several loops cannot share a tape with those before it.
type LoopError struct {
	Loop int // of those given, from 0
	Err  error
}

func (e *LoopError) Error() string { return e.Err.Error() }

// Unwrap returns what is wrong.
func (e *LoopError) Unwrap() error { return e.Err }

// check refuses loops that cannot share a tape.
func (t *taping) check() error {
	var inputs []Input
	for _, l := range t.loops {
		inputs = append(inputs, Input{Name: l.String(), File: l.File})
	}
	var err error
	if t.ppq, err = commonPPQ(inputs); err != nil {
		return err
	}
	for i, l := range t.loops {
		s, err := song.From(l.File)
		if err != nil {
			return &LoopError{i, fmt.Errorf("%s: %w", l, err)}
		}
		t.songs = append(t.songs, s)
		own, _ := l.File.Division.PPQ()
		t.factors = append(t.factors, t.ppq/own)
		if end := s.End; end > smf.MaxTicks/t.factors[i] {
			return &LoopError{i, fmt.Errorf("%s: found an end at tick %d of %d a quarter, want it within %d once the resolution is %d", l, end, own, smf.MaxTicks, t.ppq)}
		}
		metre := s.Time().MetreIn(1)
		for _, m := range s.Time().Metres() {
			if m.Tick < l.Loop.Len && m.Metre != metre {
				return &LoopError{i, fmt.Errorf("%s: found a change of metre in bar %d, want one metre in loops that make one track", l, s.Time().BarOf(m.Tick))}
			}
		}
		if first := t.songs[0].Time().MetreIn(1); metre != first {
			return &LoopError{i, fmt.Errorf("%s: found the metre %s, want %s as in %s", l, metre, first, t.loops[0])}
		}
		for k := range i {
			if sameNotes(t.songs[k], t.factors[k], s, t.factors[i]) {
				return &LoopError{i, fmt.Errorf("%s: found the same notes as in %s, want each loop once", l, t.loops[k])}
			}
		}
		if mine, first := s.Time().TempoAt(0), t.songs[0].Time().TempoAt(0); mine != first {
			t.told = append(t.told, fmt.Sprintf("%s: its tempo of %s bpm is not that of %s, %s bpm, which counts",
				l.Name, bpmText(mine), t.loops[0].Name, bpmText(first)))
		}
	}
	return nil
}

func bpmText(micros uint32) string {
	return tempoText((60_000_000_000 + int64(micros)/2) / int64(micros))
}

// sameNotes tells whether two songs have the same notes on the same channels, however tracks hold them: in format 0 one
// track has them all.
func sameNotes(a song.Song, fa smf.Tick, b song.Song, fb smf.Tick) bool {
	count := func(s song.Song) (n int) {
		for _, p := range s.Parts {
			n += len(p.Notes)
		}
		return n
	}
	return count(a) == count(b) && slices.Equal(played(a, fa), played(b, fb))
}

// playedNote is a note as it sounds.
type playedNote struct {
	start, end              smf.Tick
	port, channel, key, vel uint8
}

// played returns the notes of a song, their ticks times a factor, in an order that does not hang on tracks.
func played(s song.Song, factor smf.Tick) []playedNote {
	var out []playedNote
	for _, p := range s.Parts {
		for _, n := range p.Notes {
			out = append(out, playedNote{n.Start * factor, n.End * factor, p.Port, p.Channel, n.Key, n.Vel})
		}
	}
	slices.SortFunc(out, func(a, b playedNote) int {
		return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.port, b.port), cmp.Compare(a.channel, b.channel),
			cmp.Compare(a.key, b.key), cmp.Compare(a.end, b.end), cmp.Compare(a.vel, b.vel))
	})
	return out
}

// hear hears each loop by itself.
func (t *taping) hear() error {
	for i, l := range t.loops {
		h := newHearing(t.songs[i], Options{Loop: l.Loop})
		h.name = l.Name
		h.run()
		if len(h.errs) > 0 {
			return h.errs
		}
		t.tape.heard = append(t.tape.heard, h)
		for _, line := range append(h.told, h.silentHalves()...) {
			t.told = append(t.told, l.Name+": "+line)
		}
		t.own = append(t.own, h.instruments())
	}
	return nil
}

// instruments returns the raw parts of a song that was heard, as instruments.
func (h *hearing) instruments() []instrument {
	names := ownNames(h.song)
	alone := make([]int, len(h.song.Tracks))
	for _, p := range h.song.Parts {
		alone[p.Track]++
	}
	out := make([]instrument, len(h.song.Parts))
	for i, p := range h.song.Parts {
		in := instrument{track: p.Track, channel: p.Channel, port: p.Port, name: names[p.Track], program: -1, role: song.RoleUnknown}
		if alone[p.Track] == 1 {
			in.title = h.song.Tracks[p.Track].Name
		} else {
			in.name = "" // the track's name is not one part's
		}
		if program, ok := h.program(p); ok {
			in.program = int(program)
		}
		for _, v := range h.voices {
			if v.Track != p.Track || v.Channel != p.Channel {
				continue
			}
			in.role = v.Role
			in.kit = in.kit || v.whole || !v.Keys.All()
		}
		if in.kit {
			in.role = song.RoleUnknown
		}
		out[i] = in
	}
	return out
}

// bringTogether finds out which instruments of the loops are the same.
func (t *taping) bringTogether() {
	var used [256][16]bool // ports and channels that some loop uses
	for _, own := range t.own {
		for _, in := range own {
			used[in.port][in.channel] = true
		}
	}
	tracks := len(t.songs[0].Tracks)
	all := slices.Clone(t.own[0])
	first := make([]int, len(all))
	for i := range first {
		first[i] = i
	}
	players := [][]int{first}
	for k := 1; k < len(t.own); k++ {
		mine := match(all, t.own[k])
		for i, at := range mine {
			if at >= 0 {
				if all[at].name == "" {
					all[at].name = t.own[k][i].name
				}
				continue
			}
			in := t.own[k][i]
			if in.track = t.restingTrack(in.name, all); in.track < 0 {
				in.track = tracks
				tracks++
			}
			t.giveChannel(&in, all, &used, t.loops[k].Name)
			mine[i] = len(all)
			all = append(all, in)
		}
		players = append(players, mine)
	}
	t.tape.instruments, t.tape.players = all, players
}

// restingTrack returns the track of the first loop that bears a name and has no notes there; -1: none, or it is another
// instrument's by now.
func (t *taping) restingTrack(name string, all []instrument) int {
	for i, track := range t.songs[0].Tracks {
		if name != "" && strings.ToLower(track.Name) == name && !slices.ContainsFunc(all, func(a instrument) bool { return a.track == i }) {
			return i
		}
	}
	return -1
}

// match returns for each of some instruments which of all it is; -1: none.
func match(all, own []instrument) []int {
	mine := make([]int, len(own))
	for i := range mine {
		mine[i] = -1
	}
	taken := make([]bool, len(all))
	pairs := func(same func(a, b instrument) bool) {
		for i := range own {
			for k := range all {
				if mine[i] < 0 && !taken[k] && same(all[k], own[i]) {
					mine[i], taken[k] = k, true
				}
			}
		}
	}
	bearers := func(of []instrument, name string) int {
		n := 0
		for _, in := range of {
			if in.name == name {
				n++
			}
		}
		return n
	}
	sounds := func(a, b instrument) bool {
		return (a.name == "" || b.name == "") && a.kit == b.kit && a.role == b.role && a.program == b.program
	}
	pairs(func(a, b instrument) bool { return a.name != "" && a.name == b.name && a.channel == b.channel })
	pairs(func(a, b instrument) bool {
		return a.name != "" && a.name == b.name && bearers(all, a.name) == 1 && bearers(own, a.name) == 1
	})
	pairs(func(a, b instrument) bool { return sounds(a, b) && a.channel == b.channel })
	pairs(func(a, b instrument) bool { // a name of one of them may say another role than its sound does
		return (a.name == "" || b.name == "") && !a.kit && !b.kit && a.channel == b.channel && a.program == b.program && a.program >= 0
	})
	drums := func(of []instrument) int {
		n := 0
		for _, in := range of {
			if in.channel == PercussionChannel {
				n++
			}
		}
		return n
	}
	oneKit := drums(all) == 1 && drums(own) == 1
	pairs(func(a, b instrument) bool {
		return oneKit && a.channel == PercussionChannel && b.channel == PercussionChannel && (a.name == "" || b.name == "") && a.program == b.program
	})
	pairs(func(a, b instrument) bool { return sounds(a, b) && (a.kit || a.role != song.RoleUnknown) })
	return mine
}

// giveChannel gives an instrument that the others do not have another channel where its own is theirs.
func (t *taping) giveChannel(in *instrument, all []instrument, used *[256][16]bool, name string) {
	clashes := slices.ContainsFunc(all, func(a instrument) bool {
		return a.port == in.port && a.channel == in.channel && a.program != in.program
	})
	if !clashes {
		return
	}
	who := in.title
	if who == "" {
		who = string(in.role)
	}
	for c := range uint8(16) {
		if c == PercussionChannel || used[in.port][c] {
			continue
		}
		t.told = append(t.told, fmt.Sprintf("%s: %s plays on channel %d, since channel %d has another sound", name, quoted(who), c+1, in.channel+1))
		in.channel, used[in.port][c] = c, true
		return
	}
	t.told = append(t.told, fmt.Sprintf("%s: %s shares channel %d with another sound: no channel is free", name, quoted(who), in.channel+1))
}

// lay writes the loops one after another.
func (t *taping) lay() {
	tl := t.songs[0].Time()
	bar := tl.BarTicks(1) * t.factors[0]
	file := &smf.File{Format: t.loops[0].File.Format, Division: smf.Division(t.ppq), Chunks: t.loops[0].File.Chunks, Warnings: t.loops[0].File.Warnings}
	file.Tracks = make([]smf.Track, len(t.songs[0].Tracks))
	for _, in := range t.tape.instruments[len(t.own[0]):] {
		if in.track < len(t.songs[0].Tracks) {
			continue
		}
		var u smf.Track
		if in.title != "" {
			u.AppendMeta(0, smf.MetaTrackName, []byte(in.title))
		}
		if in.port != 0 {
			u.AppendMeta(0, smf.MetaPort, []byte{in.port})
		}
		file.Tracks = append(file.Tracks, u)
	}
	if file.Format == 0 && len(file.Tracks) > 1 {
		file.Format = 1
	}
	start := smf.Tick(0)
	for k, l := range t.loops {
		s := song.Stretch{Name: l.Name, Bar: int(start/bar) + 1, Bars: l.Loop.Bars, Cycles: make([]song.Tick, len(file.Tracks))}
		last := l.Loop.Len
		for i := range l.File.Tracks {
			last = max(last, l.File.Tracks[i].End)
			t.copyTrack(file, k, i, start)
		}
		for i, p := range t.songs[k].Parts {
			if c := l.Loop.Cycles; p.Track < len(c) {
				s.Cycles[t.tape.instruments[t.tape.players[k][i]].track] = c[p.Track] * t.factors[k]
			}
		}
		if k > 0 && len(tl.Tempi()) > 1 {
			file.Tracks[0].AppendMeta(start, smf.MetaTempo, tempoBytes(tl.TempoAt(0)))
		}
		t.tape.Loops = append(t.tape.Loops, s)
		start += (last*t.factors[k]+bar-1)/bar*bar + bar
	}
	for i := range file.Tracks {
		u := &file.Tracks[i]
		slices.SortStableFunc(u.Events, byTick)
		u.End = start
	}
	t.tape.File = file
}

// copyTrack copies a track of a loop to where its instruments stand on the tape. Notes without an end are
// closed with the cycle.
func (t *taping) copyTrack(file *smf.File, k, track int, start smf.Tick) {
	l, from := t.loops[k], &t.loops[k].File.Tracks[track]
	home := track // of what is no channel's
	if k > 0 {
		home = 0
		if i := slices.IndexFunc(t.songs[k].Parts, func(p song.Part) bool { return p.Track == track }); i >= 0 {
			home = t.tape.instruments[t.tape.players[k][i]].track
		}
	}
	put := func(e smf.Event) {
		at := start + e.Tick*t.factors[k]
		if !e.IsChannel() {
			if k == 0 || !ofTheFirst(e) {
				file.Tracks[home].Events = append(file.Tracks[home].Events, file.Tracks[home].CopyLong(from, e, at))
			}
			return
		}
		if k == 0 {
			file.Tracks[track].Append(e.At(at))
			return
		}
		if in, ok := t.player(k, track, e.Chan()); ok {
			file.Tracks[in.track].Append(smf.Channel(at, e.Kind()|in.channel, e.Data1(), e.Data2()))
		}
	}
	for _, e := range from.Events {
		put(e)
	}
	end := l.Loop.Len
	if c := l.Loop.Cycles; track < len(c) && c[track] > 0 {
		end = c[track]
	}
	for _, n := range from.Pair().Notes {
		if on := from.Events[n.On]; n.Off < 0 {
			put(smf.Channel(max(end, on.Tick+1), 0x80|on.Chan(), on.Data1(), 64))
		}
	}
}

// ofTheFirst tells whether an event that is no channel's is taken from the first loop alone: names, ports,
// tempo, metre, key and the like.
func ofTheFirst(e smf.Event) bool {
	kind, meta := e.MetaType()
	return meta && (strings.IndexByte(conductors, kind) >= 0 || bytes.IndexByte([]byte{smf.MetaTrackName, smf.MetaPort, smf.MetaChannelPrefix}, kind) >= 0)
}

// player returns the instrument that plays what a loop has on a track and channel: of a track without notes
// there the first on that channel.
func (t *taping) player(k, track int, channel uint8) (instrument, bool) {
	found := -1
	for i, p := range t.songs[k].Parts {
		if p.Channel == channel && (p.Track == track || found < 0) {
			found = i
			if p.Track == track {
				break
			}
		}
	}
	if found < 0 {
		return instrument{}, false
	}
	return t.tape.instruments[t.tape.players[k][found]], true
}
