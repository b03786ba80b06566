package moves

import (
	"fmt"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// Swell plays parts backwards up to a line, growing.
type Swell struct {
	Target
	Velocity option.Shares `yaml:"velocity" doc:"shares of the part's median velocity at the first and last hit, at most the part's own loudest"`
	Gap      where.Gap     `yaml:"gap" doc:"how long everything rests before the end of the span: a length, or auto for about half a second"`
}

func swellMove() Move {
	return Move{
		Group: Accents,
		Brief: "Play a part backwards up to a line, growing",
		Doc: `Over each span a part plays what the loop has there backwards, instead of its own notes: its first hit comes last, a 1/16 note before the end of the span or the gap, and ends there. Off-beats come as late as those of the loop. The level rises evenly in dB. Where a roll stands for the part, it is left out, which is told.

A pitched part whose notes last a beat or more (their median) is pulsed instead: what sounds is struck in 1/8 notes over the first half and in 1/16 notes over the second, each a 1/16 long. Where its expression is known to be mapped and it names all parts of its channel, expression rises from 16 to 127 with it and goes home.

In the gap every part rests: notes that start in it go, pitched ones that ring into it end there, drums ring on; only a crash may break it. After a gap, a kick on the line is as loud as the part's loudest hit. Auto is 1 beat, from about 170 bpm 2 beats, before the second drop twice that if it is less than a bar; where it would leave no room, there is none.`,
		New: func() Step { return &Swell{Velocity: option.SharesOf(15*option.Whole/100, option.Whole)} },
		Example: func() Example {
			return Example{
				Step:   &Swell{Target: Target{Part: where.PartsOf("hat"), Over: where.SpansOf("bar 2")}, Velocity: option.SharesOf(50*option.Whole/100, option.Whole), Gap: where.Gap{Length: where.LengthOf("1 beat")}},
				Before: "hat x..x..x...x.....|x..x..x...x.....|x..x..x...x.....",
				After:  "hat x..x..x...x.....|.o...o..x..x....|x..x..x...x.....",
			}
		},
	}
}

// Name implements [Step].
func (*Swell) Name() string { return "swell" }

// Apply implements [Step].
func (w *Swell) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	if len(env.Parts) == 0 {
		return o, nil
	}
	silent := make([][]song.Range, len(in.Parts))
	var runs []song.Range // up to the gaps
	var lines []song.Tick // after gaps
	for _, over := range env.Ranges {
		gap, err := env.gapBefore(&o, w.Gap, in, over)
		if err != nil {
			return Outcome{}, err
		}
		runs = append(runs, song.Range{Start: over.Start, End: gap})
		if gap == over.End {
			continue
		}
		lines = append(lines, over.End)
		for i, p := range in.Parts {
			if p.Role != song.RoleCrash {
				silent[i] = append(silent[i], song.Range{Start: gap, End: over.End})
			}
		}
	}
	swells := make([]swelling, len(env.Parts))
	for i, p := range env.Parts {
		swells[i] = w.swelling(&o, env, in, p, runs)
		silent[p] = append(silent[p], swells[i].runs...)
	}
	e := Silence(in, silent, song.TailsAuto).Edit()
	hits := 0
	for _, s := range swells {
		hits += s.place(e, w.Velocity)
	}
	if hits == 0 {
		o.nothing(remark.Remark{Kind: remark.NothingSwells, Parts: partNames(in, env.Parts)})
	}
	accentKicks(e, env, in, lines)
	o.changed(in, env.Parts, env.Ranges, fmt.Sprintf("%d hits", hits))
	return o.with(expressed(&o, env, e.Song(), swells)), nil
}

// swelling is a part that swells over ranges.
type swelling struct {
	song    song.Song // of the source
	part    int
	source  song.Part
	runs    []song.Range
	pulsed  bool
	swing   swing
	median  uint8
	loudest uint8
}

func (w *Swell) swelling(o *Outcome, env *Env, in song.Song, part int, runs []song.Range) swelling {
	p := in.Parts[part]
	s := swelling{song: env.Full, part: part, source: env.Source(p.Name), swing: env.swing()}
	if len(s.source.Notes) == 0 {
		s.song, s.source = in, p
	}
	s.loudest = loudest(s.source.Notes)
	s.median = medianVelocity(s.source.Notes)
	s.pulsed = sustained(in, p, s.source.Notes)
	rolled := env.rolledRanges(p.Name)
	for _, r := range runs {
		if free := song.Without([]song.Range{r}, rolled); len(free) == 1 && free[0].Range == r {
			s.runs = append(s.runs, r)
		} else {
			o.tell(remark.Remark{Kind: remark.RollStands, Move: w.Name(), Parts: []string{p.Name}})
		}
	}
	return s
}

