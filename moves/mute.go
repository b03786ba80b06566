package moves

import (
	"slices"

	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Mute silences parts over spans.
type Mute struct {
	Target
	Tails string `yaml:"tails" words:"cut,ring" doc:"what becomes of a note that rings into the span; left out, pitched parts are cut, drums and fx ring"`
}

func muteMove() Move {
	return Move{
		Group: Structure,
		Brief: "Silence parts over spans",
		Doc: `The notes that start in a span go. A pitched note that rings into it ends where it begins; drums and fx ring on. Where a part has its channel to itself, its pedals, bend and pressure rest for the span and then return to what the loop has there.

Where a span ends under a held note, pads, chords, strings and drones are struck again for the rest of it; other parts wait for their next onset.`,
		New: func() Step { return &Mute{} },
		Example: func() Example {
			return Example{
				Step:   &Mute{Target: Target{Part: where.PartsOf("bass"), Over: where.SpansOf("last 1 bar")}},
				Before: "kick x...x...x...x...|x...x...x...x...\nbass ..x-..x-..x-..x-|--x-..x-..x-..x-",
				After:  "kick x...x...x...x...|x...x...x...x...\nbass ..x-..x-..x-..x-|................",
			}
		},
	}
}

// Name implements [Step].
func (*Mute) Name() string { return "mute" }

// Apply implements [Step].
func (m *Mute) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	tails := song.TailsAuto
	switch m.Tails {
	case "cut":
		tails = song.TailsCut
	case "ring":
		tails = song.TailsRing
	}
	ranges := make([][]song.Range, len(in.Parts))
	for _, p := range env.Parts {
		ranges[p] = env.Ranges
	}
	out := Silence(in, ranges, tails)
	if !slices.ContainsFunc(env.Parts, func(p int) bool { return !slices.Equal(in.Parts[p].Notes, out.Parts[p].Notes) }) {
		o.checkNotes(env, in) // a note that rings into a span is cut there, though none starts in it
	}
	o.changed(in, env.Parts, env.Ranges, "")
	return o.with(out), nil
}
