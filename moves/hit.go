package moves

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Hit strikes a sound at places.
type Hit struct {
	Sound    Sound        `yaml:"sound" doc:"what is struck"`
	At       where.Places `yaml:"at" doc:"where" required:"true"`
	Velocity option.Share `yaml:"velocity" doc:"share of the part's median velocity, of each note of a part that is named; at most its own loudest; of 100 where the sound is added"`
}

func hitMove() Move {
	return Move{
		Group: Accents,
		Brief: "Strike a crash, an impact or a part at places",
		Doc: `Of crash, ride and open-hat the loop's own sound is struck, or else the nearest it has among crash, ride and open hat. Where it has none of them, the hits go to a new track such as crash-added, on channel 10 with the General MIDI key of the sound: put a sound on it.

The hit has the part's commonest key and the length of its first note there; on an added track it lasts a quarter note. Where the part already strikes that key, that note is made as loud as the hit would be, if it is softer.

The sound may be one part: then the first chord of its loudest bar in the loop is struck, each note as long as it is there. Loudest is the bar with the greatest sum of velocities, the first of several. An impact is key 36 for one beat on a new track impact-added (with a number where the loop has such a part) on a free channel, unless the loop has a part named impact. A place at the end of the song gets none.`,
		New: func() Step { return &Hit{Sound: Sound(song.RoleCrash), Velocity: option.Whole} },
		Example: func() Example {
			return Example{
				Step:   &Hit{Sound: Sound(song.RoleCrash), At: where.PlacesOf("bar 2"), Velocity: option.Whole},
				Before: "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.",
				After:  "kick           x...x...x...x...|x...x...x...x...\nhat            ..x...x...x...x.|..x...x...x...x.\ncrash-added:49 ................|x---............",
			}
		},
	}
}

// Sound is what is struck: crash, ride, open-hat, impact, or one part in the words of [where.Parts].
type Sound string

const impact Sound = "impact"

// UnmarshalTexts takes a text as it is if it could mean a part; whether it does, the song says.
func (s *Sound) UnmarshalTexts(texts []string) error {
	if _, err := where.ParseParts(texts[0]); err != nil {
		var bad *option.Mistake
		if errors.As(err, &bad) {
			bad.Want = s.Want()
		}
		return err
	}
	*s = Sound(texts[0])
	return nil
}

func (s Sound) Texts() []string { return []string{string(s)} }
func (s Sound) IsZero() bool    { return s == "" }
func (s Sound) Want() string    { return "crash, ride, open-hat, impact or a part" }

// Part tells whether the sound is a part, and not a crash, a ride, an open hat or an impact.
func (s Sound) Part() bool { return s != impact && !slices.Contains(hitSounds(), song.Role(s)) }

// SoundOf returns the sound that is a part, which is written as text.
func SoundOf(text string) Sound {
	if s := Sound(text); s.Part() {
		return s
	}
	return Sound(text + " if any") // a part, and not the sound of that name
}

// Form says what a sound looks like.
func (s Sound) Form() option.Form { return where.Parts{}.Form() }

// Name implements [Step].
func (*Hit) Name() string { return "hit" }

// Apply implements [Step].
func (h *Hit) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
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
	s, err := h.struck(&o, env, in, e)
	if err != nil || o.Idle() {
		return o, err
	}
	for _, n := range s.notes {
		h.strike(in, e, s, n, places)
	}
	out := e.Song()
	o.changed(out, []int{s.part}, instants(places), "")
	return o.with(out), nil
}

// struck is what is struck.
type struck struct {
	part    int
	notes   []song.Note // from tick 0 on, each with its velocity before the share
	loudest uint8
}

// struck finds what is struck, or makes a track for it.
func (h *Hit) struck(o *Outcome, env *Env, in song.Song, e *song.Edit) (struck, error) {
	switch {
	case h.Sound == impact && in.Index(string(impact)) < 0:
		return h.impact(o, env, in, e)
	case !slices.Contains(hitSounds(), song.Role(h.Sound)):
		return h.ofPart(o, env, in)
	}
	part, v := h.own(env, in)
	if part < 0 {
		part, v = h.added(o, in, e)
	}
	return struck{part, []song.Note{{End: v.length, Key: v.key, Vel: v.median}}, v.loudest}, nil
}

