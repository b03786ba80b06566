package moves

import (
	"fmt"
	"sort"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Humanise plays parts less exactly.
type Humanise struct {
	Target
	Chance
	Timing   Deviation `yaml:"timing" doc:"how early or late a note may come, in milliseconds"`
	Velocity Deviation `yaml:"velocity" doc:"how much softer or louder a note may be, in steps of velocity"`
	Anchors  bool      `yaml:"anchors" doc:"also kick, backbeat, bass and bar 1 of the song, which are otherwise left alone"`
}

// Deviation is the largest distance from what is written, 0 to 30 either way.
type Deviation struct {
	Most int
	Set  bool
}

// mostDeviation is twice the spread of a drummer: per drum, step and take 14 to 27 ms and 6 to 25 steps
// of velocity (standard deviations in a collection of 397 recorded grooves).
const mostDeviation = 30

// UnmarshalTexts reads a deviation.
func (d *Deviation) UnmarshalTexts(texts []string) error {
	n, ok := option.ParseInt(texts[0])
	if !ok || n < 0 || n > mostDeviation || texts[0][0] == '+' || texts[0][0] == '-' {
		return &option.Mistake{Found: strconv.Quote(texts[0]), Want: d.Want()}
	}
	*d = Deviation{n, true}
	return nil
}

func (d Deviation) Texts() []string { return []string{strconv.Itoa(d.Most)} }
func (d Deviation) IsZero() bool    { return !d.Set }
func (d Deviation) Want() string    { return fmt.Sprintf("0 to %d", mostDeviation) }

func humaniseMove() Move {
	return Move{
		Group: Rhythm,
		Brief: "Play parts less exactly, by chance",
		Doc: `Every onset in a span comes a little early or late and every note is a little softer or louder, never by more than said. The timing drifts as a player's does, rather than jumping. The notes of a chord move together. What is less than half a tick of the file is not written. No two onsets change places, each stays in its bar and span, and note-offs move along: what was tied stays tied.

Kick, backbeat, bass and bar 1 of the song are left alone, which is told of parts; with anchors they move too, all but the first downbeat of the song.`,
		New: func() Step { return &Humanise{Timing: Deviation{5, true}, Velocity: Deviation{6, true}} },
		Example: func() Example {
			return Example{
				Step:   &Humanise{Target: Target{Part: where.PartsOf("all")}, Timing: Deviation{0, true}, Velocity: Deviation{9, true}, Chance: Chance{option.SeedOf(3)}},
				Before: "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.",
				After:  "kick x...x...x...x...|x...x...x...x...\nhat  ..x...x...x...x.|..x...x...x...x.",
			}
		},
	}
}

// Name implements [Step].
func (*Humanise) Name() string { return "humanise" }

// Apply implements [Step].
func (m *Humanise) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	for _, o := range []struct {
		name  string
		value Deviation
	}{{"timing", m.Timing}, {"velocity", m.Velocity}} {
		if o.value.Most < 0 || o.value.Most > mostDeviation {
			return Outcome{}, &option.Mistake{Option: o.name, Found: strconv.Itoa(o.value.Most), Want: o.value.Want()}
		}
	}
	o.checkNotes(env, in)
	e := in.Edit()
	var left, moved []int
	for _, p := range env.Parts {
		if anchor(in.Parts[p]) && !m.Anchors {
			left = append(left, p)
			continue
		}
		moved = append(moved, p)
		m.humanise(e, env, in, p)
	}
	o.leave(env, in, left, remark.NotHumanised)
	if len(moved) > 0 {
		o.changed(in, moved, env.Ranges, fmt.Sprintf("%d ms, %d steps", m.Timing.Most, m.Velocity.Most))
	}
	return o.with(e.Song()), nil
}

// onset is where notes of a part start together.
type onset struct{ at, to song.Tick }

