package moves

import (
	"fmt"
	"math/bits"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Fill lets the kit play something else up to a line.
type Fill struct {
	Target
	Velocity option.Shares `yaml:"velocity" doc:"shares of each sound's median velocity at the first and last place, at most its own loudest"`
	Chance
}

func fillMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Let the kit's own sounds fill the way up to a line",
		Doc: `Of the drums named, snares, claps, rims, toms and percussion play hits in 1/16 notes over each span instead of their own notes, by chance, one sound at a time; where there are none of these, the others do. Crashes and pitched parts take no part. Of a span longer than two bars of 4/4 only the last 32 places are filled.

A quarter of the places in the first half are hit, rounded down, and five eighths in the second, rounded up. The level rises evenly in dB. No hit rings over the end of the span, and the downbeat after it is left alone. Off-beats come as late as those of the loop.

No two fills of a step are the same as long as there are others; that they begin again is told.`,
		New: func() Step {
			return &Fill{Target: Target{Part: where.PartsOf("drums")}, Velocity: option.SharesOf(70*option.Whole/100, 105*option.Whole/100)}
		},
		Example: func() Example {
			return Example{
				Step:   &Fill{Target: Target{Part: where.PartsOf("drums"), Over: where.SpansOf("last 2 beats")}, Velocity: option.SharesOf(option.Whole, option.Whole), Chance: Chance{option.SeedOf(3)}},
				Before: "kick  x...x...x...x...\nsnare ....x.......x...\ntom   ..x.............",
				After:  "kick  x...x...x...x...\nsnare ....x....x..x...\ntom   ..x...........xx",
			}
		},
	}
}

// longestFill is the most places that a fill has: two bars of 4/4.
const longestFill = 32

// Name implements [Step].
func (*Fill) Name() string { return "fill" }

// Apply implements [Step].
func (f *Fill) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	var voices []filler
	for _, p := range fillParts(in, env.Parts) {
		own := env.Source(in.Parts[p].Name).Notes
		if len(own) == 0 {
			own = in.Parts[p].Notes
		}
		if v, ok := voiceOf(own, in.Parts[p]); ok {
			voices = append(voices, filler{p, v})
		}
	}
	if len(voices) == 0 {
		if len(env.Parts) > 0 {
			o.nothing(remark.Remark{Kind: remark.NothingFills, Parts: partNames(in, env.Parts)})
		}
		return o, nil
	}
	silent := make([][]song.Range, len(in.Parts))
	fills := newFills(&o, env, len(voices))
	var all []filled
	for i, r := range env.Ranges {
		places := 0
		for places < longestFill && r.End-sixteenth(in, places+1) >= r.Start {
			places++
		}
		if places == 0 {
			o.tell(remark.Remark{Kind: remark.FillTooShort, Bar: in.Time().BarOf(r.Start)})
			continue
		}
		span := song.Range{Start: r.End - sixteenth(in, places), End: r.End}
		all = append(all, filled{song: in, Range: span, places: places, hits: fills.next(env.number(i), places)})
		for _, v := range voices {
			silent[v.part] = append(silent[v.part], span)
		}
	}
	e := Silence(in, silent, song.TailsAuto).Edit()
	for _, one := range all {
		one.place(e, env.swing(), voices, f.Velocity)
	}
	var parts []int
	for _, v := range voices {
		parts = append(parts, v.part)
	}
	o.changed(in, parts, env.Ranges, fmt.Sprintf("%d different", len(fills.used)))
	return o.with(e.Song()), nil
}

// filler is a part that fills, with the sound it does it with.
type filler struct {
	part int
	voice
}

// fillParts returns the drums that fill: snares, toms and the like, else any.
func fillParts(in song.Song, parts []int) []int {
	var best, any []int
	for _, p := range parts {
		q := in.Parts[p]
		if q.Pitched() || !q.InGroup("drums") || q.Role == song.RoleCrash {
			continue
		}
		any = append(any, p)
		if q.Job == song.JobBackbeat || q.Job == song.JobPerc {
			best = append(best, p)
		}
	}
	if len(best) > 0 {
		return best
	}
	return any
}