// strike puts a note of what is struck at places.
func (h *Hit) strike(in song.Song, e *song.Edit, s struck, n song.Note, places []song.Tick) {
	level := uint8(min(max(h.Velocity.Of(int(n.Vel)), 1), int(s.loudest)))
	var notes []song.Note
	if s.part < len(in.Parts) {
		notes = in.Parts[s.part].Notes
	}
	var there []song.Tick // onsets of notes that are there already
	for _, t := range places {
		if onset, ok := struckAt(in, notes, t, n.Key); ok {
			there = append(there, onset)
			continue
		}
		e.Place(s.part, song.Note{Start: t + n.Start, End: t + n.End, Key: n.Key, Vel: level})
	}
	if len(there) > 0 {
		raise(e, s.part, there, n.Key, level)
	}
}

// ofPart returns the first chord of the loudest bar of the part that the sound names.
func (h *Hit) ofPart(o *Outcome, env *Env, in song.Song) (struck, error) {
	named, err := where.ParseParts(string(h.Sound))
	var parts []int
	if err == nil {
		parts, err = named.Resolve(in)
	}
	if err != nil {
		var bad *option.Mistake
		if errors.As(err, &bad) && bad.Hint == "" {
			var words []string
			for _, r := range hitSounds() {
				words = append(words, string(r))
			}
			words = append(words, string(impact))
			bad.Hint = song.Nearest(string(h.Sound), words)
			if of, ok := strings.CutPrefix(bad.Want, "one of "); ok {
				bad.Want = "one of " + strings.Join(words, ", ") + "; or a part, " + of
			}
		}
		return struck{}, option.Named("sound", err)
	}
	switch len(parts) {
	case 0:
		o.nothing(remark.Remark{Kind: remark.NoPart})
		return struck{}, nil
	case 1:
	default:
		return struck{}, &option.Mistake{Option: "sound", Found: string(h.Sound) + ", which is " + namesText(partNames(in, parts)), Want: "one part", Hint: where.PartText(in, parts[0])}
	}
	notes := env.Source(in.Parts[parts[0]].Name).Notes
	if len(notes) == 0 {
		notes = in.Parts[parts[0]].Notes // a part that a move added
	}
	chord := loudestChord(env.Full, notes)
	if len(chord) == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingPlays, Parts: partNames(in, parts)})
	}
	return struck{parts[0], chord, loudest(notes)}, nil
}

// loudestChord returns the first chord of the bar with the greatest sum of velocities, moved to tick 0.
func loudestChord(in song.Song, notes []song.Note) []song.Note {
	most, first := 0, 0
	for i := 0; i < len(notes); {
		bar, sum, j := in.Time().BarOf(in.Counted(notes[i].Start)), 0, i
		for ; j < len(notes) && in.Time().BarOf(in.Counted(notes[j].Start)) == bar; j++ {
			sum += int(notes[j].Vel)
		}
		if sum > most {
			most, first = sum, i
		}
		i = j
	}
	var out []song.Note
	for _, n := range notes[min(first, len(notes)):] {
		if (n.Start-notes[first].Start)*16 >= in.Time().PPQ() {
			break
		}
		out = append(out, song.Note{Start: n.Start - notes[first].Start, End: max(n.End-notes[first].Start, 1), Key: n.Key, Vel: n.Vel})
	}
	return out
}

// impact makes the track of the impact, if no step before has.
func (h *Hit) impact(o *Outcome, env *Env, in song.Song, e *song.Edit) (struck, error) {
	name := string(impact) + "-added"
	for n := 2; env.Full.Index(name) >= 0; n++ { // a draft may be the next one's loop
		name = fmt.Sprintf("%s-added-%d", impact, n)
	}
	if _, free := in.FreeChannel(); !free && in.Index(name) < 0 {
		return struck{}, &option.Mistake{Option: "sound", Found: "no channel that is free for " + name, Want: "crash, which needs none, or a part"}
	}
	part, err := added{part: song.Part{Name: name, Role: song.RoleFX, Job: song.RoleFX.Job()}}.in(o, env, in, e)
	return struck{part, []song.Note{{End: in.Time().BeatTicks(1), Key: impactKey, Vel: 100}}, 127}, err
}

// impactKey is low enough for a low hit and is what samplers have theirs on (common practice, no source).
const impactKey = 36

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
	name := string(h.Sound) + "-added"
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
	for i := in.Before(notes, at); i < len(notes) && in.Counted(notes[i].Start) == at; i++ {
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
