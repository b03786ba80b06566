package song

import "fmt"

// Violation is a broken invariant.
type Violation struct {
	Rule  string // "hung", "overlap", "past end" or "too short"
	Part  string
	Track int // from 1
	Note  Note
}

func (v Violation) String() string {
	what := map[string]string{
		"hung":      "has no note-off",
		"overlap":   "starts while the key still sounds",
		"past end":  "lies past the end of the song",
		"too short": "is shorter than a tick",
	}[v.Rule]
	return fmt.Sprintf("track %d %q: key %d at tick %d to %d %s", v.Track, v.Part, v.Note.Key, v.Note.Start, v.Note.End, what)
}

// Check returns what breaks the invariants of a song: every note-on has its off; no two notes of
// one key overlap on a track and channel; nothing starts at or after the song's end or ends past
// it; no note is shorter than a tick. A file as it was read may hold any of them; a move adds none.
func (s Song) Check() []Violation {
	var out []Violation
	for first := 0; first < len(s.Parts); {
		last := first + 1 // the parts of one track are neighbours
		for last < len(s.Parts) && s.Parts[last].Track == s.Parts[first].Track {
			last++
		}
		for c := range uint8(16) {
			out = s.checkChannel(out, s.Parts[first:last], c)
		}
		first = last
	}
	return out
}

func (s Song) checkChannel(out []Violation, parts []Part, channel uint8) []Violation {
	var voices []*Part
	for i := range parts {
		if parts[i].Channel == channel {
			voices = append(voices, &parts[i])
		}
	}
	if len(voices) == 0 {
		return out
	}
	var sounding [128]Tick // until when each key sounds
	at := make([]int, len(voices))
	for {
		v := -1
		for i, p := range voices {
			if at[i] < len(p.Notes) && (v < 0 || p.Notes[at[i]].Start < voices[v].Notes[at[v]].Start) {
				v = i
			}
		}
		if v < 0 {
			return out
		}
		n := voices[v].Notes[at[v]]
		at[v]++
		add := func(rule string) {
			out = append(out, Violation{rule, voices[v].Name, voices[v].Track + 1, n})
		}
		if n.Is(Open) {
			add("hung")
		}
		if n.Start < sounding[n.Key] {
			add("overlap")
		}
		if n.Start >= s.End || n.End > s.End {
			add("past end")
		}
		if n.End <= n.Start {
			add("too short")
		}
		sounding[n.Key] = max(sounding[n.Key], n.End)
	}
}
