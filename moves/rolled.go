package moves

import "loopdraft/smf/song"

// Rolled is a stretch in which a roll stands for a part: what else would shape the part's hits leaves
// it alone.
type Rolled struct {
	Part string
	song.Range
}

// rolledRanges returns where rolls stand for a part.
func (e *Env) rolledRanges(part string) []song.Range {
	var out []song.Range
	for _, r := range e.Rolled {
		if r.Part == part {
			out = append(out, r.Range)
		}
	}
	return out
}
