package study

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// reader reads a song into a study.
type reader struct {
	*Study
	song   song.Song
	st     form.Structure
	voices []voice
}

// voice is a part of the song that a recipe speaks of.
type voice struct {
	song.Part
	word   string
	lined  []bool // for each bar, from 0: a line-up has it play
	apart  bool   // moves play it, not line-ups: crashes that are struck here and there, a drone
	rare   bool   // it plays in less than a phrase of the song: no line-up names it
	usual  []song.Note
	struck []song.Note // its notes, and those of its keys that belong to the skeleton of a break
	kin    []int       // the voices these belong to
	median int         // of its velocities
	full   float64     // level of its loudest phrase
}

// setVoices lists the parts and where they sound. Triggers sound wherever anything does and are left out.
func (r *reader) setVoices() {
	apart := make([]bool, len(r.song.Parts))
	lined := r.song // what line-ups speak of
	lined.Parts = slices.Clone(lined.Parts)
	for i, p := range r.song.Parts {
		// A crash that is struck in a quarter of the bars at most, and a drone, are what moves add.
		if apart[i] = p.Role == song.RoleDrone || p.Role == song.RoleCrash && 4*len(p.Notes) <= r.Bars; apart[i] {
			lined.Parts[i].Role, lined.Parts[i].Job = song.RoleTrigger, song.NoJob // in no role, job or group
		}
	}
	word := words{lined, map[string][]int{}}
	for i, p := range r.song.Parts {
		if p.Role == song.RoleTrigger || len(p.Notes) == 0 {
			continue
		}
		v := voice{Part: p, word: word.wordFor(i), lined: make([]bool, r.Bars), usual: r.st.Usual.Parts[i].Notes}
		for b, bar := range r.st.Bars {
			v.lined[b] = slices.Contains(bar.Parts, i)
		}
		v.apart = apart[i]
		var velocities []int
		for _, n := range p.Notes {
			velocities = append(velocities, int(n.Vel))
		}
		slices.Sort(velocities)
		v.median = velocities[len(velocities)/2]
		v.full = 1
		for bar := 1; bar <= r.Bars; bar += r.Phrase {
			v.full = max(v.full, r.level(&v, bar, min(bar+r.Phrase-1, r.Bars)))
		}
		v.struck = p.Notes
		r.voices = append(r.voices, v)
		r.Lines = append(r.Lines, Line{Word: v.word, Name: p.Name, Playing: slices.Clone(v.lined)})
	}
	r.setKin()
}

// setKin joins what is struck on a key and was told apart by its places in the bar.
func (r *reader) setKin() {
	for k := range r.voices {
		v := &r.voices[k]
		keys := map[uint8]bool{}
		for _, n := range v.Notes {
			keys[n.Key] = true
		}
		for j := range r.voices {
			w := &r.voices[j]
			if j == k || !v.Kit || !w.Kit || w.Track != v.Track || w.Channel != v.Channel {
				continue
			}
			joined := slices.Clip(v.struck) // the notes of the part stay as they are
			for _, n := range w.Notes {
				if keys[n.Key] {
					joined = append(joined, n)
				}
			}
			if len(joined) > len(v.struck) {
				v.struck, v.kin = joined, append(v.kin, j)
			}
		}
		if len(v.kin) > 0 {
			slices.SortStableFunc(v.struck, func(a, b song.Note) int { return cmp.Compare(a.Start, b.Start) })
		}
	}
}

// words finds the words of a recipe that mean the parts of a song.
type words struct {
	song song.Song
	nth  map[string][]int // of a role or a job: the parts that its numbers mean, from 1
}

// wordFor returns the shortest word of a recipe that means a part by what it is, not by its name.
func (w words) wordFor(part int) string {
	p := w.song.Parts[part]
	kinds := []string{string(p.Role), string(p.Job)}
	switch {
	case p.Role == song.RoleTrigger:
		return p.Name
	case p.Role == song.RoleUnknown || p.Pitched():
		kinds = kinds[1:]
	}
	for _, kind := range kinds {
		if got, ok := w.means(kind); ok && got == part {
			return kind
		}
		if i := slices.Index(w.numbered(kind), part); i >= 0 {
			return fmt.Sprintf("%s %d", kind, i+1)
		}
	}
	return where.PartText(w.song, part)
}