// sustained tells whether a part's notes are too long to be played backwards: a beat or more, by their
// median. Common practice, no source.
func sustained(in song.Song, p song.Part, notes []song.Note) bool {
	if !p.Pitched() || p.Role == song.RoleVocal || len(notes) == 0 {
		return false
	}
	long := 0
	for _, n := range notes {
		if n.End-n.Start >= in.Time().BeatTicks(in.Time().BarOf(n.Start)) {
			long++
		}
	}
	return 2*long > len(notes)
}

// place writes the hits; it returns how many.
func (s swelling) place(e *song.Edit, velocity option.Shares) int {
	written := 0
	held := holding{notes: s.source.Notes, counted: s.song.Counted}
	for _, r := range s.runs {
		notes := s.backwards(r)
		if s.pulsed {
			notes = s.pulses(r, &held)
		}
		if len(notes) == 0 {
			continue
		}
		first, last := notes[0].Start, notes[len(notes)-1].Start
		for _, n := range notes {
			share := velocity.To
			if last > first {
				share = option.Share(geometric(uint64(max(velocity.From, 1)), uint64(max(velocity.To, 1)), int64(n.Start-first), int64(last-first), 0))
			}
			n.Vel = uint8(min(max(share.Of(int(s.median)), 1), int(s.loudest)))
			e.Place(s.part, n)
		}
		written += len(notes)
	}
	return written
}

// backwards returns the source's notes of a range in mirrored order, the first a 1/16 before its end.
func (s swelling) backwards(r song.Range) []song.Note {
	tl := s.song.Time()
	own := s.song.In(s.source, r)
	if len(own) == 0 {
		return nil
	}
	first := s.swing.straight(tl, s.song.Counted(own[0].Start))
	final := max(r.End-sixteenth(s.song, 1), r.Start)
	var out []song.Note
	for _, n := range slices.Backward(own) {
		straight := final - (s.swing.straight(tl, s.song.Counted(n.Start)) - first)
		at := s.swing.late(tl, straight)
		if straight < r.Start || at >= r.End {
			continue
		}
		end := min(at+max(n.End-n.Start, 1), r.End)
		if straight == final {
			end = r.End
		}
		out = append(out, song.Note{Start: at, End: end, Key: n.Key})
	}
	return out
}

// holding knows what sounds, asked for ticks that rise.
type holding struct {
	notes   []song.Note // that are still to start
	live    []song.Note
	counted func(song.Tick) song.Tick
}

// at returns the notes that sound at a tick.
func (h *holding) at(t song.Tick) []song.Note {
	for len(h.notes) > 0 && h.counted(h.notes[0].Start) <= t {
		h.live = append(h.live, h.notes[0])
		h.notes = h.notes[1:]
	}
	h.live = slices.DeleteFunc(h.live, func(n song.Note) bool { return n.End <= t })
	return h.live
}

// pulses returns strikes of what sounds: in 1/8 notes over the first half of a range, in 1/16 over its
// second, counted from its end.
func (s swelling) pulses(r song.Range, held *holding) []song.Note {
	tl := s.song.Time()
	count := 1
	for r.End-sixteenth(s.song, count+1) >= r.Start {
		count++
	}
	var out []song.Note
	for k := count; k >= 1; k-- {
		straight := r.End - sixteenth(s.song, k)
		if straight < r.Start || 2*(straight-r.Start) < r.Len() && k%2 == 1 {
			continue
		}
		at := s.swing.late(tl, straight)
		for _, n := range held.at(straight) {
			out = append(out, song.Note{Start: at, End: min(at+sixteenth(s.song, 1), r.End), Key: n.Key})
		}
	}
	return out
}

// expressed rides the expression of pulsed parts where it is known to be mapped.
func expressed(o *Outcome, env *Env, out song.Song, swells []swelling) song.Song {
	var pulsed []int
	for _, s := range swells {
		if s.pulsed && len(s.runs) > 0 {
			pulsed = append(pulsed, s.part)
		}
	}
	slices.Sort(pulsed)
	for _, s := range swells {
		if !s.pulsed || len(s.runs) == 0 {
			continue
		}
		var all []int // of its channel
		for j := range out.Parts {
			if sameChannel(out.Parts[j], out.Parts[s.part]) {
				all = append(all, j)
			}
		}
		whole := !slices.ContainsFunc(all, func(j int) bool { return !slices.Contains(pulsed, j) })
		if !whole || all[0] != s.part || !newHoming(env, out, all, expression).mapped {
			continue
		}
		ride := Ride{Controller: option.ControllerOf(expression), From: option.Control(16), To: option.Control(127), Curve: Exp}
		out = ride.channel(o, s.runs, env, out, all)
	}
	return out
}
