package study

import (
	"fmt"
	"slices"
	"sort"

	"loopdraft/smf/song"
)

// read reads what goes on in each section: what grows towards its end, which no line-up shows and which is
// taken out of it, then what leaves before its end, then the line-ups.
func (r *reader) read() {
	growing := make([]map[*voice]bool, len(r.Sections))
	for i := range r.Sections {
		growing[i] = r.growing(i)
	}
	for k := range r.voices {
		r.fillRests(&r.voices[k])
	}
	r.setRare()
	for i := range r.Sections {
		r.leaving(i, growing[i])
		kept := r.Sections[i].Moves // of the way to what follows: they come last
		r.Sections[i].Moves = nil
		r.lineUp(i)
		r.levels(i, kept)
		r.Sections[i].Moves = append(r.Sections[i].Moves, kept...)
	}
	r.rides()
	r.drones()
	r.crashes()
	r.tellJoining()
}

// lineAfter returns the bar after a section and its tick, false where the song ends there.
func (r *reader) lineAfter(i int) (int, song.Tick, bool) {
	line := r.Sections[i].Bar + r.Sections[i].Bars
	return line, r.song.Time().BarStart(line), line <= r.Bars
}

// growing finds rolls and swells towards the end of a section, and returns whose they are. The skeleton of a
// break is looked at last: what it has of a roll belongs to the drum.
func (r *reader) growing(i int) map[*voice]bool {
	out := map[*voice]bool{}
	_, end, ok := r.lineAfter(i)
	for _, beat := range []bool{false, true} {
		for k := range r.voices {
			v := &r.voices[k]
			in := r.before(v.Notes, r.Sections[i].Bar, end)
			if !ok || v.apart || len(in) == 0 || (v.Job == song.JobBeat) != beat {
				continue
			}
			kin := slices.ContainsFunc(v.kin, func(j int) bool { return out[&r.voices[j]] })
			if kin || v.Kit && r.roll(i, v, r.before(v.struck, r.Sections[i].Bar, end), end) || r.swell(i, v, in, end) {
				out[v] = true
			}
		}
	}
	return out
}

// leaving finds who is silent before the end of a section, and fills.
func (r *reader) leaving(i int, growing map[*voice]bool) {
	sec := &r.Sections[i]
	line, end, ok := r.lineAfter(i)
	if !ok {
		return
	}
	gap := r.gap(sec.Bar, line)
	if gap > 0 {
		r.add(i, "gap", "mute", Option{"part", "all"}, Option{"over", r.lastText(gap, line) + " of " + sec.Ref})
	}
	var fillers, others []*voice
	for k := range r.voices {
		v := &r.voices[k]
		in := r.before(v.Notes, sec.Bar, end)
		if v.apart || len(in) == 0 || growing[v] {
			continue
		}
		switch {
		case v.Kit && (v.Job == song.JobBackbeat || v.Job == song.JobPerc):
			fillers = append(fillers, v)
		case v.Kit:
			others = append(others, v)
		}
		r.out(i, v, in, end, gap)
	}
	if len(fillers) == 0 {
		fillers = others
	}
	r.fill(i, line, fillers)
}

func (r *reader) add(i int, heard, move string, options ...Option) {
	r.Sections[i].Moves = append(r.Sections[i].Moves, Move{heard, move, options})
}

// before returns the notes of the last bars before a line, of the section, 16 at most.
func (r *reader) before(notes []song.Note, firstBar int, end song.Tick) []song.Note {
	tl := r.song.Time()
	start := tl.BarStart(max(firstBar, tl.BarOf(end)-16))
	return notes[r.song.Before(notes, start):r.song.Before(notes, end)]
}

// gap returns for how long everything rests before a line that usually does not: from a beat up to two bars,
// else 0.
func (r *reader) gap(first, line int) song.Tick {
	tl := r.song.Time()
	end, beat := tl.BarStart(line), tl.BeatTicks(line-1)
	last := tl.BarStart(max(first, line-2))
	for _, v := range r.voices {
		for _, n := range r.before(v.Notes, first, end) {
			until := n.End
			if !v.Pitched() {
				until = min(until, n.Start+tl.PPQ()/4) // a drum is struck
			}
			last = max(last, min(until, end))
		}
	}
	planned := end
	for _, v := range r.voices {
		if k := firstFrom(v.usual, last); k < len(v.usual) {
			planned = min(planned, v.usual[k].Start)
		}
	}
	if gap := end - planned; 8*gap >= 7*beat && gap < 2*tl.BarTicks(line-1) {
		return gap
	}
	return 0
}

