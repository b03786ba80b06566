package moves

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Tempo changes the tempo over a span.
type Tempo struct {
	Over   where.Spans `yaml:"over" doc:"where; left out, over all of the song"`
	Except where.Spans `yaml:"except" doc:"what is cut out of over; what is left of a span that is cut is a span of its own"`
	From   TempoValue  `yaml:"from" doc:"tempo where a span starts; a share is of the song's own tempo there"`
	To     TempoValue  `yaml:"to" doc:"tempo where a span ends; a share is of the song's own tempo there" required:"true"`
	Curve  string      `yaml:"curve" words:"linear,exp,s" doc:"even steps, even ratios, or slow at both ends"`
	Hold   bool        `yaml:"hold" doc:"stay at the last tempo until the song's next own one"`
}

// TempoValue is a tempo: beats (quarter notes) a minute in thousandths, or a share of the song's own.
type TempoValue struct {
	Thousandths int // 4000 to 999000; 0: Share
	Share       option.Share
}

// UnmarshalTexts reads a number of beats a minute with at most three decimals, or a percentage.
func (v *TempoValue) UnmarshalTexts(texts []string) error {
	text := texts[0]
	bad := &option.Mistake{Found: strconv.Quote(text), Want: v.Want()}
	if strings.HasSuffix(text, "%") {
		s, err := option.ParseShare(text)
		if err != nil || s == 0 {
			return bad
		}
		*v = TempoValue{Share: s}
		return nil
	}
	n, ok := smf.ParseTempo(text)
	if !ok {
		return bad
	}
	*v = TempoValue{Thousandths: int(n)}
	return nil
}

func (v TempoValue) Texts() []string {
	if v.Thousandths == 0 {
		return v.Share.Texts()
	}
	return []string{smf.DecimalText(int64(v.Thousandths), 3)}
}
func (v TempoValue) IsZero() bool { return v == TempoValue{} }
func (v TempoValue) Want() string {
	return "beats a minute, 4 to 999, such as 128 or 126.5, or a share of the song's tempo such as 96%"
}

// micros returns the tempo in microseconds a quarter note where the song has its own.
func (v TempoValue) micros(own uint32) uint32 {
	switch {
	case v.Thousandths > 0:
		return smf.MicrosPerQuarter(int64(v.Thousandths))
	case v.Share == option.Whole || v.Share <= 0:
		return own
	}
	return uint32(min(max(song.HalfUp(int64(own)*int64(option.Whole), int64(v.Share)), 1), 0xFFFFFF))
}

func tempoMove() Move {
	return Move{
		Group: Automation,
		Brief: "Change the tempo over spans",
		Doc: `Over each span the song's tempo events are replaced: the first stands where the span starts, the others on MIDI clocks, 24 a quarter note, each at least a thousandth faster or slower than the one before; the last, however near, is at the end value. They are written as FF 51 into the first track (RP-001 p. 9).

Where the span ends the song's own tempo is sent again; with hold, nothing more is written and the tempo stays until the song's next own one. Bars stay bars: no note and no metre is touched, only how long they last.`,
		New: func() Step { return &Tempo{From: TempoValue{Share: option.Whole}, Curve: Linear} },
		Example: func() Example {
			return Example{
				Step:   &Tempo{Over: where.SpansOf("last 2 beats"), From: TempoValue{Share: option.Whole}, To: TempoValue{Share: 80 * option.Whole / 100}, Curve: Linear},
				Before: "kick x...x...x...x...|x...x...x...x...",
				After:  "kick x...x...x...x...|x...x...x...x...",
			}
		},
	}
}

// Name implements [Step].
func (*Tempo) Name() string { return "tempo" }

