package moves

import (
	"slices"

	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Solo lets only the named parts play over spans.
type Solo struct {
	Target
}

func soloMove() Move {
	return Move{
		Group: Structure,
		Brief: "Let only the named parts play over spans",
		Doc: `Every other part is muted over the spans, as mute does it: its notes that start there go, a pitched note that rings into a span ends where it begins, drums and fx ring on, held pads, chords, strings and drones are struck again where a span ends.

A trigger part, which makes no sound of its own, is left as it is. Where none of the named parts is in the loop, nothing happens.`,
		New: func() Step { return &Solo{} },
		Example: func() Example {
			return Example{
				Step:   &Solo{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}},
				Before: "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.\nbass ..x-..x-..x-..x-|--x-..x-..x-..x-",
				After:  "kick x...x...x...x...|................\nhat  ..x...x...x...x.|..x...x...x...x.\nbass ..x-..x-..x-..x-|................",
			}
		},
	}
}

// Name implements [Step].
func (*Solo) Name() string { return "solo" }

// Apply implements [Step].
func (s *Solo) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(env.Parts) == 0 {
		return o, nil
	}
	o.checkNotes(env, in)
	ranges := make([][]song.Range, len(in.Parts))
	var others []int
	for i, p := range in.Parts {
		if !slices.Contains(env.Parts, i) && p.Role != song.RoleTrigger {
			ranges[i] = env.Ranges
			others = append(others, i)
		}
	}
	o.changed(in, others, env.Ranges, "")
	return o.with(Silence(in, ranges, song.TailsAuto)), nil
}