// means returns the one part that a word means; false where it means none or several.
func (w words) means(word string) (int, bool) {
	parts, err := where.ParseParts(word)
	if err != nil {
		return 0, false
	}
	got, err := parts.Resolve(w.song)
	if err != nil || len(got) != 1 {
		return 0, false
	}
	return got[0], true
}

// numbered returns the parts that a role or a job with a number means.
func (w words) numbered(kind string) []int {
	list, known := w.nth[kind]
	if !known {
		list = where.Numbered(w.song, kind)
		w.nth[kind] = list
	}
	return list
}

// fillRests has a voice play on where it rests by its own pattern: a bar of a phrase in which it is silent in
// three of four of the phrases that it plays in.
func (r *reader) fillRests(v *voice) {
	silent, active := make([]int, r.Phrase), make([]int, r.Phrase)
	each := func(f func(first, last int)) { // phrases, counted back from the end of each section as the loop is
		for _, sec := range r.Sections {
			for last := min(sec.Bar+sec.Bars-1, r.Bars); last >= sec.Bar; last -= r.Phrase {
				first := max(last-r.Phrase+1, sec.Bar)
				if slices.Contains(v.lined[first-1:last], true) {
					f(first, last)
				}
			}
		}
	}
	each(func(first, last int) {
		for b := first; b <= last; b++ {
			active[last-b]++
			if !v.lined[b-1] {
				silent[last-b]++
			}
		}
	})
	each(func(first, last int) {
		for b := first; b <= last; b++ {
			if p := last - b; active[p] > 1 && 4*silent[p] >= 3*active[p] {
				v.lined[b-1] = true
			}
		}
	})
}

// setRare finds the parts that play in less than a phrase, or an eighth of the song where that is less; unless all do.
func (r *reader) setRare() {
	least := min(r.Phrase, r.Bars/8)
	some := false
	for k := range r.voices {
		v := &r.voices[k]
		plays := 0
		for _, in := range v.lined {
			if in {
				plays++
			}
		}
		v.rare = plays < least
		some = some || v.inLineUps()
	}
	for k := range r.voices {
		r.voices[k].rare = r.voices[k].rare && some
	}
}

// run is a stretch of bars of a section, counted inside it from 1.
type run struct{ first, last int }

// text writes a run for a line-up of a section of so many bars.
func (r run) text(bars int) string {
	text := ""
	if r.first > 1 {
		text += fmt.Sprintf(" from %d", r.first)
	}
	if r.last < bars {
		text += fmt.Sprintf(" to %d", r.last)
	}
	return text
}

// runs returns where a voice plays in a section.
func (v *voice) runs(sec Section) []run {
	var out []run
	for b := 1; b <= sec.Bars; b++ {
		if at := sec.Bar + b - 2; at >= len(v.lined) || !v.lined[at] {
			continue
		}
		if n := len(out); n > 0 && out[n-1].last == b-1 {
			out[n-1].last = b
		} else {
			out = append(out, run{b, b})
		}
	}
	return out
}

// mostRuns is how many times a part comes in in a section before its rests are told as moves.
const mostRuns = 3

// lineUp writes the line-up of a section. Where a part comes in too often, its rests of phrases become moves, and
// shorter ones are its own pattern.
func (r *reader) lineUp(i int) {
	sec := &r.Sections[i]
	runs := make([][]run, len(r.voices))
	for k := range r.voices {
		v := &r.voices[k]
		if v.apart {
			continue
		}
		if runs[k] = v.runs(*sec); v.rare {
			for _, run := range runs[k] {
				sec.Plays = append(sec.Plays, v.ifAny()+run.text(sec.Bars))
			}
			continue
		}
		if all := runs[k]; len(all) >= mostRuns && everyOther(all) {
			r.mute(i, v, everyOtherBar(all, sec.Ref))
			runs[k] = []run{{all[0].first, all[len(all)-1].last}}
		}
		for _, step := range []int{max(r.Phrase/2, 1), r.Phrase} {
			if len(runs[k]) > mostRuns+1 {
				runs[k] = smoothed(runs[k], step, sec.Bars)
			}
		}
		if all := runs[k]; len(all) > mostRuns {
			var rests []string
			for n := 1; n < len(all); n++ {
				rests = append(rests, barsText(all[n-1].last+1, all[n].first-1)+" of "+sec.Ref)
			}
			r.mute(i, v, rests)
			runs[k] = []run{{all[0].first, all[len(all)-1].last}}
		}
		for _, run := range runs[k] {
			sec.Plays = append(sec.Plays, v.ifAny()+run.text(sec.Bars))
		}
	}
	sec.LineUp = r.forAnyLoop(sec.Bars, runs)
}

