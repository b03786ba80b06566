package song

import (
	"cmp"
	"errors"
	"slices"

	"loopdraft/smf"
)

// Spread returns the song with a track of its own for every part that has notes. A track of one such part stays as it
// is, and so does one of none. Of another, the parts stand on tracks of their names in their order, each with its port;
// what is not a note of a channel stands on the first of that channel's, once. What belongs to none of them, such as
// tempo and markers, stays on the track, before theirs; where there is none of that, the track goes.
//
// Where a note of one part begins at the tick where one of another part on its channel and key ends, the latter is a
// tick shorter: across tracks nothing says which comes first.
//
// A song of format 2, whose tracks are pieces of their own, is an error.
func (s Song) Spread() (Song, error) {
	if s.Format == 2 {
		return s, errors.New("found a file of format 2, whose tracks are pieces of their own, want one piece to spread")
	}
	out := s
	out.Tracks, out.Parts = nil, nil
	for first, i := 0, 0; i < len(s.Tracks); i++ {
		last := first
		for last < len(s.Parts) && s.Parts[last].Track == i {
			last++
		}
		tracks, parts := spread(s.Tracks[i], s.Parts[first:last])
		for _, p := range parts {
			p.Track += len(out.Tracks)
			out.Parts = append(out.Parts, p)
		}
		out.Tracks = append(out.Tracks, tracks...)
		first = last
	}
	return out, nil
}

// spread makes the tracks of the parts of one; their tracks are indices into these.
func spread(t *Track, parts []Part) ([]*Track, []Part) {
	parts = slices.Clone(parts)
	playing := 0
	for i := range parts {
		parts[i].Track = 0
		if len(parts[i].Notes) > 0 {
			playing++
		}
	}
	if playing < 2 {
		return []*Track{t}, parts
	}
	var with [16][]Event // what goes with the first part of each channel
	var ports, rest, own []Event
	for _, e := range t.Events {
		switch {
		case e.IsChannel() && slices.ContainsFunc(parts, func(p Part) bool { return p.Channel == e.Chan() && len(p.Notes) > 0 }):
			with[e.Chan()] = append(with[e.Chan()], e)
			continue
		case isPort(e):
			ports = append(ports, e)
		case !isName(e):
			rest = append(rest, e)
		}
		own = append(own, e)
	}
	var tracks []*Track
	if len(rest) > 0 {
		tracks = append(tracks, t.With(own, t.End))
	}
	before := len(tracks)
	for i := range parts {
		p := &parts[i]
		if len(p.Notes) == 0 { // it stands with the one before it, or with the first
			p.Track = max(len(tracks)-1, before)
			continue
		}
		u := &Track{Name: cmp.Or(p.Name, t.Name), End: t.End}
		var name smf.Event
		u.store, name = smf.AppendLong(clip(t.store), 0, 0xFF, smf.MetaTrackName, []byte(u.Name))
		events := append(slices.Clone(ports), with[p.Channel]...)
		slices.SortStableFunc(events, func(a, b Event) int { return cmp.Compare(a.Tick, b.Tick) })
		u.Events = append([]Event{{Event: name, New: true}}, events...)
		with[p.Channel] = nil
		p.Track = len(tracks)
		tracks = append(tracks, u)
	}
	partTouching(parts)
	return tracks, parts
}

// partTouching lets no note of a part end at the tick where one of another part begins on its channel and key.
func partTouching(parts []Part) {
	type onset struct {
		at           Tick
		channel, key uint8
	}
	begins := map[onset]int{} // by part, from 1; -1: of several
	for i, p := range parts {
		for _, n := range p.Notes {
			on := onset{n.Start, p.Channel, n.Key}
			if at := begins[on]; at == 0 {
				begins[on] = i + 1
			} else if at != i+1 {
				begins[on] = -1
			}
		}
	}
	for i := range parts {
		p, owned := &parts[i], false
		for k, n := range p.Notes {
			if at := begins[onset{n.End, p.Channel, n.Key}]; at == 0 || at == i+1 || n.End-n.Start < 2 || n.Is(Open) {
				continue
			}
			if !owned {
				p.Notes, owned = slices.Clone(p.Notes), true
			}
			p.Notes[k].End--
		}
	}
}
