package moves

import (
	"fmt"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Rise lets a part climb up to a line.
type Rise struct {
	Target
	By        string        `yaml:"by" words:"steps,bend" doc:"steps of the loop's key, or pitch bend"`
	Semitones int           `yaml:"semitones" range:"1..24" unit:"semitones" doc:"how far it bends; left out, 12"`
	Own       string        `yaml:"own" words:"rest,stay" doc:"by steps: its own notes rest meanwhile, or stay, and it climbs over them but for keys that they hold"`
	Velocity  option.Shares `yaml:"velocity" doc:"by steps: shares of the part's median velocity at the first and last note, at most the part's own loudest; left out, 60%..100%"`
}

func riseMove() Move {
	return Move{
		Group: Pitch,
		Brief: "Let a part climb up to a line",
		Doc: `By steps, the first of the parts named plays the scale of the loop's key, instead of its own notes or over them: over each eighth of a span degrees 1, 1, 2, 3, 4, 5, 6 then 7, and 8, from the tonic at key 60 to 71. The notes are repeated in 1/8, from the last quarter of the span in 1/16, and last half as long; off-beats come as late as those of the loop. The level rises evenly in dB. Parts without a pitch are left out, which is told; without a key that can be heard there is a warning.

By bend, all parts named keep their notes, and their channels bend from the middle upwards in even steps and go home where the span ends. Where the bend range in force (two semitones, or what the loop announces) is too small, a larger one is announced where the span starts (registered parameter 0) and put back where it ends. A sound that shares its track and channel with others cannot be bent alone.`,
		New: func() Step { return &Rise{By: "steps", Own: "rest"} },
		Example: func() Example {
			return Example{
				Step:   &Rise{Target: Target{Part: where.PartsOf("lead"), Over: where.SpansOf("bar 2")}, By: "steps", Velocity: option.SharesOf(option.Whole, option.Whole)},
				Before: "lead:69 x-..x-..x-..x-..|x-..x-..x-..x-..",
				After:  "lead:81 ................|..............xx\nlead:79 ................|.............x..\nlead:77 ................|............x...\nlead:76 ................|..........x.....\nlead:74 ................|........x.......\nlead:72 ................|......x.........\nlead:71 ................|....x...........\nlead:69 x-..x-..x-..x-..|x.x.............",
			}
		},
	}
}

// Name implements [Step].
func (*Rise) Name() string { return "rise" }

// Apply implements [Step].
func (r *Rise) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if r.By == "bend" {
		if !r.Velocity.IsZero() {
			return Outcome{}, &option.Mistake{Option: "velocity", Found: r.Velocity.Texts()[0], Want: "none by bend: the notes stay as they are"}
		}
		return r.bend(o, env)
	}
	if r.Semitones != 0 {
		return Outcome{}, &option.Mistake{Option: "semitones", Found: strconv.Itoa(r.Semitones), Want: "none by steps: the scale says how far"}
	}
	for _, p := range env.Parts {
		if in.Parts[p].Pitched() {
			return r.steps(o, env, p)
		}
	}
	o.leave(env, in, env.Parts, remark.NotRaised)
	return o, nil
}

// steps lets a part play the scale.
func (r *Rise) steps(o Outcome, env *Env, part int) (Outcome, error) {
	in := o.Song
	own := env.Source(in.Parts[part].Name).Notes
	if len(own) == 0 {
		own = in.Parts[part].Notes
	}
	key, ok := listen.KeyOf(env.Loop)
	if !ok || len(own) == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingRises, Parts: partNames(in, []int{part})})
		return o, nil
	}
	velocity := r.Velocity
	if velocity.IsZero() {
		velocity = option.SharesOf(60*option.Whole/100, option.Whole)
	}
	e := in.Edit()
	if r.Own != "stay" {
		silent := make([][]song.Range, len(in.Parts))
		silent[part] = env.Ranges
		e = Silence(in, silent, song.TailsAuto).Edit()
	}
	middle, top := int(medianVelocity(own)), int(loudest(own))
	for _, over := range env.Ranges {
		for k := 0; ; k++ {
			straight := over.Start + sixteenth(in, k)
			if straight >= over.End {
				break
			}
			at := int64(straight - over.Start)
			length := int64(over.Len())
			late := 4*at >= 3*length // in the last quarter
			if !late && k%2 == 1 {
				continue
			}
			spacing := sixteenth(in, 2)
			if late {
				spacing = sixteenth(in, 1)
			}
			start := env.swing().late(in.Time(), straight)
			if start >= over.End {
				continue
			}
			share := geometric(uint64(max(velocity.From, 1)), uint64(max(velocity.To, 1)), at, max(length-int64(sixteenth(in, 1)), at, 1), 0)
			n := song.Note{
				Start: start, End: min(start+max(spacing/2, 1), over.End),
				Key: uint8(60 + int(key.Tonic) + key.Degree(degreeAt(at, length))),
				Vel: uint8(min(max(option.Share(share).Of(middle), 1), top)),
			}
			if r.Own != "stay" || !holdsKey(in.Parts[part], n) {
				e.Place(part, n)
			}
		}
	}
	o.tell(remark.Remark{Kind: remark.RisesIn, Found: key.String()})
	o.changed(in, []int{part}, env.Ranges, key.String())
	return o.with(e.Song()), nil
}

// holdsKey tells whether a part sounds the key of a note while the note lasts.
func holdsKey(p song.Part, n song.Note) bool {
	for _, m := range p.Notes {
		if m.Start >= n.End {
			break
		}
		if m.Key == n.Key && m.End > n.Start {
			return true
		}
	}
	return false
}

// degreeAt returns the degree of the scale after a part of a span. Common practice, no source: a slow
// start, and the octave on the last eighth.
func degreeAt(at, length int64) int {
	return [16]int{1, 1, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 7, 8, 8}[16*at/length]
}

// bend bends the channels of the parts.
func (r *Rise) bend(o Outcome, env *Env) (Outcome, error) {
	in := o.Song
	channels, err := wholeChannels(in, env.Parts)
	if err != nil {
		return Outcome{}, err
	}
	up := r.Semitones
	if up == 0 {
		up = 12
	}
	out := in
	spans := env.Ranges
	for _, parts := range channels {
		p := in.Parts[parts[0]]
		ranges := in.BendRanges(p.Track, p.Channel)
		wide := up
		for _, over := range spans {
			wide = max(wide, ranges.At(over.Start))
		}
		// The range is 8192 steps upwards, but the highest value is one less (MIDI 1.0).
		ride := Ride{Controller: option.ControllerOf(song.Bend), From: option.Control(8192), To: option.Control(min(8192+8192*up/wide, 16383)), Curve: Linear}
		out = ride.channel(&o, spans, env, out, parts)
		e := out.Edit()
		for _, over := range song.Union(spans) {
			from, back := ranges.At(over.Start), ranges.At(over.End)
			if wide > from {
				announce(e, p, over.Start, wide)
			}
			if wide != back {
				announce(e, p, over.End, back)
			}
		}
		out = e.Song()
	}
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("bend by %d semitones", up))
	return o.with(out), nil
}

// announce writes a bend range, then deselects the parameter so that later data entry leaves it alone.
func announce(e *song.Edit, p song.Part, at song.Tick, semitones int) {
	for _, c := range [6][2]byte{{101, 0}, {100, 0}, {6, byte(semitones)}, {38, 0}, {101, 127}, {100, 127}} {
		e.Insert(p.Track, smf.Channel(at, 0xB0|p.Channel, c[0], c[1]))
	}
}
