package moves

import (
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// channels returns the parts of the step by track and channel, without the channels of which a part
// is missing: their controllers are others' too.
func (e *Env) channels(in song.Song) [][]int {
	var out [][]int
	for i, p := range e.Parts {
		first := true
		for _, q := range e.Parts[:i] {
			first = first && !sameChannel(in.Parts[q], in.Parts[p])
		}
		if !first {
			continue
		}
		var named, all []int
		for j := range in.Parts {
			if sameChannel(in.Parts[j], in.Parts[p]) {
				all = append(all, j)
			}
		}
		for _, q := range e.Parts {
			if sameChannel(in.Parts[q], in.Parts[p]) {
				named = append(named, q)
			}
		}
		if len(named) == len(all) {
			out = append(out, named)
		}
	}
	return out
}

// anchor tells whether a part holds the others together.
func anchor(p song.Part) bool {
	return p.Job == song.JobBeat || p.Job == song.JobBackbeat || p.Job == song.JobBass
}

// partNames returns the names of parts.
func partNames(s song.Song, parts []int) []string {
	var names []string
	for _, p := range parts {
		names = append(names, s.Parts[p].Name)
	}
	return names
}

// wholeChannels groups parts by track and channel. A channel of which a part is missing is an error:
// its controllers are everybody's.
func wholeChannels(in song.Song, parts []int) ([][]int, error) {
	var out [][]int
	for i, p := range parts {
		first := slices.IndexFunc(parts[:i], func(q int) bool { return sameChannel(in.Parts[q], in.Parts[p]) })
		if first >= 0 {
			continue
		}
		var all []int
		for j := range in.Parts {
			if sameChannel(in.Parts[j], in.Parts[p]) {
				all = append(all, j)
			}
		}
		for _, j := range all {
			if !slices.Contains(parts, j) {
				return nil, &option.Mistake{
					Option: "part", Found: in.Parts[p].Name,
					Want: "all that share its track and channel: " + namesText(partNames(in, all)),
					Hint: groupOf(in, all),
				}
			}
		}
		out = append(out, all)
	}
	return out, nil
}

// namesText returns names as one says them: a, b and c.
func namesText(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

func sameChannel(p, q song.Part) bool { return p.Track == q.Track && p.Channel == q.Channel }

// groupOf returns the job or group that holds the parts and no others, else a list of them.
func groupOf(s song.Song, parts []int) string {
	var words []string
	for _, j := range song.Jobs() {
		words = append(words, string(j))
	}
	for _, word := range append(words, song.Groups()...) {
		if slices.Equal(where.PartsMeant(s, word), parts) {
			return word
		}
	}
	var names []string
	for _, p := range parts {
		names = append(names, where.PartText(s, p))
	}
	return "[" + strings.Join(names, ", ") + "]"
}
