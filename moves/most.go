package moves

import (
	"fmt"
	"slices"
	"sort"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// fits refuses a step that may make a song of more than [song.MaxEvents] events, before it takes the time and memory
// that they need.
func (e *Env) fits(step Step, in song.Song) error {
	return tooMany(eventsIn(in) + e.most(step, in))
}

// tooMany refuses a number of events that no song may have.
func tooMany(events int64) error {
	if events <= song.MaxEvents {
		return nil
	}
	return &option.Mistake{Found: fmt.Sprintf("a song of up to %d events", events), Want: fmt.Sprintf("at most %d", song.MaxEvents)}
}

// eventsIn returns how many events a song is written as, ends of tracks left out.
func eventsIn(s song.Song) int64 {
	n := int64(0)
	for _, p := range s.Parts {
		n += 2 * int64(len(p.Notes))
	}
	for _, t := range s.Tracks {
		n += int64(len(t.Events))
	}
	return n
}

// most returns how many events a step may add to a song at the most; 0 for a step that is not known to add more than
// its parts have in its ranges. It costs no more than a look at each note of the parts and at each range.
func (e *Env) most(step Step, in song.Song) int64 {
	var notes, others int64
	ppq := int64(in.Time().PPQ())
	after := slices.Clone(e.Ranges)
	for i, r := range after {
		after[i].Start = r.End
	}
	for _, p := range e.Parts {
		part := in.Parts[p]
		switch m := step.(type) {
		case *Echo:
			notes += int64(m.Repeats) * playedIn(in, part, e.Ranges)
		case *Stutter:
			if m.Slice.Den < 1 {
				break // the step says so
			}
			slice := max(int64(m.Slice.Ticks(song.Tick(ppq))), 1)
			firsts := slices.Clone(e.Ranges)
			for i := range firsts {
				firsts[i].End = min(firsts[i].Start+song.Tick(slice), firsts[i].End)
			}
			struck := heldInto(part, firsts)
			for i, r := range firsts {
				notes += (struck[i] + int64(len(in.In(part, r)))) * (int64(e.Ranges[i].Len())/slice + 1)
			}
		case *Copy:
			n, ev := e.mostCopied(m, in, part)
			notes, others = notes+n, others+ev
		case *Ghost, *Vary:
			notes += places(e.Ranges, ppq, 4) * longestChord(e.Source(part.Name).Notes, part.Notes, ppq)
		case *Plain: // bars depart a quarter of the time at most, so that what is usual stands there as often already
			if i := e.Full.Index(part.Name); i >= 0 {
				notes += int64(len(e.Full.Parts[i].Notes))
			}
		case *Double: // a hit has three places of a 1/16 before the next 1/4
			notes += 3 * (playedIn(in, part, e.Ranges) + int64(len(e.Ranges))*longestChord(nil, part.Notes, ppq))
		case *Roll:
			notes += places(e.Ranges, ppq, 8)
		case *Fill:
			notes += longestFill * int64(len(e.Ranges))
		case *Swell:
			source := e.Source(part.Name)
			if len(source.Notes) == 0 {
				source = part
			}
			notes += playedIn(e.Full, source, e.Ranges) + places(e.Ranges, ppq, 4)*mostAtOnce(source.Notes)
			others += mostPoints(in, e.Ranges)
		case *Layer:
			notes += max(playedIn(e.Full, e.Source(part.Name), e.Ranges), playedIn(in, part, e.Ranges))
		case *Stretch:
			notes += 2 * (playedIn(in, part, e.Ranges) + sum(heldInto(part, e.Ranges)))
		case *Ride:
			others += mostPoints(in, e.Ranges)
		case *Duck: // each hit begins anew
			by, _ := m.By.Resolve(in)
			for _, b := range by {
				others += 3 * playedIn(in, in.Parts[b], e.Ranges)
			}
			others += mostPoints(in, e.Ranges)
		case *Rise: // a range for bends is six messages, and six more set it back
			others += mostPoints(in, e.Ranges) + 12*int64(len(e.Ranges))
		}
		notes += 2*sum(heldInto(part, e.Ranges)) + sum(heldInto(part, after)) // struck again in each range and after it
	}
	return 2*notes + others
}

// mostCopied returns how many notes and other events the copies of a part come to.
func (e *Env) mostCopied(m *Copy, in song.Song, part song.Part) (notes, others int64) {
	if len(e.Ranges) != 1 {
		return 0, 0
	}
	var o Outcome
	to, err := o.places(e, "to", m.To, in)
	if err != nil {
		return 0, 0 // the step says so
	}
	source := e.Ranges[0]
	targets, err := m.targets(&o, in, source, to)
	if err != nil {
		return 0, 0
	}
	passes := int64(0)
	for _, t := range targets {
		passes += int64(t.Len())/int64(source.Len()) + 1
	}
	events := in.Tracks[part.Track].Events
	from := sort.Search(len(events), func(i int) bool { return events[i].Tick >= source.Start })
	until := sort.Search(len(events), func(i int) bool { return events[i].Tick >= source.End })
	values := len(usedControllers(in, part)) // that each copy begins with, and its end goes back from
	return passes * (int64(len(in.In(part, source))) + heldInto(part, e.Ranges)[0]), passes * int64(2*values+until-from)
}

// playedIn returns how many notes of a part start in ranges.
func playedIn(s song.Song, p song.Part, ranges []song.Range) int64 {
	n := int64(0)
	for _, r := range ranges {
		n += int64(len(s.In(p, r)))
	}
	return n
}

// heldInto returns, for each of the ranges, which rise, how many notes sound on into it; none of a part that is not
// struck again.
func heldInto(p song.Part, ranges []song.Range) []int64 {
	out := make([]int64, len(ranges)+1)
	if p.Restrikes() {
		after := func(t song.Tick) int {
			return sort.Search(len(ranges), func(i int) bool { return ranges[i].Start > t })
		}
		for _, n := range p.Notes {
			if first, last := after(n.Start), after(n.End-1); first < last {
				out[first]++
				out[last]--
			}
		}
		for i := 1; i < len(out); i++ {
			out[i] += out[i-1]
		}
	}
	return out
}

func sum(counts []int64) int64 {
	n := int64(0)
	for _, c := range counts {
		n += c
	}
	return n
}

// places returns how many places of so many to a quarter note ranges have.
func places(ranges []song.Range, ppq, quarter int64) int64 {
	n := int64(0)
	for _, r := range ranges {
		n += min(int64(r.Len())*quarter/ppq+1, int64(r.Len()))
	}
	return n
}

// longestChord returns how many notes the longest row of them has in which each is less than a 1/16 after the one before.
func longestChord(a, b []song.Note, ppq int64) int64 {
	most := int64(1)
	for _, notes := range [][]song.Note{a, b} {
		row := int64(0)
		for i, n := range notes {
			if i > 0 && int64(n.Start-notes[i-1].Start)*16 >= ppq {
				row = 0
			}
			row++
			most = max(most, row)
		}
	}
	return most
}

// mostAtOnce returns how many notes sound at once at the most.
func mostAtOnce(notes []song.Note) int64 {
	ends := make([]song.Tick, len(notes))
	for i, n := range notes {
		ends[i] = n.End
	}
	slices.Sort(ends)
	most, ended := 0, 0
	for i, n := range notes {
		for ended < i && ends[ended] <= n.Start {
			ended++
		}
		most = max(most, i+1-ended)
	}
	return int64(most)
}

// mostPoints returns how many values a controller is set to over ranges: one for each moment that is heard, and one
// more after each range and where sections begin, where it goes home.
func mostPoints(in song.Song, ranges []song.Range) int64 {
	n := int64(1 + len(in.Sections))
	tl := in.Time()
	for _, r := range ranges {
		n += 3 + min((tl.Micros(r.End)-tl.Micros(r.Start))/closest, int64(r.Len()))
	}
	return n
}
