package review

import (
	"fmt"

	"loopdraft/moves/where"
)

// LengthAsked finds songs that are shorter or longer than asked for.
type LengthAsked struct {
	Least where.Extent `yaml:"least" doc:"the shortest that is asked for"`
	Most  where.Extent `yaml:"most" doc:"the longest"`
}

func lengthRule() Rule {
	return Rule{
		Name: "length", Group: Length, Level: Warn,
		Brief:  "the length is what is asked for",
		Doc:    "The length in bars or in time is held against a range. What is shorter than a version for radio is a sketch; what is longer than any club track is too long to be played. A range that a recipe asks for is a warning, the usual one a note.",
		Source: "versions for radio from 2:30, at fast tempi from 2 minutes: common practice, no source; the longest of 134 club tracks lasts 14:02: Zehren et al., M-DJCUE, ISMIR 2019 LBD (measured on its data)",
		New: func() Check {
			length := defaultLength()
			return &length
		},
	}
}

func defaultLength() LengthAsked {
	return LengthAsked{Least: where.Extent{Micros: 120_000_000}, Most: where.Extent{Micros: 842_000_000}}
}

func (r *LengthAsked) find(s *subject) []Finding {
	micros := s.time.Micros(s.song.End)
	var out []Finding
	for _, row := range []struct {
		limit where.Extent
		sign  int64
		word  string
	}{{r.Least, -1, "short"}, {r.Most, 1, "long"}} {
		f := Finding{Level: Warn, First: 1, Last: s.bars, Found: float64(s.bars), Limit: float64(row.limit.Bars), Unit: "bars"}
		past := row.sign * int64(s.bars-row.limit.Bars)
		if row.limit.Micros > 0 {
			f.Found, f.Limit, f.Unit = tenth(float64(micros)/1e6), tenth(float64(row.limit.Micros)/1e6), "seconds"
			past = row.sign * (micros - row.limit.Micros)
		}
		if row.limit.IsZero() || past <= 0 {
			continue
		}
		if *r == defaultLength() {
			f.Level = Note // nobody has asked
			f.Text = fmt.Sprintf("%s: %s, %d:%02d; club tracks last %s.", upper(row.word), count(s.bars, "bar"), micros/60_000_000, micros/1_000_000%60, row.limit.Texts()[0]+map[int64]string{-1: " or more", 1: " or less"}[row.sign])
			out = append(out, f)
			continue
		}
		f.Text = fmt.Sprintf("Too %s: %s, %d:%02d, asked for is %s.", row.word, count(s.bars, "bar"), micros/60_000_000, micros/1_000_000%60, row.limit.Texts()[0]+map[int64]string{-1: " or more", 1: " or less"}[row.sign])
		out = append(out, f)
	}
	return out
}
