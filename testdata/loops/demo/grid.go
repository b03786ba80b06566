package demo

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf"
)

// row is one line of music: a grid over the whole loop, and what its letters sound.
//
// In a grid x is a hit, X an accent, o a soft hit, - holds the note before it, . is a rest; bar lines
// and spaces are decoration. With chords, every lower-case letter names one of them and its capital
// is the same chord accented.
type row struct {
	grid   string
	key    byte   // what x, X and o sound, where there are no chords
	chords string // "f=F2 a=Ab2 c=C3+Eb3": what a letter sounds
	level  int    // velocity of x; X is 18 above it, o is 36 % of it
	lean   string // a digit per step, repeated: 5 leaves a velocity alone, 1 takes 16 off, 9 adds 16
	gate   int    // share of its steps that a note sounds, in percent; 0: 50
	ring   int    // steps that the row's last note rings beyond its grid
}

// wander returns a small deviation for the n-th hit of a row, as hands and round robins bring it. The
// cycle of 13 falls in with no bar, so that no two bars of a row are quite alike.
func wander(n int) int {
	return int([13]int8{0, -3, 2, -1, 4, -4, 1, 3, -2, -5, 5, 0, -2}[n%13])
}

// note is a note in ticks.
type note struct {
	start, end smf.Tick
	key, vel   byte
}

// play writes a track's program, controllers and notes and sets its end.
func (l loop) play(out *smf.Track, t track) error {
	channel := byte(t.channel - 1)
	events := []smf.Event{}
	if t.bank > 0 {
		events = append(events, smf.Channel(0, 0xB0|channel, 0, byte(t.bank-1)), smf.Channel(0, 0xB0|channel, 32, 0))
	}
	if t.program > 0 {
		events = append(events, smf.Channel(0, 0xC0|channel, byte(t.program-1), 0))
	}
	for _, p := range t.wheels {
		events = append(events, smf.Channel(smf.Tick(p.step)*l.step(), p.kind|channel, p.d1, p.d2))
	}
	for _, r := range t.rows {
		notes, err := l.read(r, t.swing)
		if err != nil {
			return fmt.Errorf("row %q: %w", r.head(), err)
		}
		for _, n := range notes {
			events = append(events, smf.Channel(n.start, 0x90|channel, n.key, n.vel), smf.Channel(n.end, 0x80|channel, n.key, 64))
		}
	}
	slices.SortStableFunc(events, func(a, b smf.Event) int {
		if a.Tick != b.Tick {
			return int(a.Tick - b.Tick)
		}
		return rank(a) - rank(b)
	})
	for _, e := range events {
		out.Append(e)
	}
	end := t.endsAt
	if end == 0 {
		end = l.bars * l.metre.steps
	}
	out.End = max(out.End, smf.Tick(end)*l.step())
	return nil
}

// rank orders events at one tick: offs, then controllers, then ons, so that nothing overlaps.
func rank(e smf.Event) int {
	switch {
	case e.IsOff():
		return 0
	case e.IsOn():
		return 2
	}
	return 1
}

// head is the row's first bar, to tell rows apart in messages.
func (r row) head() string {
	first, _, _ := strings.Cut(strings.TrimSpace(r.grid), "|")
	return strings.TrimSpace(first)
}

// read turns a row into notes. The grid must be a whole number of bars.
func (l loop) read(r row, swing int) ([]note, error) {
	chords, err := readChords(r)
	if err != nil {
		return nil, err
	}
	grid := strings.NewReplacer("|", "", " ", "", "\n", "", "\t", "").Replace(r.grid)
	if len(grid) == 0 || len(grid)%l.metre.steps != 0 {
		return nil, fmt.Errorf("found %d steps, want whole bars of %d", len(grid), l.metre.steps)
	}
	var out []note
	hits := 0
	for i := 0; i < len(grid); i++ {
		c := grid[i]
		if c == '.' || c == '-' {
			continue
		}
		keys, accent, ok := r.sound(chords, c)
		if !ok {
			return nil, fmt.Errorf("found letter %q at step %d, want . - or a letter of the row", c, i+1)
		}
		hold := 1
		for i+hold < len(grid) && grid[i+hold] == '-' {
			hold++
		}
		if i+hold == len(grid) {
			hold += r.ring
		}
		vel := r.velocity(c, accent, i, hits)
		for _, k := range keys {
			out = append(out, note{l.place(i, swing), l.release(i, hold, swing, r.gate), k, vel})
		}
		hits++
	}
	return out, nil
}

