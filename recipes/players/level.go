package players

// How far a section may step back by velocity, in percent: its music and bass; the same where one part alone is
// stronger than that; everybody, in a section that is measured against another.
const (
	leastMusic = 70
	leastAlone = 60
	leastAll   = 82
)

// level lets a section step back that is stronger than it may be: first, if it is measured against another, all of
// it, then its pitched parts and its bass; one constant for all its units, so that it keeps its shape.
func (f *finder) level(i int) {
	s, line := f.Sections[i], f.lines[i]
	for k, u := range line.Units {
		line.Units[k].Played = u.Power.Sum()
	}
	if s.Course != InRange || s.May == nil {
		return
	}
	of := int64(0)
	if s.Against > 0 {
		of = f.mean(s.Against - 1)
	}
	fits := func() bool {
		for k, u := range line.Units {
			if _, high := f.limits(s, s.Units[k], of); f.played(u, s.Units[k], line) > high {
				return false
			}
		}
		return true
	}
	for s.Against > 0 && line.All > leastAll && !fits() {
		line.All--
	}
	for least := f.leastMusic(s, line); line.Music*line.All > 100*least && !fits(); {
		line.Music--
	}
	for k := range line.Units {
		line.Units[k].Played = f.played(line.Units[k], s.Units[k], line)
	}
}

// leastMusic returns the velocity under which the music of a section does not step back.
func (f *finder) leastMusic(s Section, line *Line) int {
	for k, u := range line.Units {
		players := 0
		for p, plays := range u.Plays {
			if plays && s.Units[k].Powers[p].Sum() > 0 {
				players++
			}
		}
		if players == 1 {
			return leastAlone
		}
	}
	return leastMusic
}

// played returns the power of a unit as loud as it is played: the level of a note counts twice in its amplitude
// (gain (v/127)^2, DLS Level 1, RP-016), so that power goes with the fourth power of velocity.
func (f *finder) played(u Found, unit Unit, line *Line) int64 {
	sum := int64(0)
	for p, plays := range u.Plays {
		if !plays {
			continue
		}
		power := unit.Powers[p].Sum()
		if f.Parts[p].StepsBack() {
			power = softer(power, line.Music)
		}
		sum += softer(power, line.All)
	}
	return sum
}

// softer returns a power at a percentage of the velocity.
func softer(power int64, percent int) int64 {
	for range 4 {
		power = power / 100 * int64(percent)
	}
	return power
}
