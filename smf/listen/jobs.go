package listen

import (
	"slices"

	"loopdraft/smf/song"
)

// jobs gives every voice its job. A job that a recipe gave stays, and no second bed or hook is looked
// for beside it.
func (h *hearing) jobs() {
	var contest []*voice
	var bed, hook bool
	leaders := make([]*voice, h.groups+1) // the first voice of each instrument
	for _, v := range h.voices {
		if leaders[v.group] == nil || v.group == 0 {
			leaders[v.group] = v
		}
		switch {
		case v.jobGiven || v.jobFixed:
			bed = bed || v.Job == song.Bed
			hook = hook || v.Job == song.Hook
		case v.whole && v.Role == song.Unknown:
			v.Job = song.Beat
		case v.Role == song.FX || v.Role == song.Vocal:
			v.Job = song.Extra
		case v.Role == song.Trigger || v.Role.Drum() || v.Role.Job() == song.Bass:
			v.Job = v.Role.Job()
		case v.Role == song.Unknown && v.low():
			v.Job = song.Bass
		default:
			v.Job = song.Extra
			if leaders[v.group] == v {
				contest = append(contest, v)
			}
		}
	}
	h.bedAndHook(contest, bed, hook)
	for _, v := range h.voices {
		if l := leaders[v.group]; v.group != 0 && l != v && !v.jobGiven && !v.jobFixed && v.Role == l.Role {
			v.Job = l.Job
		}
	}
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

// bedAndHook finds the bed, of two pitched voices or more the one with the longest median note, if
// that is a beat or more, and the hook, of the others the one with the most onsets a bar; of equals
// the first. bed and hook: there is one already.
func (h *hearing) bedAndHook(contest []*voice, bed, hook bool) {
	heard := make([]habits, len(contest))
	for i, v := range contest {
		if v.habits == nil {
			m := measure(h.together(v), v.cycle, h.time)
			v.habits = &m
		}
		heard[i] = *v.habits
	}
	if !bed && len(contest) > 1 {
		best := 0
		for i := range heard {
			if heard[i].length2 > heard[best].length2 {
				best = i
			}
		}
		if heard[best].length2 >= 2*heard[best].beat {
			contest[best].Job = song.Bed
			contest, heard = slices.Delete(contest, best, best+1), slices.Delete(heard, best, best+1)
		}
	}
	if hook || len(contest) == 0 {
		return
	}
	best := 0
	for i := range heard {
		if heard[i].busier(heard[best]) {
			best = i
		}
	}
	contest[best].Job = song.Hook
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
