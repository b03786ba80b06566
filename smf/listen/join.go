package listen

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"loopdraft/smf"
)

// Input is a loop file to join.
type Input struct {
	Name string // the file's name, with a path or without
	File *smf.File
}

// finest is the most ticks a quarter note that a division can say (RP-001 p. 4).
const finest = 32767

// Join makes one file of several loops, for patterns exported one by one: every track of each input
// is a track of its own, the inputs in their order. It returns the file, the input (from 0) that each
// of its tracks comes from, and what a producer should know. A single input comes back as it is.
//
// Resolutions become their least common multiple, so that no tick is rounded; one over 32767 ticks a
// quarter is an error. Tempo, metre, key and SMPTE offset are each those of the first input that has
// any, and stand in the first track, or in that input's first track where they go on after the end of the
// first; other inputs' are dropped, told where they differ. The only track
// with notes of an input gets its file's name where it has none.
//
// Format 2 and SMPTE time cannot be joined. Neither the inputs nor their bytes are written to.
func Join(inputs []Input) (*smf.File, []int, []string, error) {
	switch len(inputs) {
	case 0:
		return nil, nil, nil, errors.New("found no file, want one or more loops")
	case 1:
		f := copyFile(inputs[0].File)
		return f, make([]int, len(f.Tracks)), nil, nil
	}
	ppq, err := commonPPQ(inputs)
	if err != nil {
		return nil, nil, nil, err
	}
	j := joining{inputs: inputs, out: &smf.File{Format: 1, Division: smf.Division(ppq)}}
	for i := range inputs {
		if err := j.add(i, ppq); err != nil {
			return nil, nil, nil, err
		}
	}
	j.conduct()
	return j.out, j.from, j.told, nil
}

// commonPPQ returns the least common multiple of the inputs' resolutions; what has none is a [LoopError].
func commonPPQ(inputs []Input) (smf.Tick, error) {
	ppq := smf.Tick(1)
	for i, in := range inputs {
		if _, _, err := in.File.Timeline(); err != nil {
			return 0, &LoopError{i, fmt.Errorf("%s: %w", in.Name, err)}
		}
		p, _ := in.File.Division.PPQ()
		ppq = ppq / gcd(ppq, p) * p
		if ppq > finest {
			return 0, &LoopError{i, fmt.Errorf("%s: found %d ticks a quarter, want a resolution that meets the others at %d or less", in.Name, p, finest)}
		}
	}
	return ppq, nil
}

