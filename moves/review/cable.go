package review

import (
	"cmp"
	"fmt"
	"slices"

	"loopdraft/smf/song"
)

// Cable finds places where controllers are too dense for a MIDI cable.
type Cable struct {
	Late int `yaml:"late" range:"1..10000" unit:"ms" doc:"so late a message may arrive"`
}

// byteMicros is what a byte takes on a MIDI cable: 10 bits at 31,250 baud (MIDI 1.0).
const byteMicros = 320

func cableRule() Rule {
	return Rule{
		Name: "cable", Group: Broken, Level: Warn,
		Brief:  "controllers are not too dense for a MIDI cable",
		Doc:    "A message of three bytes takes 0.96 ms on a cable, 0.64 under running status. Where controllers, bend and pressure of a port come faster than that for a while, the last of them, and the notes behind them, are late. Set-up at the start and what comes after the last note are not counted, and bytes as under running status.",
		Source: "31,250 baud, 10 bits a byte: MIDI 1.0; the number: common practice, no source",
		New:    func() Check { return &Cable{Late: 100} },
	}
}

// sent is a message on its way through a cable.
type sent struct {
	at   song.Tick
	port uint8
	size int64 // bytes
}

func (r *Cable) find(s *subject) []Finding {
	all := s.stream()
	last := s.lastOnset()
	all = slices.DeleteFunc(all, func(m sent) bool { return m.at > last }) // nothing is late after the last note
	type jam struct {
		free, worst int64     // when the cable is free; how late a message of the jam is
		from, to    song.Tick // of the jam
	}
	var jams [256]jam // by port
	var out []Finding
	stop := func(port int) {
		j := &jams[port]
		if j.worst > int64(r.Late)*1000 {
			first, end := min(s.time.BarOf(j.from), s.bars), min(s.time.BarOf(j.to), s.bars)
			f := Finding{Level: Warn, First: first, Last: end, Found: tenth(float64(j.worst) / 1000), Limit: float64(r.Late), Unit: "ms"}
			f.Text = fmt.Sprintf("Controllers are so dense in %s that on a MIDI cable they arrive %.0f ms late: thin them out.", barsText(first, end), f.Found)
			out = append(out, f)
		}
		*j = jam{}
	}
	for _, m := range all {
		now, j := s.time.Micros(m.at), &jams[m.port]
		if now >= j.free {
			stop(int(m.port))
			j.free, j.from = now, m.at
		}
		j.free += m.size * byteMicros
		j.worst, j.to = max(j.worst, j.free-now), m.at
	}
	for port := range jams {
		stop(port)
	}
	return out
}

// lastOnset returns the onset of the song's last note; -1 where there is none.
func (s *subject) lastOnset() song.Tick {
	last := song.Tick(-1)
	for _, p := range s.song.Parts {
		if n := len(p.Notes); n > 0 {
			last = max(last, p.Notes[n-1].Start)
		}
	}
	return last
}

// stream returns the controllers, bends and pressures of all tracks after tick 0 in order of time.
func (s *subject) stream() []sent {
	var out []sent
	for _, t := range s.song.Tracks {
		port := uint8(0)
		for _, ev := range t.Events {
			if kind, meta := ev.MetaType(); meta && kind == 0x21 && len(t.Long(ev)) == 1 {
				port = t.Long(ev)[0]
			}
			switch ev.Kind() {
			case 0xA0, 0xB0, 0xE0:
				out = append(out, sent{ev.Tick, port, 2})
			case 0xD0:
				out = append(out, sent{ev.Tick, port, 1})
			}
		}
	}
	out = slices.DeleteFunc(out, func(m sent) bool { return m.at == 0 })
	slices.SortStableFunc(out, func(a, b sent) int { return cmp.Compare(a.at, b.at) })
	return out
}
