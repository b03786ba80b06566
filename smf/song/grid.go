package song

import (
	"fmt"
	"strings"

	"loopdraft/smf"
)

// The resolution of songs made from grids, in ticks per quarter note.
const gridPPQ = 96

// Velocities of the letters of a grid.
const (
	gridAccent = 120 // X
	gridHit    = 100 // x
	gridSoft   = 60  // o
)

// ParseGrid makes a song at 120 bpm from a text grid of sixteenth notes: one row per part, or per
// part and key, each a label and its steps.
//
//	kick    x...x...x...x...|x...x...x...x...
//	bass:38 ..x-..x-..x-..x-|..x-..x-..x-..x-
//
// The letters are x (a hit, velocity 100), X (an accent, 120), o (soft, 60), - (the note before it
// held) and . (a rest); | is a bar line. Bars are as long as their steps say, all alike, 4/4 where no
// bar line stands. A label is a part's name with its key after a colon; without one, drums take
// their General MIDI percussion key, basses 36, other parts 60. A name that is a role gives the part
// that role. Each part has a track and, as far as there are any, a channel of its own.
func ParseGrid(text string) (Song, error) { return ParseGridAt(text, 4) }

// ParseGridAt is [ParseGrid] with a number of steps a quarter note that divides 96 (4: sixteenths,
// 8: thirty-seconds, 6: sixteenth triplets).
func ParseGridAt(text string, stepsPerQuarter int) (Song, error) {
	if stepsPerQuarter < 1 || stepsPerQuarter > gridPPQ || gridPPQ%stepsPerQuarter != 0 {
		return Song{}, fmt.Errorf("found %d steps a quarter, want a divisor of %d", stepsPerQuarter, gridPPQ)
	}
	step := Tick(gridPPQ / stepsPerQuarter)
	s := Song{Format: 1, Division: gridPPQ}
	barSteps, total := 0, 0
	for i, line := range strings.Split(text, "\n") {
		label, steps, ok := strings.Cut(strings.TrimSpace(line), " ")
		if label == "" {
			continue
		}
		steps = strings.ReplaceAll(steps, " ", "")
		if !ok || strings.Trim(steps, "|") == "" {
			return Song{}, fmt.Errorf("line %d: found %q, want a label and its steps", i+1, strings.TrimSpace(line))
		}
		bars := strings.Split(strings.Trim(steps, "|"), "|")
		size := len(bars[0])
		if len(bars) == 1 && size%(4*stepsPerQuarter) == 0 {
			size = 4 * stepsPerQuarter
			bars = nil
			for flat := strings.Trim(steps, "|"); flat != ""; flat = flat[size:] {
				bars = append(bars, flat[:size])
			}
		}
		if barSteps == 0 {
			barSteps, total = size, size*len(bars)
			if barSteps > 64*stepsPerQuarter {
				return Song{}, fmt.Errorf("line %d: found a bar of %d steps, want 1 to %d", i+1, barSteps, 64*stepsPerQuarter)
			}
		}
		flat := strings.Join(bars, "")
		for _, b := range bars {
			if len(b) != barSteps || len(flat) != total {
				return Song{}, fmt.Errorf("line %d: found %q, want %d bars of %d steps like the first row", i+1, steps, total/barSteps, barSteps)
			}
		}
		if err := s.addRow(label, flat, step); err != nil {
			return Song{}, fmt.Errorf("line %d: %w", i+1, err)
		}
	}
	if len(s.Parts) == 0 {
		return Song{}, fmt.Errorf("found no row, want a label and its steps")
	}
	metre, ok := gridMetre(barSteps, stepsPerQuarter)
	if !ok {
		return Song{}, fmt.Errorf("found bars of %d steps at %d a quarter, want a whole number of sixty-fourths", barSteps, stepsPerQuarter)
	}
	s.End = Tick(total) * step
	s.time = smf.NewTimeline(gridPPQ, nil, []smf.MetreAt{{Metre: metre}})
	for _, t := range s.Tracks {
		t.End = s.End
	}
	if metre != (smf.Metre{Num: 4, Den: 4}) {
		e := s.Edit()
		dd := byte(0)
		for 1<<dd < metre.Den {
			dd++
		}
		e.InsertMeta(0, 0, smf.MetaMetre, []byte{byte(metre.Num), dd, 24, 8})
		s = e.Song()
	}
	return s, nil
}