func gcd(a, b smf.Tick) smf.Tick {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

type joining struct {
	inputs []Input
	out    *smf.File
	from   []int
	told   []string
	heard  [len(conductors)][]conductor // by kind, by input that has any
}

// conductors are the meta events of which a joined file has one input's alone: tempo, metre, key and
// SMPTE offset.
const conductors = "\x51\x58\x59\x54"

func conductorName(kind int) string {
	return [...]string{"tempo", "metre", "key", "SMPTE offset"}[kind]
}

// conductor is what one input says of one kind.
type conductor struct {
	input int
	ticks []smf.Tick
	data  [][]byte
}

func (c conductor) same(d conductor) bool {
	return slices.Equal(c.ticks, d.ticks) && slices.EqualFunc(c.data, d.data, bytes.Equal)
}

// add adds an input's tracks without their conductor's events.
func (j *joining) add(input int, ppq smf.Tick) error {
	in := j.inputs[input]
	own, _ := in.File.Division.PPQ()
	factor := ppq / own
	only := onlyNoteTrack(in.File)
	for _, c := range in.File.Chunks {
		c.Before += len(j.out.Tracks)
		j.out.Chunks = append(j.out.Chunks, c)
	}
	for _, w := range in.File.Warnings {
		w.Text = in.Name + ": " + w.Text
		j.out.Warnings = append(j.out.Warnings, w)
	}
	for i := range in.File.Tracks {
		t := &in.File.Tracks[i]
		if t.End > smf.MaxTicks/factor {
			return fmt.Errorf("%s: track %d: found an end at tick %d of %d a quarter, want it within %d once the resolution is %d",
				in.Name, i+1, t.End, own, smf.MaxTicks, ppq)
		}
		u := smf.TrackFromStore(make([]smf.Event, 0, len(t.Events)+1), 0, append([]byte(nil), t.LongStore()...))
		if i == only && trackTitle(t) == "" {
			u.AppendMeta(0, smf.MetaTrackName, []byte(baseName(in.Name)))
		}
		for _, e := range t.Events {
			if kind, meta := e.MetaType(); meta {
				if k := strings.IndexByte(conductors, kind); k >= 0 {
					j.hear(k, input, e.Tick*factor, t.Long(e))
					continue
				}
			}
			u.Events = append(u.Events, e.At(e.Tick*factor))
		}
		u.End = t.End * factor
		j.out.Tracks = append(j.out.Tracks, u)
		j.from = append(j.from, input)
	}
	return nil
}

func (j *joining) hear(kind, input int, tick smf.Tick, data []byte) {
	all := j.heard[kind]
	if n := len(all); n == 0 || all[n-1].input != input {
		all = append(all, conductor{input: input})
	}
	c := &all[len(all)-1]
	at, _ := slices.BinarySearch(c.ticks, tick+1) // after those of its tick
	c.ticks = slices.Insert(c.ticks, at, tick)
	c.data = slices.Insert(c.data, at, data)
	j.heard[kind] = all
}

// conduct puts the conductor's events into the first track, or, where they would make that longer, into
// the first track of the input they come from: its end says how long its loop is.
func (j *joining) conduct() {
	for kind := range j.heard {
		for i, c := range j.heard[kind] {
			first := j.heard[kind][0]
			if i == 0 {
				j.insert(c, conductors[kind])
			} else if !c.same(first) {
				j.told = append(j.told, fmt.Sprintf("%s: its %s is not that of %s, which counts",
					j.inputs[c.input].Name, conductorName(kind), j.inputs[first.input].Name))
			}
		}
	}
}

// insert puts what an input says of one kind into a track, before what stands there at each tick.
func (j *joining) insert(c conductor, kind byte) {
	track := 0
	if c.ticks[len(c.ticks)-1] > j.out.Tracks[0].End {
		track = slices.Index(j.from, c.input)
	}
	t := &j.out.Tracks[track]
	store := t.LongStore()
	all := make([]smf.Event, 0, len(c.ticks)+len(t.Events))
	for i, tick := range c.ticks {
		var e smf.Event
		store, e = smf.AppendLong(store, tick, 0xFF, kind, c.data[i])
		all = append(all, e)
	}
	all = append(all, t.Events...)
	slices.SortStableFunc(all, byTick)
	*t = smf.TrackFromStore(all, max(t.End, all[len(all)-1].Tick), store)
}

func byTick(a, b smf.Event) int { return cmp.Compare(a.Tick, b.Tick) }

// onlyNoteTrack returns the index of the only track with notes, -1 if there are several or none.
func onlyNoteTrack(f *smf.File) int {
	only := -1
	for i := range f.Tracks {
		if !slices.ContainsFunc(f.Tracks[i].Events, smf.Event.IsOn) {
			continue
		}
		if only >= 0 {
			return -1
		}
		only = i
	}
	return only
}

// trackTitle returns a track's name (its first FF 03), trimmed.
func trackTitle(t *smf.Track) string {
	for _, e := range t.Events {
		if kind, meta := e.MetaType(); meta && kind == smf.MetaTrackName {
			if name := strings.Trim(string(t.Long(e)), " \x00\t\r\n"); name != "" {
				return name
			}
		}
	}
	return ""
}

// baseName returns a file's name without folders and extension.
func baseName(name string) string {
	base := path.Base(strings.ReplaceAll(name, "\\", "/"))
	return strings.TrimSuffix(base, path.Ext(base))
}
