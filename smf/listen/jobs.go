package listen

import (
	"cmp"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// jobs gives every voice its job. A job that a recipe gave stays, and no second bed or hook is looked
// for beside it.
func (h *hearing) jobs() {
	leaders := make([]*voice, h.groups+1) // the first voice of each instrument
	var contest []*contestant
	for _, v := range h.voices {
		v.tune, v.Turn = "", 0
		if !v.jobGiven && !v.jobFixed {
			v.Job = v.plainJob()
		}
		if v.group != 0 && leaders[v.group] != nil {
			continue
		}
		leaders[v.group] = v
		if v.mayBeTune() {
			contest = append(contest, h.contestant(v))
		}
	}
	ranking := h.rank(contest)
	h.hookAndBed(ranking)
	for _, v := range h.voices {
		if l := leaders[v.group]; v.group != 0 && l != v && !v.jobGiven && !v.jobFixed && v.Role == l.Role {
			v.Job, v.tune = l.Job, l.tune
		}
	}
	h.turns(ranking)
}

// plainJob returns the job of a voice that its role says, extra where it may also be the hook or the bed.
func (v *voice) plainJob() song.Job {
	switch {
	case v.whole && v.Role == song.RoleUnknown:
		return song.JobBeat
	case v.Role == song.RoleTrigger || v.Role.Drum() || v.Role.Job() == song.JobBass:
		return v.Role.Job()
	case v.Role == song.RoleUnknown && v.low():
		return song.JobBass
	}
	return song.JobExtra
}

// mayBeTune tells whether a voice has pitches and is no bass; a recipe may have given it a job.
func (v *voice) mayBeTune() bool {
	return (v.Job == song.JobExtra || v.Job == song.JobHook || v.Job == song.JobBed) && v.Role != song.RoleFX && v.Role != song.RoleTrigger && !v.Role.Drum()
}

// low tells whether a voice whose role is not known plays as low as a bass.
func (v *voice) low() bool {
	keys := make([]uint8, len(v.Notes))
	for i, n := range v.Notes {
		keys[i] = n.Key
	}
	slices.Sort(keys)
	return len(keys) > 0 && keys[len(keys)/2] <= lowE
}

// hookAndBed gives the jobs of those who are ranked and have none from a recipe: the first is the hook, and of the
// others the one with the longest median note is the bed, if that is a beat or more; of equals the first. Vocals
// are no bed. What doubles the hook or the bed has the same job.
func (h *hearing) hookAndBed(ranking []*contestant) {
	var rest []*contestant
	var bed, hook bool
	for _, c := range ranking {
		bed, hook = bed || c.Job == song.JobBed, hook || c.Job == song.JobHook
		if !c.jobGiven && !c.jobFixed {
			rest = append(rest, c)
		}
	}
	if !hook && len(rest) > 0 {
		rest = h.give(song.JobHook, rest[0], rest)
	}
	if bed {
		return
	}
	var longest *contestant
	for _, c := range rest {
		if c.Role != song.RoleVocal && c.habits.length2 >= 2*c.habits.beat && (longest == nil || c.habits.length2 > longest.habits.length2) {
			longest = c
		}
	}
	if longest != nil && len(ranking) > 1 {
		h.give(song.JobBed, longest, rest)
	}
}

// give gives a job to one of several and to what doubles it, and returns those who are left.
func (h *hearing) give(job song.Job, to *contestant, among []*contestant) (left []*contestant) {
	for _, c := range among {
		if c == to || c.doubles(to, h.time) {
			c.Job = job
		} else {
			left = append(left, c)
		}
	}
	return left
}

// turns numbers the extra parts: pitched ones as they are ranked, then the others in their order. What only a later loop
// has comes after what those before it have, in every job.
func (h *hearing) turns(ranking []*contestant) {
	turn, loops := 0, 0
	for _, v := range h.voices {
		loops = max(loops, v.loop)
		if v.Job != song.JobExtra {
			v.Turn = v.loop
		}
	}
	next := func(v *voice, loop int) {
		if v.Job == song.JobExtra && v.Turn == 0 && v.loop == loop {
			turn++
			v.Turn = turn
		}
	}
	for loop := range loops + 1 {
		for _, c := range ranking {
			next(c.voice, loop)
		}
		for _, v := range h.voices {
			next(v, loop)
		}
	}
}

// contestant is a pitched part that may be the hook.
type contestant struct {
	*voice
	notes  []song.Note // of its whole instrument
	habits habits
	score  int // as a tune, in thousandths
}

func (h *hearing) contestant(v *voice) *contestant {
	notes := h.together(v)
	if v.habits == nil {
		m := measure(notes, v.cycle, h.time)
		v.habits = &m
	}
	return &contestant{voice: v, notes: notes, habits: *v.habits}
}

// rank scores the contestants and puts the best tune first; of equals the one with the shorter notes, then the
// first. Each is told why.
func (h *hearing) rank(contest []*contestant) []*contestant {
	loudest := 1
	for _, c := range contest {
		loudest = max(loudest, h.levelOf(c))
	}
	rising := slices.Clone(contest)
	slices.SortStableFunc(rising, func(a, b *contestant) int { return a.habits.compareKeys(b.habits) })
	below := 0
	for i, c := range rising {
		if i > 0 && rising[i-1].habits.compareKeys(c.habits) < 0 {
			below = i
		}
		t := tune{tops: c.habits.tops, below: below, others: len(contest) - 1, level: 1000 * h.levelOf(c) / loudest, held: c.isHeld(), sparse: c.habits.sparse(), named: c.named}
		if c.habits.either > 0 {
			t.again = 1000 * c.habits.again / c.habits.either
		}
		c.score, c.voice.tune = t.score(), t.String()
	}
	ranking := slices.Clone(contest)
	slices.SortStableFunc(ranking, func(a, b *contestant) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(a.habits.length2, b.habits.length2))
	})
	return ranking
}