// lastText writes the last stretch before a line in bars, beats or note values.
func (r *reader) lastText(t song.Tick, line int) string {
	tl := r.song.Time()
	bar, beat := tl.BarTicks(line-1), tl.BeatTicks(line-1)
	plural := func(n song.Tick, unit string) string {
		if n == 1 {
			return "last 1 " + unit
		}
		return fmt.Sprintf("last %d %ss", n, unit)
	}
	switch {
	case t >= bar && 8*(t%bar) < bar:
		return plural(t/bar, "bar")
	case 2*t >= 2*beat-beat/2:
		return plural(max((t+beat/2)/beat, 1), "beat")
	case 4*t >= 3*beat/2:
		return "last 1/8"
	}
	return "last 1/16"
}

// roll finds hits of one drum that get closer or louder towards a line: in each quarter as many as in the one
// before or twice, four times as many, the off-beats late or not. The beat that goes on and has hits between
// its own at last is doubled.
func (r *reader) roll(i int, v *voice, in []song.Note, end song.Tick) bool {
	const leastHits = 8
	tl := r.song.Time()
	line := tl.BarOf(end)
	bar, beat := tl.BarTicks(line-1), max(tl.PPQ(), 1)
	hits := make([][]song.Note, (end-tl.BarStart(max(line-16, r.Sections[i].Bar)))/beat) // by quarter, the last first
	for _, n := range in {
		if b := int((end - r.song.Counted(n.Start) - 1) / beat); b < len(hits) {
			hits[b] = append(hits[b], n)
		}
	}
	last := slices.IndexFunc(hits, func(h []song.Note) bool { return len(h) > 0 })
	if last+1 < len(hits) && len(hits[last]) < len(hits[last+1]) {
		last++ // a gap within the quarter
	}
	if last < 0 || song.Tick(last)*beat > bar {
		return false
	}
	first, count := last, 0
	for b := last; b < len(hits) && isPower(len(hits[b])) && len(hits[b]) <= len(hits[first]) && r.even(hits[b], end-song.Tick(b+1)*beat); b++ {
		if b > last && 5*int(hits[b][0].Vel) > 6*int(hits[first][0].Vel)+30 {
			break // it was louder before
		}
		first, count = b, count+len(hits[b])
	}
	closer := len(hits[last]) >= 2*len(hits[first])
	final := hits[last][len(hits[last])-1]
	louder := 2*int(min(hits[last][0].Vel, final.Vel)) >= 3*int(hits[first][0].Vel)
	if v.Job == song.JobBeat && closer && !louder && len(hits[last]) == 2 && len(hits[first]) == 1 {
		for len(hits[first]) == 1 {
			first--
		}
		r.add(i, v.word+" doubled", "double", Option{"part", v.ifAny()}, Option{"over", r.lastText(song.Tick(first+1)*beat, line) + " of " + r.Sections[i].Ref})
		return true
	}
	from := end - song.Tick(first+1)*beat
	if count < leastHits || !closer && (!louder || r.usualIn(v, from, end) >= count) || r.playedBefore(v.struck, from, end) {
		return false
	}
	bars := max(int((end-from+bar/2)/bar), 1)
	r.takeOut(v, line-bars, line)
	for _, k := range v.kin {
		if w := &r.voices[k]; len(r.song.In(w.Part, r.song.BarRange(line-bars, line-1))) > 0 && r.onlyKeysOf(w, v, line-bars, line-1) {
			r.takeOut(w, line-bars, line)
		}
	}
	r.add(i, "roll on "+v.word, "roll", Option{"part", v.ifAny()}, Option{"over", r.lastText(song.Tick(bars)*bar, line) + " of " + r.Sections[i].Ref},
		Option{"from", noteValue(len(hits[first]))}, Option{"to", noteValue(len(hits[last]))},
		Option{"velocity", fmt.Sprintf("%s..%s", r.share(v, hits[first][0].Vel), r.share(v, final.Vel))})
	return true
}