// Apply implements [Step].
func (m *Tempo) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if m.To.IsZero() {
		return Outcome{}, &option.Mistake{Option: "to", Found: "nothing", Want: m.To.Want()}
	}
	if own := (TempoValue{Share: option.Whole}); m.To == own && (m.From == own || m.From.IsZero()) {
		return Outcome{}, &option.Mistake{Option: "to", Found: "100%", Want: "another tempo than from"}
	}
	if len(in.Tracks) == 0 {
		return o, nil
	}
	ranges, err := o.over(env, m.Over, m.Except, in)
	if err != nil {
		return Outcome{}, err
	}
	tl, e, own := in.Time(), in.Edit(), ownTempi(in)
	removeTempi(e, in, ranges)
	for i, r := range ranges {
		for _, p := range m.points(tl, r) {
			insertTempo(e, p)
		}
		touching := i+1 < len(ranges) && ranges[i+1].Start == r.End
		if _, set := slices.BinarySearch(own, r.End); !m.Hold && !touching && !set {
			insertTempo(e, smf.TempoAt{Tick: r.End, Micros: tl.TempoAt(r.End)})
		}
	}
	from := "100%"
	if !m.From.IsZero() {
		from = m.From.Texts()[0]
	}
	o.changed(in, nil, ranges, fmt.Sprintf("%s to %s", from, m.To.Texts()[0]))
	return o.with(e.Song()), nil
}

// points returns the tempi of a range.
func (m *Tempo) points(tl *smf.Timeline, r song.Range) []smf.TempoAt {
	from, to := m.From.micros(tl.TempoAt(r.Start)), m.To.micros(tl.TempoAt(r.End))
	ppq := tl.PPQ()
	clock := func(k song.Tick) song.Tick { return song.HalfUp(int64(k*ppq), 24) }
	first, last := r.Start*24/ppq, (r.End-1)*24/ppq
	for clock(last) >= r.End {
		last--
	}
	end := clock(last)
	if end <= r.Start {
		return []smf.TempoAt{{Tick: r.Start, Micros: to}}
	}
	out := []smf.TempoAt{{Tick: r.Start, Micros: from}}
	a, b := thousandthsOf(from), thousandthsOf(to)
	for k := first; k < last; k++ {
		t := clock(k)
		if t <= r.Start || t >= end {
			continue
		}
		micros := smf.MicrosPerQuarter(int64(curveAt(m.Curve, a, b, t-r.Start, end-r.Start)))
		was := out[len(out)-1].Micros
		if 1000*int64(max(micros, was)-min(micros, was)) >= int64(was) {
			out = append(out, smf.TempoAt{Tick: t, Micros: micros})
		}
	}
	if out[len(out)-1].Micros != to {
		out = append(out, smf.TempoAt{Tick: end, Micros: to})
	}
	return out
}

// thousandthsOf returns microseconds a quarter note as thousandths of a beat a minute, at most a
// thousand times the fastest tempo that may be asked for.
func thousandthsOf(micros uint32) int {
	return int(min(song.HalfUp(60_000_000_000, int64(max(micros, 1))), 1<<24))
}

func insertTempo(e *song.Edit, p smf.TempoAt) {
	e.InsertMeta(0, p.Tick, smf.MetaTempo, []byte{byte(p.Micros >> 16), byte(p.Micros >> 8), byte(p.Micros)})
}

// removeTempi takes the tempo events in the ranges, which are sorted and apart, out of all tracks.
func removeTempi(e *song.Edit, in song.Song, ranges []song.Range) {
	for i, t := range in.Tracks {
		gone := func(ev song.Event) bool {
			k, on := slices.BinarySearchFunc(ranges, ev.Tick, func(r song.Range, at song.Tick) int {
				if r.End <= at {
					return -1
				}
				return int(min(max(r.Start-at, 0), 1))
			})
			return on && ranges[k].Has(ev.Tick) && lay.ConductorKind(ev) == 0
		}
		if slices.ContainsFunc(t.Events, gone) {
			e.RemoveEvents(i, func(_ *song.Track, ev song.Event) bool { return gone(ev) })
		}
	}
}

// ownTempi returns the ticks at which a song sets its tempo, in order.
func ownTempi(in song.Song) []song.Tick {
	var out []song.Tick
	for _, t := range in.Tracks {
		for _, ev := range t.Events {
			if lay.ConductorKind(ev) == 0 && smf.ValidTempo(t.Long(ev)) {
				out = append(out, ev.Tick)
			}
		}
	}
	slices.Sort(out)
	return out
}

// Form says what a tempo looks like.
func (v TempoValue) Form() option.Form {
	return option.Form{Pattern: option.SharePattern(1, 10*option.Whole), Numbers: []option.Numbers{{Low: smf.SlowestTempo / 1000, High: smf.FastestTempo / 1000, Decimals: 3}}}
}