// place returns the tick of a step: where a step is a sixteenth, every second one comes late by the
// swing, as far as it is over 50 percent.
func (l loop) place(step, swing int) smf.Tick {
	t := smf.Tick(step) * l.step()
	if swing > 50 && step%2 == 1 {
		t += (l.step()*2*smf.Tick(swing-50) + 50) / 100
	}
	return t
}

func (l loop) release(step, hold, swing, gate int) smf.Tick {
	if gate == 0 {
		gate = 50
	}
	from := l.place(step, swing)
	return from + max(1, (l.place(step+hold, swing)-from)*smf.Tick(gate)/100)
}

// sound returns the keys a letter stands for and whether it is an accent.
func (r row) sound(chords []chord, c byte) (keys []byte, accent, ok bool) {
	if r.chords == "" {
		return []byte{r.key}, c == 'X', c == 'x' || c == 'X' || c == 'o'
	}
	low := c | 0x20
	for _, ch := range chords {
		if ch.letter == low {
			return ch.keys, c != low, true
		}
	}
	return nil, false, false
}

func (r row) velocity(c byte, accent bool, step, hits int) byte {
	v := r.level
	switch {
	case accent:
		v += 18
	case r.chords == "" && c == 'o':
		v = v * 36 / 100
	}
	if r.lean != "" {
		v += (int(r.lean[step%len(r.lean)]) - '5') * 4
	}
	return byte(min(127, max(1, v+wander(hits))))
}

// chord is what one letter sounds.
type chord struct {
	letter byte
	keys   []byte
}

func readChords(r row) ([]chord, error) {
	var out []chord
	for _, f := range strings.Fields(r.chords) {
		letter, names, ok := strings.Cut(f, "=")
		if !ok || len(letter) != 1 || letter[0] < 'a' || letter[0] > 'z' {
			return nil, fmt.Errorf("found %q, want a lower-case letter, = and its notes", f)
		}
		ch := chord{letter: letter[0]}
		for _, name := range strings.Split(names, "+") {
			k, err := readKey(name)
			if err != nil {
				return nil, err
			}
			ch.keys = append(ch.keys, k)
		}
		out = append(out, ch)
	}
	return out, nil
}

// readKey reads a note name such as Eb3, with C4 for key 60.
func readKey(name string) (byte, error) {
	if len(name) < 2 {
		return 0, fmt.Errorf("found note %q, want a name such as Eb3", name)
	}
	class := strings.IndexByte("C D EF G A B", name[0])
	rest := name[1:]
	switch rest[0] {
	case 'b':
		class, rest = class-1, rest[1:]
	case '#':
		class, rest = class+1, rest[1:]
	}
	if len(rest) != 1 || rest[0] < '0' || rest[0] > '8' || !strings.Contains("CDEFGAB", name[:1]) {
		return 0, fmt.Errorf("found note %q, want a name such as Eb3", name)
	}
	return byte(12*(int(rest[0]-'0')+1) + class), nil
}

// bars repeats a bar n times, to write a row shorter than its music.
func bars(n int, bar string) string { return strings.Repeat(bar+"|", n) }

// ride moves a controller from one value to another between two steps, with an event every few
// steps and the last one on the step it ends at.
func ride(controller byte, from, to, every, first, last int) []point {
	var out []point
	for s := from; s < to; s += every {
		v := first + (last-first)*(s-from)/(to-from)
		out = append(out, point{s, 0xB0, controller, byte(v)})
	}
	return append(out, point{to, 0xB0, controller, byte(last)})
}

// set sends a controller once.
func set(step int, controller, value byte) point { return point{step, 0xB0, controller, value} }

// bend sets the bend wheel: 0 is the centre, the ends are -8192 and 8191.
func bend(step, value int) point {
	v := value + 8192
	return point{step, 0xE0, byte(v & 0x7F), byte(v >> 7)}
}

// pedal holds the sustain pedal down from one step to another.
func pedal(down, up int) []point { return []point{set(down, 64, 127), set(up, 64, 0)} }