// onlyKeysOf tells whether all that a voice strikes in bars is on keys of another.
func (r *reader) onlyKeysOf(w, v *voice, first, last int) bool {
	return !slices.ContainsFunc(r.song.In(w.Part, r.song.BarRange(first, last)), func(n song.Note) bool {
		return !slices.ContainsFunc(v.Notes, func(m song.Note) bool { return m.Key == n.Key })
	})
}

func isPower(n int) bool { return n > 0 && n&(n-1) == 0 }

// even tells whether hits divide the quarter from a tick on evenly, each at most half a step and half a sixteenth
// late.
func (r *reader) even(hits []song.Note, start song.Tick) bool {
	ppq := r.song.Time().PPQ()
	step := ppq / song.Tick(len(hits))
	for k, n := range hits {
		if late := n.Start - start - song.Tick(k)*step; late < -step/4 || late > min(step/2, ppq/8)+step/8 {
			return false
		}
	}
	return true
}

// usualIn counts the notes a voice usually has in a stretch.
func (r *reader) usualIn(v *voice, start, end song.Tick) int { return countIn(v.usual, start, end) }

// share writes a velocity as a share of the voice's median.
func (r *reader) share(v *voice, vel uint8) string {
	return fmt.Sprintf("%d%%", max(100*int(vel)/max(v.median, 1), 1))
}

// noteValue writes the spacing of so many hits a quarter, 1/32 at least.
func noteValue(hits int) string { return fmt.Sprintf("1/%d", min(max(4*hits, 1), 32)) }

// swell finds a part that grows from soft to full in the last two bars, in which it does not play what it
// usually does.
func (r *reader) swell(i int, v *voice, in []song.Note, end song.Tick) bool {
	tl := r.song.Time()
	line := tl.BarOf(end)
	from := slices.IndexFunc(in, func(n song.Note) bool { return n.Start >= tl.BarStart(max(line-2, r.Sections[i].Bar)) })
	if from < 0 || len(in)-from < 3 {
		return false
	}
	grow := in[from:]
	soft := 0
	for k := range grow {
		if grow[k].Vel < grow[soft].Vel {
			soft = k
		}
	}
	grow = grow[soft:]
	for k := 1; k < len(grow); k++ {
		if int(grow[k].Vel)+4 < int(grow[k-1].Vel) || 10*int(grow[k].Vel) > 19*int(grow[k-1].Vel)+30 {
			return false
		}
	}
	if n := len(grow); n < 3 || 2*int(grow[0].Vel) > v.median || int(grow[n-1].Vel) < 2*int(grow[0].Vel) || end-grow[n-1].Start > tl.BarTicks(line-1) {
		return false
	}
	bars := line - tl.BarOf(grow[0].Start)
	if !r.playsBefore(v, line-bars) {
		r.takeOut(v, line-bars, line)
	}
	r.add(i, "swell on "+v.word, "swell", Option{"part", v.ifAny()}, Option{"over", r.lastText(song.Tick(bars)*tl.BarTicks(line-1), line) + " of " + r.Sections[i].Ref})
	return true
}

// takeOut takes a voice out of the line-up of bars.
func (r *reader) takeOut(v *voice, from, to int) {
	for b := max(from, 1); b < to; b++ {
		v.lined[b-1] = false
	}
}

func (r *reader) playsBefore(v *voice, bar int) bool { return bar > 1 && v.lined[bar-2] }

// fill finds hits of the kit, where there are any without the beat and the tops, that do not usually stand in the
// last bar before a line: three at least.
func (r *reader) fill(i, line int, voices []*voice) {
	tl := r.song.Time()
	bar := r.song.BarRange(line-1, line-1)
	hits, first := 0, bar.End
	var parts []string
	for _, v := range voices {
		added := 0
		for _, n := range r.song.In(v.Part, bar) {
			if !r.isUsual(v, n.Start, line-1) {
				added++
				first = min(first, n.Start)
			}
		}
		if added > 0 {
			parts = append(parts, v.ifAny())
		}
		hits += added
	}
	if hits < 3 {
		return
	}
	length := bar.Len()
	if 2*(bar.End-first) <= length+tl.PPQ()/2 {
		length = length / 2
	}
	r.add(i, "fill", "fill", Option{"part", listText(parts)}, Option{"over", r.lastText(length, line) + " of " + r.Sections[i].Ref})
}

