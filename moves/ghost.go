package moves

import (
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Ghost adds soft sixteenths between a part's hits.
type Ghost struct {
	Target
	Chance
	Velocity option.Share `yaml:"velocity" doc:"share of the part's median velocity, at most the part's own loudest"`
	Density  option.Share `yaml:"density" range:"0.01%..100%" doc:"share of the free places that is taken; which ones is up to chance"`
}

func ghostMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Add soft sixteenths between a part's hits",
		Doc: `In the bars in which the part plays, soft hits stand on the places of 1/16 notes that are free: at least a 1/16 from any hit of the part, in the loop or as it plays now. Off-beats come as late as those of the loop. Where density leaves places free, the same ones are taken in every bar of a span.

A drum's ghosts have its commonest key, in a kit a snare's or clap's before others; other parts repeat the keys of the hit before, not under a held note. A ghost lasts as long as the part's hits do, up to a 1/16. Where the part is silent nothing is added, with a warning; where a roll stands for the part, nothing is added either.`,
		New: func() Step { return &Ghost{Velocity: 40 * option.Whole / 100, Density: option.Whole} },
		Example: func() Example {
			return Example{
				Step:   &Ghost{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}, Velocity: 40 * option.Whole / 100, Density: option.Whole},
				Before: "hat x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.",
				After:  "hat x.x.x.x.x.x.x.x.|xoxoxoxoxoxoxoxo",
			}
		},
	}
}

// Name implements [Step].
func (*Ghost) Name() string { return "ghost" }

// Apply implements [Step].
func (g *Ghost) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if g.Density <= 0 || g.Density > option.Whole {
		return Outcome{}, &option.Mistake{Option: "density", Found: g.Density.String(), Want: ghostMove().want("density")}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	for _, p := range env.Parts {
		h, ok := newHaunted(env, in, p)
		if !ok {
			continue
		}
		for i, r := range env.Ranges {
			places := h.places(r)
			kept := g.choose(places, NewRand(env.Seed, env.number(i), uint64(p)))
			for _, place := range places {
				if !kept[place.slot] {
					continue
				}
				for _, n := range h.notes(place, g.Velocity, r) {
					e.Place(p, n)
				}
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(e.Song()), nil
}

// haunted is a part that gets ghosts.
type haunted struct {
	song   song.Song
	part   song.Part
	own    []song.Note // as the loop plays it
	voice  voice
	swing  swing
	rolled []song.Range
}

// newHaunted returns a part as the loop and the song play it; false if it never plays.
func newHaunted(env *Env, in song.Song, part int) (haunted, bool) {
	p := in.Parts[part]
	own := env.Source(p.Name).Notes
	if len(own) == 0 {
		own = p.Notes
	}
	v, ok := voiceOf(own, p)
	return haunted{song: in, part: p, own: own, voice: v, swing: env.swing(), rolled: env.rolledRanges(p.Name)}, ok
}

// ghostPlace is a free place.
type ghostPlace struct {
	at     song.Tick // with the loop's swing
	slot   int       // which 1/16 of its bar it is, from 0
	next   int       // index of the part's first note after it
	before []song.Note
}

// places returns the free places of a range.
func (h haunted) places(r song.Range) []ghostPlace {
	tl := h.song.Time()
	ppq := tl.PPQ()
	sixteenth := option.NoteValueOf(1, 16)
	var out []ghostPlace
	loop := answers{song: h.song, swing: h.swing, notes: h.own}
	now := answers{song: h.song, swing: h.swing, notes: h.part.Notes}
	inLoop, inSong := 0, 0 // indices of the first notes after the place
	for bar := tl.BarOf(r.Start); tl.BarStart(bar) < r.End; bar++ {
		line := h.song.BarRange(bar, bar)
		if len(h.song.In(h.part, song.Range{Start: max(line.Start, r.Start), End: min(line.End, r.End)})) == 0 {
			continue
		}
		for slot := 0; line.Start+sixteenth.Times(slot, ppq) < min(line.End, r.End); slot++ {
			straight := line.Start + sixteenth.Times(slot, ppq)
			at := h.swing.late(tl, straight)
			if straight < r.Start || at >= r.End || h.song.Counted(at) >= line.End || h.rolls(at) {
				continue
			}
			inLoop, inSong = firstAfter(h.own, inLoop, at), firstAfter(h.part.Notes, inSong, at)
			if !loop.apart(straight, inLoop) || !now.apart(straight, inSong) || h.held(at, inSong) {
				continue
			}
			out = append(out, ghostPlace{at, slot, inSong, h.hitBefore(inLoop)})
		}
	}
	return out
}

// apart tells whether a place lies at least a 1/16 from the hits around it; next is the index of the
// one after.
func (a answers) apart(straight song.Tick, next int) bool {
	ppq := a.song.Time().PPQ()
	if next > 0 && (straight-a.stands(a.notes[next-1].Start))*4 < ppq {
		return false
	}
	return next == len(a.notes) || (a.stands(a.notes[next].Start)-straight)*4 >= ppq
}

// rolls tells whether a roll stands for the part at a tick.
func (h haunted) rolls(at song.Tick) bool {
	for _, r := range h.rolled {
		if r.Has(at) {
			return true
		}
	}
	return false
}

// held tells whether the chord before a place, in a part with pitches, sounds over it.
func (h haunted) held(at song.Tick, next int) bool {
	if !h.part.Pitched() || next == 0 {
		return false
	}
	for _, n := range chordBefore(h.part.Notes, next, h.song.Time().PPQ()) {
		if n.End > at {
			return true
		}
	}
	return false
}

// hitBefore returns the hit of the loop before the index next, or the one there if none is before.
func (h haunted) hitBefore(next int) []song.Note {
	if next == 0 {
		return h.own[:chordEnd(h.own, 0)]
	}
	return chordBefore(h.own, next, h.song.Time().PPQ())
}

// choose tells which 1/16 notes of a bar are taken: the share of those that are free in some bar.
func (g *Ghost) choose(places []ghostPlace, chance *Rand) []bool {
	var free []bool
	count := 0
	for _, p := range places {
		for len(free) <= p.slot {
			free = append(free, false)
		}
		if !free[p.slot] {
			free[p.slot] = true
			count++
		}
	}
	picked := chosen(max(1, g.Density.Of(count)), count, chance)
	for slot, is := range free {
		if is {
			free[slot], picked = picked[0], picked[1:]
		}
	}
	return free
}

// notes returns the ghost at a place, which ends with the range at the latest.
func (h haunted) notes(p ghostPlace, velocity option.Share, r song.Range) []song.Note {
	level := uint8(min(max(velocity.Of(int(h.voice.median)), 1), int(h.voice.loudest)))
	longest := max(option.NoteValueOf(1, 16).Ticks(h.song.Time().PPQ()), 1)
	if !h.part.Pitched() {
		return []song.Note{{Start: p.at, End: min(p.at+min(h.voice.length, longest), r.End), Key: h.voice.key, Vel: level}}
	}
	var out []song.Note
	for _, n := range p.before {
		out = append(out, song.Note{Start: p.at, End: min(p.at+min(n.End-n.Start, longest), r.End), Key: n.Key, Vel: level})
	}
	return out
}
