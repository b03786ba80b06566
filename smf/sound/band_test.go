package sound

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
)

// player makes a recording out of sines and noise, so that tests know what is in it.
type player struct {
	rate        int
	left, right []float64
}

func newPlayer(rate int, seconds float64) *player {
	n := int(seconds * float64(rate))
	return &player{rate, make([]float64, n), make([]float64, n)}
}

// add plays a sound of some seconds that dies away with a time constant, on both sides.
func (p *player) add(at, seconds, dies float64, sound func(t float64) float64) {
	from := int(math.Round(at * float64(p.rate)))
	for i := 0; i < int(seconds*float64(p.rate)); i++ {
		if k := from + i; k >= 0 && k < len(p.left) {
			t := float64(i) / float64(p.rate)
			x := sound(t) * math.Exp(-t/dies) * min(1, (seconds-t)/.02) // no click at the end
			p.left[k] += x
			p.right[k] += x
		}
	}
}

func sine(hz, level float64) func(t float64) float64 {
	return func(t float64) float64 { return level * math.Sin(2*math.Pi*hz*t) }
}

func noise(level float64) func(t float64) float64 {
	r := rand.New(rand.NewPCG(1, 2))
	return func(float64) float64 { return level * (2*r.Float64() - 1) }
}

func (p *player) kick(at float64) {
	p.add(at, .25, .08, func(t float64) float64 { // falls from 205 to 55 Hz
		return .6 * math.Sin(2*math.Pi*(55*t+150*.02*(1-math.Exp(-t/.02))))
	})
	p.add(at, .01, .004, noise(.4))
}
func (p *player) bass(at, seconds float64) { p.add(at, seconds, 10, sine(62, .15)) }
func (p *player) hat(at float64)           { p.add(at, .05, .015, noise(.15)) }
func (p *player) snare(at float64) {
	p.add(at, .15, .05, noise(.3))
	p.add(at, .15, .05, sine(400, .2))
}
func (p *player) pad(at, seconds float64) {
	p.add(at, seconds, 100, func(t float64) float64 { return min(1, t/.5) * (sine(440, .1)(t) + sine(554, .1)(t)) })
}

// club plays bars of four from a second on, with a crash every eight: kick and bass leave for some of them, the pad comes in.
func (p *player) club(start, bpm float64, bars int, without func(bar int) bool) {
	beat := 60 / bpm
	for bar := range bars {
		at := start + float64(4*bar)*beat
		if bar%8 == 0 {
			p.add(at, 1.5, .4, noise(.2)) // a crash
		}
		for b := range 4 {
			t := at + float64(b)*beat
			p.hat(t + beat/2)
			if b%2 == 1 && bar >= 8 {
				p.snare(t)
			}
			if !without(bar) {
				p.kick(t)
				p.bass(t+beat/2, beat/2)
			}
		}
		if without(bar) {
			p.pad(at, 4*beat)
		}
	}
}

// wav writes both sides as a WAVE file of 16 bits.
func (p *player) wav() []byte {
	return wavFile(1, p.rate, 2, 16, p.pcm())
}

func (p *player) pcm() []byte {
	var data []byte
	for i := range p.left {
		data = binary.LittleEndian.AppendUint16(data, uint16(int16(math.Round(32767*p.left[i]))))
		data = binary.LittleEndian.AppendUint16(data, uint16(int16(math.Round(32767*p.right[i]))))
	}
	return data
}

// wavFile writes a WAVE file of any format.
func wavFile(tag, rate, channels, bits int, data []byte) []byte {
	var b bytes.Buffer
	le := binary.LittleEndian
	frame := channels * bits / 8
	b.WriteString("RIFF")
	binary.Write(&b, le, uint32(36+len(data)))
	b.WriteString("WAVEfmt ")
	binary.Write(&b, le, uint32(16))
	binary.Write(&b, le, []uint16{uint16(tag), uint16(channels)})
	binary.Write(&b, le, []uint32{uint32(rate), uint32(rate * frame)})
	binary.Write(&b, le, []uint16{uint16(frame), uint16(bits)})
	b.WriteString("data")
	binary.Write(&b, le, uint32(len(data)))
	b.Write(data)
	return b.Bytes()
}
