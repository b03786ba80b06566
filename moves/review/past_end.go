package review

import "fmt"

// PastEnd finds notes that ring past the last bar line.
type PastEnd struct{}

func pastEndRule() Rule {
	return Rule{
		Name: "past-end", Group: Broken, Level: Warn,
		Brief:  "nothing rings past the last bar line",
		Doc:    "Where the song ends inside a bar in which nothing starts, what rings into it hangs over: a bounce gets longer than the bars, and does not loop. Where nothing but a file is known, the last chord may be meant to ring: that is a note.",
		Source: "common practice, no source",
		New:    func() Check { return &PastEnd{} },
	}
}

func (r *PastEnd) find(s *subject) []Finding {
	line := s.time.BarStart(s.bars) // the last bar line, if the song ends inside a bar
	if s.time.IsBarLine(s.song.End) || s.bars == 1 {
		return nil
	}
	var over []int
	for i, p := range s.song.Parts {
		if n := len(p.Notes); n > 0 && s.song.Counted(p.Notes[n-1].Start) >= line {
			return nil // a bar that was begun
		}
		for _, n := range p.Notes {
			if n.End > line {
				over = append(over, i)
				break
			}
		}
	}
	var out []Finding
	for _, i := range over {
		end := line
		for _, n := range s.song.Parts[i].Notes {
			end = max(end, n.End)
		}
		name := s.song.Parts[i].Name
		beats := tenth(float64(end-line) / float64(s.time.BeatTicks(s.bars)))
		f := Finding{Level: s.ofDraft(), First: s.bars, Last: s.bars, Parts: []string{name}, Found: beats, Unit: "beats"}
		f.Text = fmt.Sprintf("%s rings %.1f beats past the last bar line, where nothing starts any more: end it on the line.", upper(name), beats)
		f.tries = func() []Steps {
			return []Steps{one("mute", "part", s.part(i), "over", barsText(s.bars, s.bars), "tails", "cut")}
		}
		out = append(out, f)
	}
	return out
}

// ofDraft is the level of what is likely not meant in a draft and may be in any other song.
func (s *subject) ofDraft() Level {
	if s.in.Lined.Time() != nil {
		return Warn
	}
	return Note
}