// isHeld tells whether it holds notes beneath a tune: its role says so, or its median note lasts two beats or longer.
func (c *contestant) isHeld() bool {
	return c.Role == song.RolePad || c.Role == song.RoleStrings || c.Role == song.RoleDrone || c.habits.beat > 0 && c.habits.length2 >= 4*c.habits.beat
}

// levelOf returns how loud a contestant plays: its mean velocity times volume and expression (controllers 7
// and 11, MIDI 1.0 table 3) as its track sets them at its first note.
func (h *hearing) levelOf(c *contestant) int {
	if len(c.notes) == 0 {
		return 0
	}
	volume, _ := song.Controller(7).Default()
	expression, _ := song.Controller(11).Default()
	for _, e := range h.song.Tracks[c.Track].Events {
		if e.Tick > c.notes[0].Start {
			break
		}
		if e.Kind() == 0xB0 && e.Chan() == c.Channel {
			switch e.Data1() {
			case 7:
				volume = int(e.Data2())
			case 11:
				expression = int(e.Data2())
			}
		}
	}
	velocity := 0
	for _, n := range c.notes {
		velocity += int(n.Vel)
	}
	return velocity * volume * expression / len(c.notes)
}

// doubles tells whether two play one line, in unison or octaves: nine of ten pitches of each are struck together
// with one of the other an octave or more apart or none, less than a 1/64 note from it, and their notes last about
// as long.
func (c *contestant) doubles(other *contestant, tl *smf.Timeline) bool {
	if a, b := c.habits.length2, other.habits.length2; 5*max(a-b, b-a) >= max(a, b) {
		return false
	}
	mine, its := onsetsOf(c.notes, tl), onsetsOf(other.notes, tl)
	return within(mine, its, tl) && within(its, mine, tl)
}

// together returns the notes of a voice and of those of its instrument, in order.
func (h *hearing) together(v *voice) []song.Note {
	if v.group == 0 {
		return v.Notes
	}
	var notes []song.Note
	for _, w := range h.voices {
		if w.group == v.group {
			notes = append(notes, w.Notes...)
		}
	}
	slices.SortStableFunc(notes, song.CompareNotes)
	return notes
}