// figure is what a fill plays: the places hit in its two halves, from bit 0, and the sound of each hit.
type figure struct {
	places int
	halves [2]uint32
	sounds [longestFill]uint8
}

// halfSizes returns the places of the halves and how many of each are hit.
func halfSizes(places int) (sizes, hits [2]int) {
	sizes = [2]int{places / 2, places - places/2}
	hits[0] = sizes[0] / 4
	hits[1] = (5*sizes[1] + 7) / 8 // rounded up, so always more
	return sizes, hits
}

// fills chooses figures, none twice as long as there are others.
type fills struct {
	outcome *Outcome
	env     *Env
	voices  int
	used    map[figure]bool
}

func newFills(o *Outcome, env *Env, voices int) *fills {
	return &fills{outcome: o, env: env, voices: voices, used: map[figure]bool{}}
}

// next returns the figure of the range of this index.
func (f *fills) next(index uint64, places int) figure {
	chance := NewRand(f.env.Seed, index, 0)
	sizes, hits := halfSizes(places)
	fig := figure{places: places}
	for h := range fig.halves {
		for n := hits[h]; n > 0; {
			if bit := uint32(1) << chance.Intn(sizes[h]); fig.halves[h]&bit == 0 {
				fig.halves[h] |= bit
				n--
			}
		}
	}
	for i := range hits[0] + hits[1] {
		fig.sounds[i] = uint8(chance.Intn(f.voices))
	}
	first := fig
	for f.used[fig] {
		if fig = f.after(fig); fig == first {
			f.outcome.tell(remark.Remark{Kind: remark.FillsAgain, Numbers: []int{places}})
			break
		}
	}
	f.used[fig] = true
	return fig
}

// after returns the figure after one in an order that goes through all of its length: the sounds count
// up first, then the places of the second half, then those of the first.
func (f *fills) after(fig figure) figure {
	sizes, hits := halfSizes(fig.places)
	for i := range hits[0] + hits[1] {
		if fig.sounds[i]++; int(fig.sounds[i]) < f.voices {
			return fig
		}
		fig.sounds[i] = 0
	}
	for _, h := range [2]int{1, 0} {
		var ok bool
		if fig.halves[h], ok = nextChoice(fig.halves[h], sizes[h], hits[h]); ok {
			return fig
		}
	}
	return fig
}

// nextChoice returns the next greater number of as many bits in a size; false where it begins again.
func nextChoice(choice uint32, size, hits int) (uint32, bool) {
	if choice != 0 {
		low := choice & -choice
		up := choice + low
		if next := up | (choice^up)>>(bits.TrailingZeros32(low)+2); next < 1<<size && next > choice {
			return next, true
		}
	}
	return 1<<hits - 1, false
}

// filled is a figure over a range.
type filled struct {
	song song.Song
	song.Range
	places int
	hits   figure
}

// place writes the hits.
func (f filled) place(e *song.Edit, w swing, voices []filler, velocity option.Shares) {
	sizes, _ := halfSizes(f.places)
	hit := uint64(f.hits.halves[0]) | uint64(f.hits.halves[1])<<sizes[0]
	n := 0
	for k := range f.places {
		if hit>>k&1 == 0 {
			continue
		}
		v := voices[f.hits.sounds[n]]
		n++
		at := w.late(f.song.Time(), f.End-sixteenth(f.song, f.places-k))
		if at >= f.End {
			continue
		}
		share := geometric(uint64(max(velocity.From, 1)), uint64(max(velocity.To, 1)), int64(k), int64(max(f.places-1, 1)), 0)
		level := min(max(option.Share(share).Of(int(v.median)), 1), int(v.loudest))
		end := min(at+min(v.length, sixteenth(f.song, 1)), f.End)
		e.Place(v.part, song.Note{Start: at, End: end, Key: v.key, Vel: uint8(level)})
	}
}
