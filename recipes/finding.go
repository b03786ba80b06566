package recipes

import (
	"errors"
	"fmt"
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/moves/where"
	"loopdraft/recipes/players"
	"loopdraft/recipes/wording"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// defaultAdd returns the jobs whose parts may be found to play in a section that has an energy and does not say who
// may, the most wanted first. lone: the loop has no pitched part outside the bass.
func defaultAdd(kind song.Kind, course players.Course, lone bool) []song.Job {
	switch {
	case course != players.InRange && kind != song.KindBreak && kind != song.KindBuild:
		return []song.Job{song.JobTops, song.JobBackbeat, song.JobPerc, song.JobBeat, song.JobHook, song.JobBed, song.JobExtra, song.JobBass}
	case kind == song.KindBreak && lone:
		return []song.Job{song.JobBass, song.JobTops}
	case kind == song.KindBreak:
		return []song.Job{song.JobHook, song.JobBed, song.JobExtra, song.JobPerc, song.JobTops, song.JobBackbeat}
	case kind == song.KindBuild:
		return []song.Job{song.JobHook, song.JobBed, song.JobExtra, song.JobTops, song.JobPerc}
	}
	return []song.Job{song.JobHook, song.JobBed, song.JobExtra, song.JobPerc, song.JobTops, song.JobBackbeat, song.JobBass, song.JobBeat}
}

// scale tells energy as it is told of sections.
type scale struct{ full form.Power }

func (s scale) Full() int64                         { return int64(s.full) }
func (s scale) Percent(power int64) int             { return form.Power(power).Share(s.full) }
func (s scale) Power(percent int) int64             { return int64(s.full.At(min(max(percent, 0), mostShare))) }
func (s scale) Times(power int64, tenths int) int64 { return int64(form.Power(power).Times(tenths)) }

// barsIn are bars of a section, both included, counted from 0.
type barsIn struct{ first, last int }

// unitsOf returns the units of a section, the stretches in which a line-up found for it stays as it is: the phrase; in
// a section of two phrases half of it, of one phrase a quarter, 2 bars at least; counted back from its end.
func unitsOf(bars, phrase int) []barsIn {
	unit := phrase
	switch {
	case bars <= phrase:
		unit = phrase / 4
	case bars <= 2*phrase:
		unit = phrase / 2
	}
	unit = max(unit, min(2, phrase))
	var out []barsIn
	for end := bars; end > 0; end -= unit {
		out = append(out, barsIn{max(end-unit, 0), end - 1})
	}
	slices.Reverse(out)
	return out
}

// found is what was found for the sections that have an energy.
type found struct {
	scale scale
	track players.Track
	lines []players.Line
	units [][]barsIn
	steps []moves.Step // by which sections step back

	sections []song.Section
	asks     []bool   // of each section whether it has an energy
	names    []string // of all sections
}

// finding finds who plays in the sections that have an energy.
type finding struct {
	*order
	loop foundLoop
	laid laidLoop
	ups  *lineUps

	against []int  // by section, the one that its energy is measured against; -1 for none
	plays   lineUp // to which those that are found are added

	measuredParts
	at [][]int // by part, by bar of the song, see layout
	found
}

// findPlayers lets those play that are found for the energy of sections; nil where no section has one.
func (a *order) findPlayers(loop foundLoop, ups *lineUps, plays lineUp) (*found, error) {
	if !slices.ContainsFunc(a.r.Sections, func(s SectionSpec) bool { return !s.Energy.IsZero() }) {
		return nil, nil
	}
	f := &finding{order: a, loop: loop, laid: ups.laid, ups: ups, plays: plays, found: found{names: sectionTexts(a.r.Sections), sections: ups.laid.plan.sections}}
	var err error
	if f.measuredParts, err = a.shared.measured(loop); err != nil {
		return nil, err
	}
	if f.at, err = f.laid.layout.bars(); err != nil {
		return nil, err
	}
	f.scale = scale{f.full}
	if err := f.ask(); err != nil || f.err() != nil {
		return nil, err
	}
	f.lines = players.Find(f.track)
	for i, s := range a.r.Sections {
		if !s.Energy.IsZero() {
			f.carryOut(i)
		}
	}
	found := f.found // by itself: what it was found with is as large as the draft
	return &found, nil
}

// measuredParts are what the parts of a loop give.
type measuredParts struct {
	powers [][]form.Powers // by part, by bar of the loop: what it gives there
	sounds [][]bool        // by part, by bar of the loop: it is heard there
	notes  [][]int         // by part, by bar of the loop: how many notes start there
	full   form.Power      // of all parts in the loudest phrase
}

// measure measures each part over its cycles in each loop, on the loops laid twice.
func (l foundLoop) measure() (measuredParts, error) {
	parts, bars := len(l.song.Parts), l.song.Bars()
	out := measuredParts{make([][]form.Powers, parts), make([][]bool, parts), make([][]int, parts), 1}
	for p := range parts {
		out.powers[p], out.sounds[p], out.notes[p] = make([]form.Powers, bars), make([]bool, bars), make([]int, bars)
	}
	loops := l.loops
	if loops == nil {
		loops = []song.Stretch{{Bar: 1, Bars: l.loop.Bars, Cycles: l.loop.Cycles}}
	}
	for k, s := range loops {
		if err := out.measureLoop(l, k, s); err != nil {
			return out, err
		}
	}
	return out, nil
}

// measureLoop measures each part over its cycle of a loop.
func (m *measuredParts) measureLoop(l foundLoop, k int, s song.Stretch) error {
	cycles, most := make([]int, len(l.song.Parts)), s.Bars
	tl := l.song.Time()
	for i, p := range l.song.Parts {
		cycles[i] = s.Bars
		if c := s.Cycles; p.Track < len(c) && c[p.Track] > 0 {
			cycles[i] = max(tl.BarOf(tl.BarStart(s.Bar)+c[p.Track]-1)-s.Bar+1, 1)
		}
		most = max(most, cycles[i])
	}
	layout := l.layout(laidLoop{})
	layout.Blocks, layout.Markers = []lay.Block{{Bars: 2 * most, RunOn: true, Loop: k}}, false
	twice, _, err := lay.Lay(layout)
	if err != nil {
		return err
	}
	table, err := form.TableOf(twice, cycles)
	if err != nil {
		return err
	}
	m.full = max(m.full, table.Full(s.Bars, form.FullPhrase))
	for i, p := range twice.Parts {
		first := s.Bar - 1
		powers, heard, starts := m.powers[i][first:], m.sounds[i][first:], m.notes[i][first:]
		copy(powers, table[i])
		for _, n := range p.Notes {
			first, last := twice.Time().BarOf(twice.Counted(n.Start))-1, twice.Time().BarOf(max(n.End-1, n.Start))-1
			if p.Job == song.JobBeat || p.Job == song.JobBackbeat || p.Job == song.JobTops || p.Job == song.JobPerc {
				last = first // a drum is struck
			}
			if first >= cycles[i] && first < 2*cycles[i] {
				starts[first-cycles[i]]++
			}
			for bar := max(first, cycles[i]); bar <= last && bar < 2*cycles[i]; bar++ {
				heard[bar-cycles[i]] = true
			}
		}
	}
	return nil
}

// ask puts to the package players what the recipe asks for.
func (f *finding) ask() error {
	f.track = players.Track{Scale: f.scale}
	var bad []*Error
	f.against, bad = againsts(f.r.Sections)
	for _, e := range bad {
		if e != nil {
			return e // the reader has said so
		}
	}
	for _, p := range f.loop.song.Parts {
		f.track.Parts = append(f.track.Parts, players.Part{Role: p.Role, Job: p.Job, Sounds: soundsOf(p)})
	}
	for i, s := range f.r.Sections {
		f.units = append(f.units, unitsOf(f.laid.plan.sections[i].Bars, f.r.phrase()))
		f.asks = append(f.asks, !s.Energy.IsZero())
		out, err := f.section(i, nil)
		if err != nil {
			return err
		}
		if of := sameAs(f.r.Sections, i); of >= 0 {
			out.Like = of + 1
			out.Follow = func(like players.Line) players.Section { return f.follow(i, like) }
		}
		f.track.Sections = append(f.track.Sections, out)
	}
	return nil
}

// soundsOf returns how many sounds a part has: each key of a kit is one.
func soundsOf(p song.Part) int {
	if !p.Kit {
		return 1
	}
	struck := map[uint8]bool{}
	for _, n := range p.Notes {
		struck[n.Key] = true
	}
	return len(struck)
}

// section returns what is asked for a section; base is what "same" means in it.
func (f *finding) section(i int, base [][]where.Play) (players.Section, error) {
	s, sec := f.r.Sections[i], f.laid.plan.sections[i]
	out := players.Section{Kind: sec.Kind, Course: s.Energy.course}
	named := s.Play.Names(f.loop.song)
	for p, plays := range base {
		if len(plays) > 0 {
			named = append(named, p)
		}
	}
	if !s.Energy.IsZero() {
		out.Against = f.against[i] + 1
		out.May = []int{}
		if s.asks() {
			var err error
			if out.May, err = f.may(i, s, named); err != nil {
				return out, err
			}
		}
	}
	out.Own = f.loop.own(f.laid.plan.loops, i)
	for k, u := range f.units[i] {
		unit := f.unit(i, u, named)
		unit.Low, unit.High = s.Energy.unit(k, len(f.units[i]))
		unit.Due = (sec.Bars-u.first)%f.r.phrase() == 0
		out.Units = append(out.Units, unit)
	}
	return out, nil
}

// follow returns what is asked for a section that plays the same as another, of which like was found.
func (f *finding) follow(i int, like players.Line) players.Section {
	of := f.r.Sections[i].base - 1
	f.ups.found[of] = f.added(of, like)
	base, _, err := f.ups.resolve(i)
	if err == nil { // its mistakes were told before
		f.plays[i] = f.ups.ranges(i)
	}
	out, err := f.section(i, base)
	if err != nil {
		return f.track.Sections[i]
	}
	out.Like, out.Follow = f.track.Sections[i].Like, f.track.Sections[i].Follow
	f.track.Sections[i] = out
	return out
}

// added returns where those play in a section that were found, by part, in ticks of the section.
func (f *finding) added(i int, line players.Line) [][]song.Range {
	sec := f.laid.plan.sections[i]
	start := f.laid.song.Time().BarStart(sec.Bar)
	out := make([][]song.Range, len(f.track.Parts))
	for _, p := range f.track.Sections[i].May {
		for k, u := range line.Units {
			if u.Plays[p] {
				r := barsOf(f.laid.song, sec, f.units[i][k].first+1, f.units[i][k].last+1)
				r.Start, r.End = r.Start-start, r.End-start
				out[p] = withRange(out[p], r)
			}
		}
	}
	return out
}

// may returns who may be found for a section, the most wanted first.
func (f *finding) may(i int, s SectionSpec, named []int) ([]int, error) {
	out := []int{}
	add := func(parts []int) {
		for _, p := range parts {
			if !slices.Contains(out, p) && !slices.Contains(named, p) && f.heardIn(i, p) && f.loop.song.Parts[p].Role != song.RoleTrigger {
				out = append(out, p)
			}
		}
	}
	if s.Add.IsZero() {
		lone := !slices.ContainsFunc(f.track.Parts, players.Part.Pitched)
		for _, job := range defaultAdd(s.kind(), s.Energy.course, lone) {
			parts, _ := where.PartsOf(string(job)).Resolve(f.loop.song)
			add(parts)
		}
		return out, nil
	}
	for k, one := range s.Add.OneByOne() {
		parts, err := one.Resolve(f.loop.song)
		if err != nil {
			for _, err := range flatten(err) {
				if !f.follows(err) {
					f.optionMistake(err, fmt.Sprintf("sections[%d].add", i+1), func(int) spot { return spotIn(s.atAdd, k, s.atName) })
				}
			}
			continue
		}
		add(parts)
	}
	// A recipe for any loop does not know what a second one has.
	if own := f.loop.own(f.laid.plan.loops, i); f.r.anyLoop() && s.Loop == "" {
		if !slices.ContainsFunc(own, func(p int) bool { return slices.Contains(out, p) || slices.Contains(named, p) }) {
			add(own)
		}
	}
	return out, nil
}

// heardIn tells whether a part would be heard anywhere in a section: of several loops not every one has it.
func (f *finding) heardIn(section, part int) bool {
	if len(f.loop.loops) < 2 {
		return true
	}
	sec := f.laid.plan.sections[section]
	return slices.ContainsFunc(f.at[part][sec.Bar-1:sec.Bar-1+sec.Bars], func(at int) bool { return at > 0 && f.sounds[part][at-1] })
}

// unit measures a unit of a section: what each part gives to it if it plays, those of the line-up where they play.
func (f *finding) unit(section int, u barsIn, named []int) players.Unit {
	sec, n := f.laid.plan.sections[section], len(f.track.Parts)
	out := players.Unit{Powers: make([]players.Power, n), Must: make([]bool, n), Notes: make([]int, n)}
	for bar := u.first; bar <= u.last; bar++ {
		out.Sounds = append(out.Sounds, make([]bool, n))
	}
	for p := range n {
		var sum form.Powers
		for k := range out.Sounds {
			bar := sec.Bar - 1 + u.first + k
			plays := f.playsIn(section, p, u.first+k)
			if plays {
				out.Must[p] = true
			} else if slices.Contains(named, p) {
				continue
			}
			at := f.at[p][bar] - 1
			if at < 0 {
				continue
			}
			sum = sum.Plus(f.powers[p][at])
			out.Sounds[k][p] = f.sounds[p][at]
			out.Notes[p] += f.notes[p][at]
		}
		for band := range sum {
			out.Powers[p][band] = int64(sum[band]) / int64(len(out.Sounds))
		}
	}
	return out
}

// playsIn tells whether the line-up lets a part play in a bar of a section, counted from 0, or in some of it.
func (f *finding) playsIn(section, part, bar int) bool {
	sec := f.laid.plan.sections[section]
	r := barsOf(f.laid.song, sec, bar+1, bar+1)
	start := f.laid.song.Time().BarStart(sec.Bar)
	return slices.ContainsFunc(f.plays[section][part], func(p song.Range) bool { return p.Start+start < r.End && r.Start < p.End+start })
}

// carryOut lets those play in a section that were found, lets it step back, and tells both.
func (f *finding) carryOut(i int) {
	line := f.lines[i]
	added := f.added(i, line)
	for p, ranges := range added {
		for _, r := range ranges {
			f.plays[i][p] = withRange(f.plays[i][p], r)
		}
	}
	triggersFollow(f.laid.song, f.plays[i])
	f.stepBack(i, line)
	f.say(i, added)
}

// stepBack makes the steps by which a section steps back.
func (f *finding) stepBack(i int, line players.Line) {
	sec := f.laid.plan.sections[i]
	var music, others []string
	for p, part := range f.track.Parts {
		if len(f.plays[i][p]) == 0 || f.laid.song.Parts[p].Role == song.RoleTrigger {
			continue
		}
		if text := where.PartText(f.laid.song, p); part.StepsBack() {
			music = append(music, text)
		} else {
			others = append(others, text)
		}
	}
	step := func(parts []string, percent int) {
		if percent < 100 && len(parts) > 0 {
			share := option.Share(percent) * option.Whole / 100
			over := where.SpansOf(fmt.Sprintf("bars %d-%d", sec.Bar, sec.Bar+sec.Bars-1))
			f.steps = append(f.steps, &moves.Shape{Target: moves.Target{Part: where.PartsOf(parts...), Over: over}, From: share, To: share, Curve: moves.Exp})
		}
	}
	if line.Music == 100 {
		step(append(music, others...), line.All)
		return
	}
	step(music, (line.Music*line.All+50)/100)
	step(others, line.All)
}

// say tells who was found for a section, and what is not as it was asked for.
func (f *finding) say(i int, added [][]song.Range) {
	sec, line := f.laid.plan.sections[i], f.lines[i]
	name := f.names[i]
	in := f.sectionContext(f.laid, i)
	var who []string
	for _, p := range f.track.Sections[i].May {
		for _, r := range added[p] {
			who = append(who, in.Item(where.PartText(f.loop.song, p), r))
		}
	}
	text := "nobody joins"
	switch {
	case !f.r.Sections[i].asks():
		text = "plays as " + f.names[f.r.Sections[i].base-1]
	case len(who) == 1:
		text = who[0] + " plays"
	case len(who) > 1:
		text = wording.Listed(who) + " play"
	}
	mean := form.Power(f.mean(i))
	text = fmt.Sprintf("%s: %s, %s of full", name, text, percentText(mean.Share(f.scale.full)))
	if alone, drop := f.alone(i); alone != "" {
		text += "; " + alone + drop
	}
	switch {
	case line.Music < 100 && line.All < 100:
		text += fmt.Sprintf("; it steps back to %d %%, the music to %d %%, of its velocity", line.All, (line.Music*line.All+50)/100)
	case line.Music < 100:
		text += fmt.Sprintf("; the music steps back to %d %% of its velocity", line.Music)
	case line.All < 100:
		text += fmt.Sprintf("; it steps back to %d %% of its velocity", line.All)
	}
	f.tell(text)
	if low, high, ok := f.asked(i); ok && (mean < low.Times(-either) || mean > high.Times(either)) {
		f.tell(fmt.Sprintf("%s, bars %d-%d: it comes to %s of full, %s is asked for", name, sec.Bar, sec.Bar+sec.Bars-1, percentText(mean.Share(f.scale.full)), f.rangeText(low, high)))
	}
}

// alone tells how much weaker a break would be if only the part that is wanted most played; "" where it would be no less
// than leanBreak under the drop that follows.
func (f *finding) alone(i int) (part, text string) {
	const leanBreak = 120 // tenths of a dB; common practice, no source
	s := f.track.Sections[i]
	if s.Kind != song.KindBreak {
		return "", ""
	}
	drop := slices.IndexFunc(f.track.Sections[i:], func(s players.Section) bool { return s.Kind == song.KindDrop })
	if drop < 0 {
		return "", ""
	}
	for _, p := range s.May {
		if !slices.ContainsFunc(f.lines[i].Units, func(u players.Found) bool { return u.Plays[p] }) {
			continue
		}
		sum := int64(0)
		for _, u := range s.Units {
			sum += u.Powers[p].Sum() / int64(len(s.Units))
		}
		if under := -form.Power(sum).Level(form.Power(f.mean(i + drop))); under >= leanBreak {
			return "the " + f.loop.song.Parts[p].Name + " alone", fmt.Sprintf(" would be %d dB under %s", (under+5)/10, f.names[i+drop])
		}
		return "", ""
	}
	return "", ""
}

// mean returns the mean power of a section as it is played.
func (f *found) mean(i int) int64 {
	sum, bars := int64(0), int64(0)
	for k, u := range f.lines[i].Units {
		n := int64(f.units[i][k].last - f.units[i][k].first + 1)
		sum += u.Played / 64 * n // 64: room for the longest section
		bars += n
	}
	return sum / max(bars, 1) * 64
}

// asked returns the mean of the ranges of a section; false where it has none.
func (f *finding) asked(i int) (low, high form.Power, ok bool) {
	s := f.track.Sections[i]
	if f.r.Sections[i].Energy.IsZero() || s.Course != players.InRange {
		return 0, 0, false
	}
	var bars form.Power
	for k := range s.Units {
		n := form.Power(f.units[i][k].last - f.units[i][k].first + 1)
		l, h := f.limits(s, k)
		low, high, bars = low+l/64*n, high+h/64*n, bars+n
	}
	return low / max(bars, 1) * 64, high / max(bars, 1) * 64, true
}

func (f *finding) rangeText(low, high form.Power) string {
	return percentText(low.Share(f.scale.full)) + " to " + percentText(high.Share(f.scale.full))
}

// sectionTexts names sections as spans do: with their numbers where there are several of a name.
func sectionTexts(sections []SectionSpec) []string {
	of := sectionsByName{}
	for i, s := range sections {
		of.add(s.Name, i)
	}
	out := make([]string, len(sections))
	for name, all := range of {
		for nth, i := range all {
			if out[i] = name; len(all) > 1 {
				out[i] = fmt.Sprintf("%s %d", name, nth+1)
			}
		}
	}
	return out
}

// percentText writes tenths of a percent in whole percent.
func percentText(tenths int) string { return fmt.Sprintf("%d %%", (tenths+5)/10) }

// leadOut are the last bars of a section that are left to what leads out of it, where it has more.
const leadOut = 4

// besideCourse is how far beside what its players come to a unit of a section may lie that rises or falls, in tenths of a
// dB. Common practice, no source.
const besideCourse = 25

// ranges returns how strong the units of the sections are to be; of one that rises or falls, as strong as its players are.
// heard is the song as it is lined up. Where it is silent, nothing is asked for.
func (f *found) ranges(heard form.Energy) moves.Energies {
	var out moves.Energies
	for i, sec := range f.sections {
		if !f.asks[i] {
			continue
		}
		bars := sec.Bars
		if bars > leadOut {
			bars -= leadOut
		}
		s := f.track.Sections[i]
		for k, u := range f.units[i] {
			if u.first >= bars {
				break
			}
			e := moves.Energy{First: sec.Bar + u.first, Last: sec.Bar + min(u.last, bars-1)}
			if e.Planned = heard.Mean(e.First, e.Last).Sum(); e.Planned.Silent() {
				continue
			}
			if s.Course == players.InRange {
				e.Low, e.High = f.limits(s, k)
			} else {
				e.Low, e.High = e.Planned.Times(-besideCourse), e.Planned.Times(besideCourse)
			}
			out = append(out, e)
		}
	}
	return out
}

// limits returns the range of a unit as powers.
func (f *found) limits(s players.Section, k int) (low, high form.Power) {
	at := func(v int) int64 { return f.scale.Power(v) }
	if s.Against > 0 {
		of := f.mean(s.Against - 1)
		at = func(v int) int64 { return f.scale.Times(of, v) }
	}
	return max(form.Power(at(s.Units[k].Low)), 1), max(form.Power(at(s.Units[k].High)), 1)
}

// checkEnergies measures the sections again, after the last move, and tells which are off by more than the review lets
// pass.
func (s *stepping) checkEnergies(f *found) {
	if len(s.env.Energies) == 0 {
		return
	}
	heard, err := s.env.Heard.Again(s.song)
	if err != nil {
		return // the line-up was measured: there is none
	}
	s.env.Heard = heard
	entry, _ := review.Lookup("energy")
	rule := entry.New().(*review.EnergyKept)
	for i, sec := range f.sections {
		if want, ok := s.env.Energies.In(sec.Bar, sec.Bar+sec.Bars-1); ok {
			now := heard.Mean(want.First, want.Last).Sum()
			if rule.Off(want, now) != 0 {
				s.tell(fmt.Sprintf("%s, bars %d-%d: with its moves it comes to %s of full, its players to %s", f.names[i], want.First, want.Last,
					percentText(now.Share(f.scale.full)), percentText(want.Planned.Share(f.scale.full))))
			}
		}
	}
}

// energyMistakes notes what is wrong with the energies of a recipe that was not read from a file.
func (a *order) energyMistakes() {
	if a.r.lines != nil {
		return
	}
	for i, s := range a.r.Sections {
		var bad *option.Mistake
		if errors.As(s.Energy.bad, &bad) {
			a.optionMistake(bad, fmt.Sprintf("sections[%d].energy", i+1), func(int) spot { return spot{} })
		}
		if s.Energy.IsZero() && !s.Add.IsZero() {
			a.fail(spot{}, Error{Path: fmt.Sprintf("sections[%d]", i+1), Found: `"add" without "energy"`, Want: "an energy beside it, or the parts in play"})
		}
	}
	if len(a.errs) == 0 {
		a.checkEnergies(a.r.Sections)
	}
}