// gridMetre names a bar by the largest beat that divides it: quarters, then eighths, and so on.
func gridMetre(steps, perQuarter int) (smf.Metre, bool) {
	for den := 4; den <= 64; den *= 2 {
		if n := steps * den; n%(4*perQuarter) == 0 && n/(4*perQuarter) < 256 {
			return smf.Metre{Num: n / (4 * perQuarter), Den: den}, true
		}
	}
	return smf.Metre{}, false
}

func (s *Song) addRow(label, steps string, step Tick) error {
	name, keyText, hasKey := strings.Cut(label, ":")
	if !IsName(name) {
		return fmt.Errorf("found label %q, want a name of lower-case letters, digits and hyphens", label)
	}
	role := gridRole(name)
	key := gridKey(role)
	if hasKey {
		if _, err := fmt.Sscanf(keyText+"\n", "%d\n", &key); err != nil || key < 0 || key > 127 || fmt.Sprint(key) != keyText {
			return fmt.Errorf("found key %q, want 0 to 127", keyText)
		}
	}
	i := s.Index(name)
	if i < 0 {
		i = len(s.Parts)
		p := Part{Name: name, Role: role, Job: role.Job(), Track: i, Channel: uint8(i % 16)}
		p.Kit = role.Drum()
		s.Parts = append(s.Parts, p)
		s.Tracks = append(s.Tracks, &Track{Name: name})
	}
	p := &s.Parts[i]
	var row []Note
	for at, letter := range []byte(steps) {
		t := Tick(at) * step
		velocity := map[byte]uint8{'x': gridHit, 'X': gridAccent, 'o': gridSoft}[letter]
		switch {
		case velocity > 0:
			row = append(row, Note{Start: t, End: t + step, Key: uint8(key), Vel: velocity, OffVel: 64})
		case letter == '-' && len(row) > 0 && row[len(row)-1].End == t:
			row[len(row)-1].End += step
		case letter == '-':
			return fmt.Errorf("found a held step %d with no note before it, want x, X or o first", at+1)
		case letter != '.':
			return fmt.Errorf("found %q at step %d, want x, X, o, - or a dot", letter, at+1)
		}
	}
	for _, n := range p.Notes {
		if int(n.Key) == key {
			return fmt.Errorf("found key %d of %q again, want one row a key", key, name)
		}
	}
	p.Notes = mergeNotes(nil, p.Notes, row)
	for j := range p.Notes { // on and off orders as a file that lists notes by onset would have them
		p.Notes[j].OnSeq, p.Notes[j].OffSeq = uint32(2*j), uint32(2*j+1)
	}
	return nil
}

// gridRole returns the role a row's name says: a role's own name, with or without a number.
func gridRole(name string) Role {
	word := strings.TrimRight(name, "0123456789-")
	for _, r := range Roles() {
		if string(r) == word {
			return r
		}
	}
	return RoleUnknown
}

// gridKey returns the key of a row without one: General MIDI percussion keys (RP-003 table 3) for drums.
func gridKey(r Role) int {
	switch r {
	case RoleKick:
		return 36
	case RoleSnare:
		return 38
	case RoleClap:
		return 39
	case RoleRim:
		return 37
	case RoleHat:
		return 42
	case RoleOpenHat:
		return 46
	case RoleShaker:
		return 82
	case RoleRide:
		return 51
	case RoleCrash:
		return 49
	case RoleTom:
		return 45
	case RolePerc:
		return 56
	case RoleBass, RoleSub:
		return 36
	}
	return 60
}

