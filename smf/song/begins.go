package song

import "loopdraft/smf"

// FirstBar returns the bar in which the music begins: the first one that a note counts to. Bars before it are set-up.
// It is 1 for a song without notes or without common bars.
func (s Song) FirstBar() int {
	first := 0
	for _, p := range s.Parts {
		if len(p.Notes) == 0 || s.time == nil {
			continue
		}
		if bar := s.time.BarOf(s.Counted(p.Notes[0].Start)); first == 0 || bar < first {
			first = bar
		}
	}
	return max(first, 1)
}

// Mostly returns the tempo, in microseconds a quarter note, and the metre that are in force for most of the time and
// of the bars from where the music begins; of equals those that come first.
func (s Song) Mostly() (micros uint32, metre smf.Metre) {
	tl, first := s.time, s.FirstBar()
	begin := tl.BarStart(first)
	end := max(s.End, begin+1)
	lasts, bars := map[uint32]int64{}, map[smf.Metre]int{}
	var longest int64
	for i, tempi := 0, tl.Tempi(); i < len(tempi); i++ {
		until := end
		if i+1 < len(tempi) {
			until = min(end, tempi[i+1].Tick)
		}
		if from := max(begin, tempi[i].Tick); from < until {
			lasts[tempi[i].Micros] += tl.Elapsed(until) - tl.Elapsed(from)
			longest = max(longest, lasts[tempi[i].Micros])
		}
	}
	for _, t := range tl.Tempi() {
		if lasts[t.Micros] == longest && longest > 0 {
			micros = t.Micros
			break
		}
	}
	most := 0
	for i, metres := 0, tl.Metres(); i < len(metres); i++ {
		until := end
		if i+1 < len(metres) {
			until = min(end, metres[i+1].Tick)
		}
		if from := max(begin, metres[i].Tick); from < until {
			bars[metres[i].Metre] += tl.BarOf(until-1) - tl.BarOf(from) + 1
			most = max(most, bars[metres[i].Metre])
		}
	}
	for _, m := range tl.Metres() {
		if bars[m.Metre] == most && most > 0 {
			metre = m.Metre
			break
		}
	}
	return micros, metre
}
