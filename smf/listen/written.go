package listen

import "loopdraft/smf/song"

// Overrides returns what was heard of the song, spelled out, as overrides: heard with these, the same
// raw parts become the same parts, names, roles and jobs included. s is the song that [Hear] gave with
// the report, or one with the same parts.
func (r Report) Overrides(s song.Song) []Override {
	out := make([]Override, 0, len(s.Parts))
	for i, p := range s.Parts {
		port := int(p.Port)
		o := Override{
			Name: p.Name, Track: p.Track + 1, TrackName: s.Tracks[p.Track].Name, Channel: int(p.Channel) + 1, Port: &port,
			At: r.Parts[i].At, Role: string(p.Role), Job: string(p.Job), Home: p.Home, Mapped: p.Mapped,
			Tails: p.Tails, Entry: p.Entry, Cycle: r.Parts[i].Cycle, Loop: r.Parts[i].Loop, Cycles: r.Parts[i].Cycles,
		}
		for _, k := range p.Keys.List() {
			o.Keys = append(o.Keys, int(k))
		}
		out = append(out, o)
	}
	return out
}
