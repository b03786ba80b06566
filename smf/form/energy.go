package form

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"loopdraft/smf/song"
)

// SilenceDB is the level of a bar in which nothing sounds, the lowest there is.
const SilenceDB = -100.0

// Energy is how strong a song sounds, bar by bar.
type Energy struct {
	Bars  []BarEnergy
	Parts [][]float64 // level of each of the song's parts in each bar, in dB like [BarEnergy].DB
}

// BarEnergy is how strong one bar sounds.
type BarEnergy struct {
	Total float64 // loudness as a share of the loudest bar's, 0..1, see [Loudness]
	DB    float64 // mean power over the bar; 0 is one held synth lead note with nothing turned down

	// Shares of the power below 150 Hz, up to 2.5 kHz, and above. Their sum is 1; in a silent bar all are 0.
	Low, Mid, High float64
}

// Loudness returns how loud a level is as a share of the loudest one, both in dB: 10 dB less is half
// as loud (Stevens' sone scale, from memory). It is 0 for silence and at most 1.
func Loudness(db, loudest float64) float64 {
	if db <= SilenceDB {
		return 0
	}
	return min(1, math.Exp2((db-loudest)/10))
}

// EnergyOf measures the energy of a song. There is one model of it, for all that speaks of energy.
//
// A note's power is (velocity x volume x expression / 127^3)^4, the square of the gain of General MIDI
// (Level 1 Developer Guidelines p. 9: the level is 40 log10) and DLS Level 1 (RP-016), times the level
// of its instrument. From the onset on it falls as that instrument falls, and it rings a little after
// its end, which the sustain pedal puts off; a drum rings as long as it will, however long its note. All
// powers are added, and averaged over the bar. A short last bar is averaged over what there is of it.
//
// The instrument is that of the program; where there is none, or piano, which exporters send when they
// mean none, that of the role. In a kit it is that of the part's role, or of the key, where the part
// keeps to the General MIDI map. A trigger is silent. Program, volume, expression and pedal are those of
// the part's channel in its own track; what that never sets, those of the channel in all tracks. How
// a sound was programmed, filters, sends and compression are not heard.
//
// It takes time linear in the events and in parts times bars. Its errors are a song without common bars,
// one without bars, and one of far more bars than its notes need. Last bits of the results may differ
// between processors: round them before they are shown or compared.
func EnergyOf(s song.Song) (Energy, error) {
	bars, err := measurable(s)
	if err != nil {
		return Energy{}, err
	}
	m := newMeter(s, bars)
	e := Energy{Bars: make([]BarEnergy, bars), Parts: make([][]float64, len(s.Parts))}
	total := make([]bands, bars)
	for i := range s.Parts {
		m.part(&s.Parts[i])
		e.Parts[i] = make([]float64, bars)
		for b, power := range m.power {
			e.Parts[i][b] = decibels(power.sum())
			total[b].add(power, 1)
		}
	}
	loudest := SilenceDB
	for b := range total {
		e.Bars[b].DB = decibels(total[b].sum())
		loudest = max(loudest, e.Bars[b].DB)
	}
	for b := range e.Bars {
		bar := &e.Bars[b]
		if bar.Total = Loudness(bar.DB, loudest); bar.Total > 0 {
			sum := total[b].sum()
			bar.Low, bar.Mid, bar.High = total[b][0]/sum, total[b][1]/sum, total[b][2]/sum
		}
	}
	return e, nil
}

// How many cells may be measured, a cell being a bar of a part: so many, and some more for each note, so
// that a few bytes which claim to be hours take no memory. A bar costs some cells itself.
const (
	freeCells    = 1 << 22
	cellsPerNote = 4
	cellsPerBar  = 32
)

// measurable returns the number of bars of a song, or why it has no energy.
func measurable(s song.Song) (bars int, err error) {
	if s.Time() == nil {
		return 0, errors.New("no common bars (format 2 or SMPTE time), so there is no energy to measure")
	}
	if bars = s.Bars(); bars == 0 {
		return 0, errors.New("no bars, so there is no energy to measure")
	}
	notes := 0
	for i := range s.Parts {
		notes += len(s.Parts[i].Notes)
	}
	if most := (freeCells + cellsPerNote*notes) / (cellsPerBar + len(s.Parts)); bars > most {
		return 0, fmt.Errorf("found %d bars, want at most %d to measure the energy of %d parts with %d notes", bars, most, len(s.Parts), notes)
	}
	return bars, nil
}

// bands are powers below 150 Hz, up to 2.5 kHz, and above: lines between low end, middle and brightness
// that are common practice, no source.
type bands [3]float64

func (b bands) sum() float64 { return b[0] + b[1] + b[2] }

func (b bands) times(by float64) bands { return bands{b[0] * by, b[1] * by, b[2] * by} }