func (m *Humanise) humanise(e *song.Edit, env *Env, in song.Song, part int) {
	notes := in.Parts[part].Notes
	var onsets []onset
	for _, n := range notes {
		if k := len(onsets); k == 0 || onsets[k-1].at != n.Start {
			onsets = append(onsets, onset{n.Start, n.Start})
		}
	}
	levels := make([]*Rand, len(env.Ranges))
	for i, r := range env.Ranges {
		drift := newDrift(NewRand(env.Seed, env.number(i), env.partNumber(part), 0), m.Timing.Most*1000)
		levels[i] = NewRand(env.Seed, env.number(i), env.partNumber(part), 1)
		k := sort.Search(len(onsets), func(k int) bool { return in.Counted(onsets[k].at) >= r.Start })
		for ; k < len(onsets) && in.Counted(onsets[k].at) < r.End; k++ {
			micros := drift.next()
			if m.may(in, onsets[k].at) {
				onsets[k].to = deviated(in, r, onsets, k, micros, m.Timing.Most*1000)
			}
		}
	}
	i := 0
	moveNotes(e, in, part, env.Ranges, func(n song.Note, r song.Range) song.Note {
		for env.Ranges[i] != r {
			i++
		}
		by := eitherWay(levels[i], m.Velocity.Most)
		if !m.may(in, n.Start) {
			return n
		}
		k := sort.Search(len(onsets), func(k int) bool { return onsets[k].at >= n.Start })
		n.End = movedEnd(onsets, n, onsets[k].to)
		n.Start = onsets[k].to
		n.Vel = uint8(min(max(int(n.Vel)+by, 1), 127))
		return n
	})
}

// may tells whether an onset may move.
func (m *Humanise) may(in song.Song, t song.Tick) bool {
	at := in.Counted(t)
	if m.Anchors {
		return at > 0
	}
	return at >= in.Time().BarStart(2)
}

// deviated returns where an onset goes that is meant to come so many microseconds late, at most
// most either way: less than half of the way to its neighbours, within its bar and range.
func deviated(in song.Song, r song.Range, onsets []onset, k int, micros, most int) song.Tick {
	tl, at := in.Time(), onsets[k].at
	ppq := tl.PPQ()
	first, last := song.Tick(0), in.End-1
	if k > 0 {
		first = at - (at-onsets[k-1].at-1)/2
	}
	if k+1 < len(onsets) {
		last = at + (onsets[k+1].at-at-1)/2
	}
	bar := tl.BarOf(in.Counted(at))
	// An onset less than a 1/64 before a bar line counts to the bar after it.
	first = max(first, tl.BarStart(bar)-(ppq-1)/16)
	last = min(last, tl.BarStart(bar+1)-(ppq+15)/16)
	if !tl.IsBarLine(r.Start) {
		first = max(first, r.Start)
	}
	if !tl.IsBarLine(r.End) {
		last = min(last, r.End-1)
	}
	home := tl.Micros(at)
	to := tl.TickAtMicros(max(home+int64(micros), 0))
	for to > at && tl.Micros(to)-home > int64(most) {
		to--
	}
	for to < at && home-tl.Micros(to) > int64(most) {
		to++
	}
	return min(max(to, min(first, at)), max(last, at))
}

// movedEnd returns the end of a note: with the onset it is tied to, else with the last onset before it,
// not past the next.
func movedEnd(onsets []onset, n song.Note, start song.Tick) song.Tick {
	k := sort.Search(len(onsets), func(k int) bool { return onsets[k].at >= n.End })
	if k < len(onsets) && onsets[k].at == n.End {
		return onsets[k].to
	}
	end := n.End + onsets[k-1].to - onsets[k-1].at
	if k < len(onsets) {
		end = min(end, onsets[k].to)
	}
	return max(end, start+1)
}

// drift is a random number whose values hang together: it is the sum of streams that change every 1, 2, 4 and 8
// steps. That comes near to the 1/f noise of human timing, which listeners prefer to errors that do not hang together (Hennig et al., PLoS ONE
// 6(10), 2011).
type drift struct {
	chance *Rand
	most   int
	steps  int
	values [4]int
}

func newDrift(chance *Rand, most int) *drift { return &drift{chance: chance, most: most} }

// next returns a number from -most to most.
func (d *drift) next() int {
	sum := 0
	for i := range d.values {
		if d.steps%(1<<i) == 0 {
			d.values[i] = eitherWay(d.chance, d.most)
		}
		sum += d.values[i]
	}
	d.steps++
	return min(max(sum/2, -d.most), d.most) // as wide as one stream alone
}

// eitherWay returns a number from -most to most, each as likely as the others.
func eitherWay(chance *Rand, most int) int { return chance.Intn(2*most+1) - most }

// Form says what a deviation looks like.
func (d Deviation) Form() option.Form {
	return option.Form{Numbers: []option.Numbers{{High: mostDeviation}}}
}
