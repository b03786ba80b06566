package moves

import (
	"fmt"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Roll lets one drum run up to a line.
type Roll struct {
	Target
	From     option.NoteValue `yaml:"from" doc:"spacing of the first hits"`
	To       option.NoteValue `yaml:"to" doc:"spacing of the last hits: from, halved any number of times, not below 1/32"`
	Velocity option.Shares    `yaml:"velocity" doc:"shares of the part's median velocity at the first and last hit, at most the part's own loudest"`
	Gap      where.Gap        `yaml:"gap" doc:"how long everything rests before the end of the span: a length, or auto for about half a second"`
}

func rollMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Let one drum run up to a line, faster and louder",
		Doc: `One part, the first of those named, plays one key in even hits over each span instead of its own notes. Their spacing halves: half of the span at from, a quarter at half of it, and so on; the last stage takes what is left. Spacings under 1/16 stand only in the last 2 beats before the gap, or the last beat where they would be less than 50 ms apart. A kick goes down to 1/16 only. Off-beats come as late as those of the loop.

The level rises evenly in dB from the first hit to the last, drops 1.5 dB where the spacing halves, and hits on beats have 6 more velocity. A hit lasts half its spacing.

In the gap every part rests: notes that start in it go, pitched ones that ring into it end there, drums ring on; only a crash may break it. After a gap, a kick on the line is as loud as the part's loudest hit. Auto is 1 beat, from about 170 bpm 2 beats, before the second drop twice that if it is less than a bar; where it would leave no room for the roll, there is none.`,
		New: func() Step {
			return &Roll{From: option.NoteValueOf(1, 4), To: defaultRollEnd(), Velocity: option.SharesOf(40*option.Whole/100, 105*option.Whole/100)}
		},
		Example: func() Example {
			return Example{
				Step: &Roll{Target: Target{Part: where.PartsOf("snare"), Over: where.SpansOf("bars 1-2")}, From: option.NoteValueOf(1, 4), To: option.NoteValueOf(1, 16),
					Velocity: option.SharesOf(60*option.Whole/100, option.Whole), Gap: where.Gap{Length: where.LengthOf("1 beat")}},
				Before: "snare ....x.......x...|....x.......x...|....x.......x...\nbass  x-..x-..x-..x-..|x-..x-..x-..x-..|x-..x-..x-..x-..",
				After:  "snare o-..o-..o-..x-..|x.x.x.x.xxxx....|....x.......x...\nbass  x-..x-..x-..x-..|x-..x-..x-......|x-..x-..x-..x-..",
			}
		},
	}
}

// defaultRollEnd is the spacing of the last hits where none is given.
func defaultRollEnd() option.NoteValue { return option.NoteValueOf(1, 16) }

// shortestRoll is the spacing no roll goes below.
func shortestRoll() option.NoteValue { return option.NoteValueOf(1, 32) }

// Name implements [Step].
func (*Roll) Name() string { return "roll" }

// Apply implements [Step].
func (r *Roll) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(env.Parts) == 0 {
		return o, nil
	}
	stages, err := r.stages()
	if err != nil {
		return Outcome{}, err
	}
	part := env.Parts[0]
	own := env.Source(in.Parts[part].Name).Notes
	if len(own) == 0 {
		own = in.Parts[part].Notes
	}
	v, ok := voiceOf(own, in.Parts[part])
	if !ok {
		o.nothing(remark.Remark{Kind: remark.NothingRolls, Parts: partNames(in, []int{part})})
		return o, nil
	}
	if isKick(in.Parts[part], v.key) {
		stages = notBelow16(stages)
	}
	silent := make([][]song.Range, len(in.Parts))
	var runs []run
	swing := env.swing()
	for _, over := range env.Ranges {
		gap, err := env.gapBefore(&o, r.Gap, in, over)
		if err != nil {
			return Outcome{}, err
		}
		runs = append(runs, run{song: in, Range: over, gap: gap, stages: stages, swing: swing})
		for i, p := range in.Parts {
			if i == part {
				silent[i] = append(silent[i], over)
			} else if gap < over.End && p.Role != song.RoleCrash {
				silent[i] = append(silent[i], song.Range{Start: gap, End: over.End})
			}
		}
	}
	e := Silence(in, silent, song.TailsAuto).Edit()
	hits := 0
	var lines []song.Tick // after gaps
	for _, run := range runs {
		hits += run.place(e, part, v, r.Velocity)
		o.Rolled = append(o.Rolled, Rolled{in.Parts[part].Name, run.Range})
		if run.gap < run.End {
			lines = append(lines, run.End)
		}
	}
	accentKicks(e, env, in, lines)
	o.changed(in, env.Parts[:1], env.Ranges, fmt.Sprintf("%d hits", hits))
	return o.with(e.Song()), nil
}

