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
		return Outcome{}, &option.Mistake{Option: "density", Found: g.Density.String(), Want: ghostMove().Want("density")}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	var notes []song.Note // of one place after the other
	for _, p := range env.Parts {
		h, ok := newGhosts(env, in, p)
		if !ok {
			continue
		}
		for i, r := range env.Ranges {
			places := h.places(r)
			kept := g.choose(places, NewRand(env.Seed, env.number(i), env.partNumber(p)))
			for _, place := range places {
				if !kept[place.slot] {
					continue
				}
				notes = h.notes(notes[:0], place, h.own, g.Velocity, r)
				for _, n := range notes {
					e.Place(p, n)
				}
			}
		}
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(e.Song()), nil
}

// choose tells which 1/16 notes of a bar are taken: the share of those that are free in some bar.
func (g *Ghost) choose(places []ghostPlace, chance *Rand) []bool {
	var free []bool
	count := 0
	for _, p := range places {
		for len(free) <= int(p.slot) {
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