// smoothed has a part play in all of a stretch of some bars, counted from the section's start, or in none of it, as
// it does in half of its bars or not.
func smoothed(runs []run, step, bars int) []run {
	var out []run
	for first := 1; first <= bars; first += step {
		last, plays := min(first+step-1, bars), 0
		for _, run := range runs {
			plays += max(0, min(run.last, last)-max(run.first, first)+1)
		}
		switch n := len(out); {
		case 2*plays < last-first+1:
		case n > 0 && out[n-1].last == first-1:
			out[n-1].last = last
		default:
			out = append(out, run{first, last})
		}
	}
	return out
}

// mostSilent is how many parts of jobs that play an item of a line-up leaves out by name: an item is a sentence, and a
// sentence has 256 words at most. Where there are more, those that play are named.
const mostSilent = 40

// forAnyLoop writes a line-up for a loop of any parts: those that the song has play where they do, and others
// where their job does, or where the song has no such job, what is next to it.
func (r *reader) forAnyLoop(bars int, runs [][]run) []string {
	jobs := song.Jobs()
	when := map[song.Job][]run{} // by job, when any part of it plays
	for _, job := range jobs {
		if from, ok := r.followed(job); ok {
			when[job] = r.together(from, bars, runs)
		}
	}
	whole := func(list []run) bool { return len(list) == 1 && list[0] == run{1, bars} }
	texts := func(word string, list []run) []string {
		var out []string
		for _, run := range list {
			out = append(out, word+run.text(bars))
		}
		return out
	}
	silent := map[string]bool{}
	for k := range r.voices {
		silent[r.voices[k].word] = len(runs[k]) == 0
	}
	crowd := 0 // parts that are silent though their jobs play
	for k := range r.voices {
		if v := &r.voices[k]; v.inLineUps() && silent[v.word] && len(when[v.Job]) > 0 {
			crowd++
		}
	}
	odd := func(job song.Job) bool { // a part is silent though its job plays, and not all the time; or too many are
		return len(when[job]) > 0 && (!whole(when[job]) || crowd > mostSilent) && slices.ContainsFunc(r.voices, func(v voice) bool {
			return v.Job == job && v.inLineUps() && silent[v.word]
		})
	}
	var but, items []string
	for _, group := range []string{"drums", "music"} {
		var silent []string
		n := 0
		for _, job := range jobs {
			if (song.Part{Job: job}).InGroup(group) {
				if n++; len(when[job]) == 0 {
					silent = append(silent, string(job))
				}
			}
		}
		if len(silent) == n {
			silent = []string{group}
		}
		but = append(but, silent...)
	}
	said := map[song.Job]bool{}
	for _, group := range []string{"drums", "music"} {
		members := slices.DeleteFunc(slices.Clone(jobs), func(j song.Job) bool { return !(song.Part{Job: j}).InGroup(group) })
		if runs := when[members[0]]; len(runs) > 0 && !whole(runs) && !slices.ContainsFunc(members, func(j song.Job) bool { return odd(j) || !slices.Equal(when[j], runs) }) {
			items = append(items, texts(group, runs)...)
			for _, j := range members {
				said[j] = true
			}
		}
	}
	for _, job := range jobs {
		if len(when[job]) == 0 {
			continue
		}
		if odd(job) {
			but = append(but, string(job))
		} else if !whole(when[job]) && !said[job] {
			items = append(items, texts(string(job), when[job])...)
		}
		for k := range r.voices {
			v := &r.voices[k]
			switch {
			case v.Job != job || !v.inLineUps() || !odd(job) && slices.Equal(runs[k], when[job]):
			case len(runs[k]) == 0 && !odd(job):
				but = append(but, v.word)
			default:
				items = append(items, texts(v.ifAny(), runs[k])...)
			}
		}
	}
	if slices.Contains(but, "drums") && slices.Contains(but, "music") {
		return nil
	}
	all := "all"
	if len(but) > 0 {
		all += " but " + strings.Join(but, " and ") + " if any"
	}
	return append([]string{all}, items...)
}

