package moves

import (
	"slices"
	"sort"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Hit strikes a cymbal at places.
type Hit struct {
	Sound    string       `yaml:"sound" words:"crash,ride,open-hat" doc:"what is struck"`
	At       where.Places `yaml:"at" doc:"where" required:"true"`
	Velocity option.Share `yaml:"velocity" doc:"share of the part's median velocity, at most its own loudest; of 100 where the sound is added"`
}

func hitMove() Move {
	return Move{
		Group: Accents,
		Brief: "Strike a crash at places",
		Doc: `The loop's own sound is struck, or else the nearest it has among crash, ride and open hat. Where it has none of them, the hits go to a new track such as crash-added, on channel 10 with the General MIDI key of the sound: put a sound on it.

The hit has the part's commonest key and the length of its first note there; on an added track it lasts a quarter note. Where the part already strikes that key, that note is made as loud as the hit would be, if it is softer. A place at the end of the song gets none.`,
		New: func() Step { return &Hit{Sound: string(song.RoleCrash), Velocity: option.Whole} },
		Example: func() Example {
			return Example{
				Step:   &Hit{Sound: string(song.RoleCrash), At: where.PlacesOf("bar 2"), Velocity: option.Whole},
				Before: "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.",
				After:  "kick           x...x...x...x...|x...x...x...x...\nhat            ..x...x...x...x.|..x...x...x...x.\ncrash-added:49 ................|x---............",
			}
		},
	}
}

// Name implements [Step].
func (*Hit) Name() string { return "hit" }

// Apply implements [Step].
func (h *Hit) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if !slices.Contains(hitSounds(), song.Role(h.Sound)) {
		return Outcome{}, &option.Mistake{Option: "sound", Found: strconv.Quote(h.Sound), Want: "one of crash, ride, open-hat"}
	}
	at, err := o.places(env, "at", h.At, in)
	if err != nil {
		return Outcome{}, err
	}
	places := at[:0:0]
	for _, t := range at {
		if t < in.End {
			places = append(places, t)
		} else {
			o.tell(remark.Remark{Kind: remark.NoHitAtEnd})
		}
	}
	if len(places) == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingStruck})
		return o, nil
	}
	e := in.Edit()
	part, v := h.own(env, in)
	if part < 0 {
		part, v = h.added(&o, in, e)
	}
	level := uint8(min(max(h.Velocity.Of(int(v.median)), 1), int(v.loudest)))
	var notes []song.Note
	if part < len(in.Parts) {
		notes = in.Parts[part].Notes
	}
	var there []song.Tick // onsets of notes that are there already
	for _, t := range places {
		if onset, ok := struckAt(in, notes, t, v.key); ok {
			there = append(there, onset)
			continue
		}
		e.Place(part, song.Note{Start: t, End: t + v.length, Key: v.key, Vel: level})
	}
	if len(there) > 0 {
		raise(e, part, there, v.key, level)
	}
	out := e.Song()
	o.changed(out, []int{part}, instants(places), "")
	return o.with(out), nil
}

// hitSounds returns the sounds that mark a line, the best first.
func hitSounds() []song.Role { return []song.Role{song.RoleCrash, song.RoleRide, song.RoleOpenHat} }

// own returns the part of the loop that plays the sound or the nearest to it, or -1.
func (h *Hit) own(env *Env, in song.Song) (int, voice) {
	wanted := []song.Role{song.Role(h.Sound)}
	for _, r := range hitSounds() {
		if r != wanted[0] {
			wanted = append(wanted, r)
		}
	}
	for _, r := range wanted {
		for i, p := range in.Parts {
			if p.Role != r {
				continue
			}
			if v, ok := voiceOf(env.Source(p.Name).Notes, p); ok {
				return i, v
			}
		}
	}
	return -1, voice{}
}

// added returns the part on a track of its own for the sound, which it makes if it is not there.
func (h *Hit) added(o *Outcome, in song.Song, e *song.Edit) (int, voice) {
	key := addedKey(song.Role(h.Sound))
	v := voice{key: key, length: in.Time().PPQ(), median: 100, loudest: 127}
	name := h.Sound + "-added"
	if i := in.Index(name); i >= 0 {
		return i, v
	}
	o.tell(remark.Remark{Kind: remark.NewHits, Parts: []string{name}, Numbers: []int{int(key)}})
	role := song.Role(h.Sound)
	return e.NewPart(song.Part{Name: name, Role: role, Job: role.Job(), Channel: 9, Keys: song.KeySet(key), Kit: true}), v
}

// addedKey returns the General MIDI percussion key of a sound: Crash Cymbal 1, Ride Cymbal 1, Open
// Hi-Hat (RP-003, table 3).
func addedKey(r song.Role) uint8 {
	switch r {
	case song.RoleRide:
		return 51
	case song.RoleOpenHat:
		return 46
	}
	return 49
}

// struckAt returns the onset of the note of a key that counts to a tick.
func struckAt(in song.Song, notes []song.Note, at song.Tick, key uint8) (song.Tick, bool) {
	i := sort.Search(len(notes), func(i int) bool { return in.Counted(notes[i].Start) >= at })
	for ; i < len(notes) && in.Counted(notes[i].Start) == at; i++ {
		if notes[i].Key == key {
			return notes[i].Start, true
		}
	}
	return 0, false
}

// raise makes the notes of a key with these onsets, which rise, at least as loud as level.
func raise(e *song.Edit, part int, onsets []song.Tick, key, level uint8) {
	e.Map(part, func(n song.Note) (song.Note, bool) {
		for len(onsets) > 0 && onsets[0] < n.Start {
			onsets = onsets[1:]
		}
		if len(onsets) > 0 && onsets[0] == n.Start && n.Key == key {
			n.Vel = max(n.Vel, level)
		}
		return n, true
	})
}

// instants returns ranges of a tick at the places, for the trace.
func instants(places []song.Tick) []song.Range {
	var out []song.Range
	for _, t := range places {
		out = append(out, song.Range{Start: t, End: t + 1})
	}
	return out
}