// isUsual tells whether a voice strikes at a place of a bar where it did in one of the two bars before or a phrase
// before, or where it usually does.
func (r *reader) isUsual(v *voice, at song.Tick, bar int) bool {
	tl, grain := r.song.Time(), r.song.Time().PPQ()/16
	for _, before := range []int{bar - 1, bar - 2, bar - r.Phrase} {
		if before < 1 {
			continue
		}
		if was := at - tl.BarStart(bar) + tl.BarStart(before); countIn(v.Notes, was-grain, was+grain+1) > 0 {
			return true
		}
	}
	return r.usualIn(v, at-grain, at+grain+1) > 0
}

// playedBefore tells whether nine of ten notes of a stretch were there a phrase before: then they are a pattern.
func (r *reader) playedBefore(notes []song.Note, start, end song.Tick) bool {
	tl := r.song.Time()
	bar := tl.BarOf(start)
	if bar <= r.Phrase {
		return false
	}
	by, grain := tl.BarStart(bar)-tl.BarStart(bar-r.Phrase), tl.PPQ()/16
	same, all := 0, 0
	for _, n := range notes[firstFrom(notes, start):firstFrom(notes, end)] {
		all++
		if countIn(notes, n.Start-by-grain, n.Start-by+grain+1) > 0 {
			same++
		}
	}
	return 10*same >= 9*all
}

// firstFrom returns the index of the first note that starts at a tick or later.
func firstFrom(notes []song.Note, at song.Tick) int {
	return sort.Search(len(notes), func(i int) bool { return notes[i].Start >= at })
}

func countIn(notes []song.Note, start, end song.Tick) int {
	return firstFrom(notes, end) - firstFrom(notes, start)
}

// out finds a voice that leaves a beat to two bars before a line, and comes back behind it. In a gap everybody
// rests, which is told of all.
func (r *reader) out(i int, v *voice, in []song.Note, end, gap song.Tick) {
	tl := r.song.Time()
	line := tl.BarOf(end)
	sec := r.Sections[i]
	beat, bar := tl.BeatTicks(line-1), tl.BarTicks(line-1)
	// Whole bars: those in which it plays neither now nor by its pattern are a rest of its own.
	bars := 0
	for bars < 2 && bars < sec.Bars && !v.lined[line-2-bars] {
		bars++
	}
	comesBack := line <= len(v.lined) && v.lined[line-1]
	if 1 <= bars && bars < sec.Bars/2 && v.lined[line-2-bars] && (comesBack || v.Job == song.JobBeat || v.Job == song.JobBass) {
		for b := line - bars; b < line; b++ {
			v.lined[b-1] = true
		}
		if 8*gap >= 7*song.Tick(bars)*bar || gap > 0 && r.usualIn(v, tl.BarStart(line-bars), end-gap) == 0 {
			return
		}
		r.add(i, v.word+" out", "mute", Option{"part", v.ifAny()}, Option{"over", r.lastText(song.Tick(bars)*bar, line) + " of " + sec.Ref})
		return
	}
	if bars > 0 || v.Job != song.JobBeat && v.Job != song.JobBass {
		return
	}
	// Within the last bar: its usual notes after the last one that is there.
	last := in[len(in)-1].Start
	next := firstFrom(v.usual, last+tl.PPQ()/16+1)
	if next == len(v.usual) || v.usual[next].Start >= end || end-v.usual[next].Start < beat-beat/8 || end-v.usual[next].Start <= gap+beat/8 {
		return
	}
	r.add(i, v.word+" out", "mute", Option{"part", v.ifAny()}, Option{"over", r.lastText(end-v.usual[next].Start, line) + " of " + sec.Ref})
}