// followed returns the job whose parts say when those of a job play: itself, else the first next to it that is there.
func (r *reader) followed(job song.Job) (song.Job, bool) {
	for _, j := range append([]song.Job{job}, nextTo(job)...) {
		if slices.ContainsFunc(r.voices, func(v voice) bool { return v.Job == j && v.inLineUps() }) {
			return j, true
		}
	}
	return job, false
}

// tellJoining tells where parts of a loop play that the song has nothing like.
func (r *reader) tellJoining() {
	var joining []string
	for _, job := range song.Jobs() {
		if with, ok := r.followed(job); ok && with != job {
			joining = append(joining, fmt.Sprintf("%s where %s does", job, with))
		}
	}
	if len(joining) > 0 {
		r.Told = append(r.Told, "of a loop, what is not heard here plays "+strings.Join(joining, ", "))
	}
}

// nextTo returns the jobs that are like a job, the likest first; common practice, no source.
func nextTo(job song.Job) []song.Job {
	switch job {
	case song.JobBackbeat:
		return []song.Job{song.JobBeat, song.JobPerc, song.JobTops}
	case song.JobTops:
		return []song.Job{song.JobPerc, song.JobBackbeat, song.JobBeat}
	case song.JobPerc:
		return []song.Job{song.JobTops, song.JobBackbeat, song.JobBeat}
	case song.JobBed:
		return []song.Job{song.JobExtra, song.JobHook, song.JobBass}
	case song.JobHook, song.JobExtra:
		return []song.Job{song.JobHook, song.JobExtra, song.JobBed, song.JobBass}
	}
	return nil
}

// together returns when any part of a job plays in a section.
func (r *reader) together(job song.Job, bars int, runs [][]run) []run {
	plays := voice{lined: make([]bool, bars)}
	for k := range r.voices {
		if r.voices[k].Job == job && r.voices[k].inLineUps() {
			for _, run := range runs[k] {
				for b := run.first; b <= run.last; b++ {
					plays.lined[b-1] = true
				}
			}
		}
	}
	return plays.runs(Section{HeardSection: form.HeardSection{Section: song.Section{Bar: 1, Bars: bars}}})
}

// mute tells that a part is out now and then in a section.
func (r *reader) mute(i int, v *voice, over []string) {
	r.add(i, v.word+" now and then", "mute", Option{"part", v.ifAny()}, Option{"over", listText(over)})
}

// everyOther tells whether between runs every other bar is a rest, in one stretch or several of two rests or more.
func everyOther(runs []run) bool {
	if runs[0].first != runs[0].last && len(runs) == mostRuns {
		return false
	}
	for k := 1; k < len(runs); k++ {
		next := k+1 < len(runs) && runs[k].first == runs[k].last // a rest that belongs to this stretch follows
		before := k > 1 && runs[k-1].first == runs[k-1].last
		if runs[k].first != runs[k-1].last+2 || !next && !before {
			return false
		}
	}
	return true
}

// everyOtherBar writes the stretches in which every other bar is a rest.
func everyOtherBar(runs []run, ref string) []string {
	var out []string
	first := runs[0].last
	for k := 1; k < len(runs); k++ {
		if k+1 == len(runs) || runs[k].first != runs[k].last {
			out = append(out, fmt.Sprintf("every other bar of bars %d-%d of %s", first, runs[k].first-1, ref))
			first = runs[k].last
		}
	}
	return out
}

func (v *voice) inLineUps() bool { return !v.apart && !v.rare }

func (v *voice) ifAny() string { return v.word + " if any" }

func barsText(first, last int) string {
	if first == last {
		return fmt.Sprintf("bar %d", first)
	}
	return fmt.Sprintf("bars %d-%d", first, last)
}

func listText(texts []string) string {
	if len(texts) == 1 {
		return texts[0]
	}
	return "[" + strings.Join(texts, ", ") + "]"
}