// stages returns the spacings, from the widest.
func (r *Roll) stages() ([]option.NoteValue, error) {
	for _, o := range []struct {
		name  string
		value option.NoteValue
	}{{"from", r.From}, {"to", r.To}} {
		if o.value.Num < 1 || o.value.Den < 1 {
			return nil, &option.Mistake{Option: o.name, Found: "nothing", Want: o.value.Want()}
		}
	}
	out := []option.NoteValue{r.From}
	for v := r.From; longer(v, r.To); {
		v.Den *= 2
		out = append(out, v)
	}
	last := out[len(out)-1]
	missed := longer(last, r.To) || longer(r.To, last)
	from, to := r.From.Texts()[0], r.To.Texts()[0]
	switch {
	case longer(shortestRoll(), r.From):
		return nil, &option.Mistake{Option: "from", Found: from, Want: "a spacing of 1/32 or more"}
	case missed && r.To == defaultRollEnd(): // most likely not written
		return nil, &option.Mistake{Option: "from", Found: from, Want: fmt.Sprintf("%s, or that doubled any number of times, while to is %s", to, to)}
	case missed || longer(shortestRoll(), r.To):
		return nil, &option.Mistake{Option: "to", Found: to, Want: fmt.Sprintf("%s, or that halved any number of times, not below 1/32", from)}
	}
	return out, nil
}

func longer(a, b option.NoteValue) bool { return a.Num*b.Den > b.Num*a.Den }

func notBelow16(stages []option.NoteValue) []option.NoteValue {
	for n, v := range stages {
		if n > 0 && longer(option.NoteValueOf(1, 16), v) {
			return stages[:n]
		}
	}
	return stages
}

// run is a roll over one range.
type run struct {
	song song.Song
	song.Range
	gap    song.Tick // where everything rests from
	stages []option.NoteValue
	swing  swing
}

// rollHit is a hit of a roll.
type rollHit struct {
	at      song.Tick // in straight time
	spacing option.NoteValue
	halved  int // how often the spacing was halved
}

// hits returns the hits of the run.
func (r run) hits() []rollHit {
	ppq := r.song.Time().PPQ()
	var out []rollHit
	at := r.Start
	for halved, spacing := range r.stages {
		end := r.stageEnd(halved)
		for k := 0; at+spacing.Times(k, ppq) < end; k++ {
			out = append(out, rollHit{at + spacing.Times(k, ppq), spacing, halved})
		}
		at = max(at, end)
	}
	return out
}

// stageEnd returns where a stage ends.
func (r run) stageEnd(stage int) song.Tick {
	wide := 0 // stages of 1/16 and wider
	for _, v := range r.stages {
		if !longer(option.NoteValueOf(1, 16), v) {
			wide++
		}
	}
	switch {
	case stage == len(r.stages)-1:
		return r.gap
	case stage >= wide-1:
		return r.tail(r.stages[stage+1])
	}
	// The stage takes half of what is left, on the grid of 1/16.
	ppq := r.song.Time().PPQ()
	length := r.Len() - r.Len()>>(stage+1)
	end := r.Start + option.NoteValueOf(1, 16).Times(int(song.HalfUp(4*int64(length), int64(ppq))), ppq)
	if wide < len(r.stages) {
		return min(end, r.tail(r.stages[wide]))
	}
	return min(end, r.gap)
}

// tail returns where the hits closer than a 1/16 begin.
func (r run) tail(spacing option.NoteValue) song.Tick {
	tl := r.song.Time()
	beats := 2
	// 50,000 microseconds are 50 ms; a quarter note lasts as many as TempoAt says.
	if 4*int64(tl.TempoAt(max(r.gap-1, 0)))*int64(spacing.Num) < 50_000*int64(spacing.Den) {
		beats = 1
	}
	return max(where.LengthInBeats(beats).Start(tl, r.gap), r.Start)
}

// halvingStep is -1.5 dB in velocity as a power of 2 times 2^32: velocity counts twice in the level
// (gain (v/127)^2, DLS Level 1, RP-016), so it is -1.5/40 * log2(10).
const halvingStep = -535033970

// place writes the hits; it returns how many.
func (r run) place(e *song.Edit, part int, v voice, velocity option.Shares) int {
	tl := r.song.Time()
	hits := slices.DeleteFunc(r.hits(), func(h rollHit) bool { return r.swing.late(tl, h.at) >= r.gap })
	if len(hits) == 0 {
		return 0
	}
	first, last := hits[0], hits[len(hits)-1]
	rise := func(h rollHit) int {
		// Each doubling takes hits down a step. The even line is raised on its way, so that the last hit has its share.
		up := mulDiv(-halvingStep*int64(last.halved-first.halved), int64(h.at-first.at), int64(last.at-first.at))
		down := halvingStep * int64(h.halved-first.halved)
		share := geometric(uint64(max(velocity.From, 1)), uint64(max(velocity.To, 1)), int64(h.at-first.at), max(int64(last.at-first.at), 1), up+down)
		return option.Share(share).Of(int(v.median))
	}
	for _, h := range hits {
		level := rise(h)
		if bar := tl.BarOf(h.at); (h.at-tl.BarStart(bar))%tl.BeatTicks(bar) == 0 {
			level += 6
		}
		at := r.swing.late(tl, h.at)
		half := option.NoteValueOf(h.spacing.Num, 2*h.spacing.Den).Ticks(tl.PPQ())
		e.Place(part, song.Note{Start: at, End: min(at+max(half, 1), r.gap), Key: v.key, Vel: uint8(min(max(level, 1), int(v.loudest)))})
	}
	return len(hits)
}