// Drum tells whether the role is a drum or cymbal.
func (r Role) Drum() bool {
	switch r.Job() {
	case JobBeat, JobBackbeat, JobTops, JobPerc:
		return true
	}
	return false
}

// Job returns the job a role has by itself, where no other part's playing decides it: a pitched
// part outside the bass is bed if it is of a sustaining kind and hook otherwise.
func (r Role) Job() Job {
	switch r {
	case RoleKick:
		return JobBeat
	case RoleSnare, RoleClap, RoleRim:
		return JobBackbeat
	case RoleHat, RoleOpenHat, RoleShaker, RoleRide:
		return JobTops
	case RolePerc, RoleTom, RoleCrash:
		return JobPerc
	case RoleBass, RoleSub:
		return JobBass
	case RolePad, RoleStrings, RoleChords, RoleDrone:
		return JobBed
	case RoleLead, RoleStab, RoleArp:
		return JobHook
	case RoleTrigger:
		return NoJob
	}
	return JobExtra
}

// Grid prints the notes of a song as [ParseGrid] reads them: a row per part, per part and key where
// a part has several keys. Onsets are drawn in the step they fall in.
func Grid(s Song) string { return GridAt(s, 4) }

// GridAt is [Grid] with a number of steps a quarter note.
func GridAt(s Song, stepsPerQuarter int) string {
	if s.time == nil || s.End <= 0 {
		return ""
	}
	var lines []gridLine
	for i := range s.Parts {
		lines = append(lines, s.gridLines(&s.Parts[i], stepsPerQuarter)...)
	}
	width := 0
	for _, l := range lines {
		width = max(width, len(l.label))
	}
	var out strings.Builder
	for _, l := range lines {
		fmt.Fprintf(&out, "%-*s %s\n", width, l.label, s.barred(l.steps, stepsPerQuarter))
	}
	return out.String()
}

type gridLine struct {
	label string
	steps []byte
}

func (s Song) gridLines(p *Part, perQuarter int) []gridLine {
	ppq := s.time.PPQ()
	steps := int((s.End*Tick(perQuarter) + ppq - 1) / ppq)
	var keys Keys
	for _, n := range p.Notes {
		keys[n.Key>>6] |= 1 << (n.Key & 63)
	}
	list := keys.List()
	if len(list) == 0 {
		return []gridLine{{p.Name, []byte(strings.Repeat(".", steps))}}
	}
	var out []gridLine
	for i := len(list) - 1; i >= 0; i-- {
		row := []byte(strings.Repeat(".", steps))
		for _, n := range p.Notes {
			if n.Key == list[i] {
				drawNote(row, n, int(n.Start*Tick(perQuarter)/ppq), int((n.End*Tick(perQuarter)+ppq-1)/ppq))
			}
		}
		label := p.Name
		if len(list) > 1 || int(list[i]) != gridKey(gridRole(p.Name)) {
			label = fmt.Sprintf("%s:%d", p.Name, list[i])
		}
		out = append(out, gridLine{label, row})
	}
	return out
}

func drawNote(row []byte, n Note, from, to int) {
	if from >= len(row) {
		return
	}
	letter := byte('o')
	switch {
	case n.Vel >= 110:
		letter = 'X'
	case n.Vel >= 80:
		letter = 'x'
	}
	row[from] = letter
	for i := from + 1; i < min(to, len(row)); i++ {
		if row[i] == '.' {
			row[i] = '-'
		}
	}
}

// barred puts the bar lines in.
func (s Song) barred(steps []byte, perQuarter int) string {
	ppq := s.time.PPQ()
	var out strings.Builder
	for i, c := range steps {
		t := Tick(i) * ppq / Tick(perQuarter)
		if i > 0 && s.time.IsBarLine(t) {
			out.WriteByte('|')
		}
		out.WriteByte(c)
	}
	return out.String()
}
