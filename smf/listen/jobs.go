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
	for _, v := range h.voices {
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
		default:
			v.Job = song.Extra
			contest = append(contest, v)
		}
	}
	h.bedAndHook(contest, bed, hook)
}

// bedAndHook finds the bed, of two pitched voices or more the one with the longest median note, if
// that is a beat or more, and the hook, of the others the one with the most onsets a bar; of equals
// the first. bed and hook: there is one already.
func (h *hearing) bedAndHook(contest []*voice, bed, hook bool) {
	heard := make([]habits, len(contest))
	for i, v := range contest {
		if v.habits == nil {
			m := measure(v.Notes, v.cycle, h.time)
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