// add adds other powers times a factor. The conversion keeps a processor from doing both steps in one,
// which rounds otherwise.
func (b *bands) add(others bands, by float64) {
	for i, o := range others {
		b[i] += float64(o * by)
	}
}

// decibels returns the level of a power, at least [SilenceDB].
func decibels(power float64) float64 {
	return max(SilenceDB, 10*math.Log10(max(power, 1e-10)))
}

// powerOf undoes decibels.
func powerOf(db float64) float64 { return math.Pow(10, db/10) }

// meter measures one part after the other.
//
// A sound that goes on over a bar line is handed on there: its power is added to what falls at its rate,
// and taken off again at the start of the bar it ends in. So a note costs the same however many bars it
// lasts, and a bar the same however many notes last over it.
type meter struct {
	song     song.Song
	at       []float64        // seconds at which each bar starts; last, the end of the song
	own      map[lane]*mixer  // by track and channel
	all      [channels]*mixer // by channel, of all tracks
	power    []bands          // of the part, by bar: energy, in the end mean power
	handedOn [rates][]bands   // of the part, by bar; nil where nothing is
	bar      int              // in which the part's note starts
	mixer    *mixer           // of the part
}

func newMeter(s song.Song, bars int) *meter {
	m := &meter{song: s, at: make([]float64, bars+1), power: make([]bands, bars)}
	tl := s.Time()
	for b := range bars {
		m.at[b] = tl.Seconds(tl.BarStart(b + 1))
	}
	m.at[bars] = tl.Seconds(s.End)
	m.readMixers()
	return m
}

// part measures a part. What it finds stays in m.power until the next one.
func (m *meter) part(p *song.Part) {
	clear(m.power)
	m.bar, m.mixer = 0, m.mixerOf(p)
	if p.Role != song.Trigger {
		tl, in := m.song.Time(), instrumentsOf(p)
		for _, n := range p.Notes {
			program, _ := m.mixer.program.At(n.Start)
			m.note(n.Vel, tl.Seconds(n.Start), tl.Seconds(m.mixer.letGo(n.End)), in.playing(n.Key, uint8(program)))
		}
	}
	for r := range rates {
		if m.handedOn[r] != nil {
			m.goOn(r)
			m.handedOn[r] = nil
		}
	}
	for b := range m.power {
		if length := m.at[b+1] - m.at[b]; length > 0 {
			for i, energy := range m.power[b] {
				m.power[b][i] = max(0, energy) / length // what is taken off again leaves a rounding error
			}
		}
	}
}

// note adds a note between two times in seconds. Notes come in the order of their onsets.
func (m *meter) note(velocity uint8, from, to float64, in instrument) {
	for m.bar+1 < len(m.power) && m.at[m.bar+1] <= from {
		m.bar++
	}
	power := in.power.times(fourth(float64(velocity) / 127))
	if in.drum {
		to = math.Inf(1)
	}
	if last := m.sound(power, in.fall, m.bar, from, to); !in.drum {
		m.sound(power.times(in.fall.left(to-from)), in.ring, last, to, math.Inf(1))
	}
}

// sound adds a power that falls at a rate from one time to another, in seconds; the first lies in the bar
// given. It returns the bar of the second, at most the last one. Bars count from 0. Nothing sounds after
// the end.
func (m *meter) sound(power bands, r rate, bar int, from, to float64) int {
	if from >= m.at[len(m.power)] {
		return bar
	}
	m.within(bar, power, r, from, min(to, m.at[bar+1]))
	if to < m.at[bar+1] || bar+1 == len(m.power) {
		return bar
	}
	m.handOn(r, bar+1, power.times(r.left(m.at[bar+1]-from)))
	last := bar + sort.Search(len(m.power)-bar, func(i int) bool { return m.at[bar+i+1] > to })
	if last == len(m.power) {
		return last - 1
	}
	left := power.times(r.left(m.at[last] - from))
	m.handOn(r, last, left.times(-1))
	m.within(last, left, r, m.at[last], to)
	return last
}

// handOn adds a power to what falls at a rate from the start of a bar on.
func (m *meter) handOn(r rate, bar int, power bands) {
	if m.handedOn[r] == nil {
		m.handedOn[r] = make([]bands, len(m.power))
	}
	m.handedOn[r][bar].add(power, 1)
}

// goOn adds what was handed on at a rate.
func (m *meter) goOn(r rate) {
	var power bands
	for b := range m.power {
		power.add(m.handedOn[r][b], 1)
		m.within(b, power, r, m.at[b], m.at[b+1])
		power = power.times(r.left(m.at[b+1] - m.at[b]))
	}
}

// within adds the energy of a power that falls at a rate between two times in one bar. Of volume and
// expression their mean counts, over the time in which nearly all of the energy is spent.
func (m *meter) within(bar int, power bands, r rate, from, to float64) {
	m.power[bar].add(power, float64(r.spent(to-from)*m.mixer.gain(from, min(to, from+r.nearlyAll()))))
}
