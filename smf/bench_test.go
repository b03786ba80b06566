package smf_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"runtime"
	"slices"
	"testing"
	"time"

	gomidi "gitlab.com/gomidi/midi/v2/smf"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
)

// walk is W, the yardstick of the benchmarks: it goes over the bytes of a sound file with every
// check that decoding makes, written plainly, and stores nothing. It returns the events it saw,
// ends of track not counted, and -1 for a file that is not sound.
func walk(b []byte) int {
	if len(b) < 14 || string(b[:4]) != "MThd" {
		return -1
	}
	events := 0
	p := 8 + int(binary.BigEndian.Uint32(b[4:]))
	for p+8 <= len(b) {
		size := int(binary.BigEndian.Uint32(b[p+4:]))
		track := string(b[p:p+4]) == "MTrk"
		p += 8
		if size > len(b)-p {
			return -1
		}
		if track {
			n := walkTrack(b[p : p+size])
			if n < 0 {
				return -1
			}
			events += n
		}
		p += size
	}
	return events
}

func walkTrack(b []byte) (events int) {
	var running byte
	var tick int64
	p := 0
	for p < len(b) {
		delta, n := walkVLQ(b[p:])
		if n == 0 {
			return -1
		}
		tick += int64(delta)
		p += n
		if p == len(b) {
			return -1
		}
		status := b[p]
		if status < 0x80 {
			if status = running; status == 0 {
				return -1
			}
		} else {
			p++
		}
		switch {
		case status < 0xF0:
			running = status
			if p == len(b) || b[p] > 0x7F {
				return -1
			}
			p++
			if status&0xE0 != 0xC0 {
				if p == len(b) || b[p] > 0x7F {
					return -1
				}
				p++
			}
		case status == 0xFF || status == 0xF0 || status == 0xF7:
			running = 0
			end := false
			if status == 0xFF {
				if p == len(b) || b[p] > 0x7F {
					return -1
				}
				end = b[p] == 0x2F
				p++
			}
			size, n := walkVLQ(b[p:])
			if n == 0 || int(size) > len(b)-p-n {
				return -1
			}
			p += n + int(size)
			if end {
				if p < len(b) || tick < 0 {
					return -1
				}
				return events
			}
		default:
			return -1
		}
		events++
	}
	return -1
}

func walkVLQ(b []byte) (v uint32, n int) {
	for n < len(b) && n < 4 {
		c := b[n]
		v = v<<7 | uint32(c&0x7F)
		n++
		if c < 0x80 {
			return v, n
		}
	}
	return 0, 0
}

// material is what the benchmarks run on: bytes, and the events in them.
type material struct {
	name   string
	bytes  [][]byte
	events int
}

func materials(b *testing.B) []material {
	var list []material
	add := func(name string, files ...[]byte) {
		m := material{name: name, bytes: files}
		for _, f := range files {
			n := walk(f)
			if n < 0 {
				b.Fatalf("%s: not sound", name)
			}
			m.events += n
		}
		list = append(list, m)
	}
	add("loop of 500 events", encode(b, synthetic(500)))
	var real [][]byte
	for _, f := range oracle.Files() {
		real = append(real, f.Bytes)
	}
	if len(real) > 0 {
		add(fmt.Sprintf("%d real files", len(real)), real...)
	}
	add("100k events", encode(b, synthetic(100_000)))
	add("1M events", encode(b, synthetic(1_000_000)))
	return list
}

func BenchmarkWalk(b *testing.B) {
	run(b, func(m material) func() {
		return func() {
			for _, src := range m.bytes {
				walk(src)
			}
		}
	})
}

func BenchmarkDecode(b *testing.B) {
	run(b, func(m material) func() {
		return func() {
			for _, src := range m.bytes {
				decode(b, src)
			}
		}
	})
}

func BenchmarkEncode(b *testing.B) {
	run(b, func(m material) func() {
		files := m.files(b)
		return func() {
			for _, f := range files {
				encode(b, f)
			}
		}
	})
}

func BenchmarkDecodeEncode(b *testing.B) {
	run(b, func(m material) func() {
		return func() {
			for _, src := range m.bytes {
				encode(b, decode(b, src))
			}
		}
	})
}

func BenchmarkPair(b *testing.B) {
	run(b, func(m material) func() {
		files := m.files(b)
		return func() {
			for _, f := range files {
				for i := range f.Tracks {
					f.Tracks[i].Pair()
				}
			}
		}
	})
}

func BenchmarkGomidiRead(b *testing.B) {
	run(b, func(m material) func() {
		return func() { m.theirs(b) }
	})
}

func BenchmarkGomidiWrite(b *testing.B) {
	run(b, func(m material) func() {
		theirs := m.theirs(b)
		return func() {
			for _, g := range theirs {
				if _, err := g.WriteTo(io.Discard); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}

func (m material) files(b *testing.B) (files []*smf.File) {
	for _, src := range m.bytes {
		files = append(files, decode(b, src))
	}
	return files
}

func (m material) theirs(b *testing.B) (files []*gomidi.SMF) {
	for _, src := range m.bytes {
		g, err := gomidi.ReadFrom(bytes.NewReader(src))
		if err != nil {
			b.Fatal(err)
		}
		files = append(files, g)
	}
	return files
}

// run measures one operation on all materials; it reports nanoseconds and allocations an event.
func run(b *testing.B, prepare func(material) func()) {
	for _, m := range materials(b) {
		b.Run(m.name, func(b *testing.B) {
			op := prepare(m)
			b.ReportAllocs()
			for b.Loop() {
				op()
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*m.events), "ns/event")
		})
	}
}

// BenchmarkRatio prints, in one run, what matters on any machine: the costs as multiples of W and
// of gomidi's, medians of interleaved passes; memory above the source in bytes an event; the
// first, cold pass, whose memory the system may have to provide; and touch, what it takes for
// that alone: on virtual machines it can be many W.
func BenchmarkRatio(b *testing.B) {
	for _, m := range append(materials(b), material{name: "10M events"}) {
		b.Run(m.name, func(b *testing.B) {
			if m.bytes == nil && testing.Short() {
				b.Skip("takes long")
			}
			if m.bytes == nil {
				src := encode(b, synthetic(10_000_000))
				m.bytes, m.events = [][]byte{src}, walk(src)
			}
			ratios(b, m)
		})
	}
}

func ratios(b *testing.B, m material) {
	// What the machine takes for 16 bytes an event that no process had before.
	start := time.Now()
	fresh := make([]byte, 16*m.events)
	for i := 0; i < len(fresh); i += 4096 {
		fresh[i] = 1
	}
	touch := time.Since(start)
	runtime.KeepAlive(fresh)
	runtime.GC()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start = time.Now()
	files := m.files(b)
	cold := time.Since(start)
	runtime.ReadMemStats(&after)

	gomidiToo := m.events <= 200_000 // its minutes are not worth it
	var theirs []*gomidi.SMF
	steps := []struct {
		name string
		do   func()
	}{
		{"W", func() {
			for _, src := range m.bytes {
				walk(src)
			}
		}},
		{"decode", func() {
			for _, src := range m.bytes {
				smf.Decode(src)
			}
		}},
		{"encode", func() {
			for _, f := range files {
				f.Encode()
			}
		}},
		{"read", func() { theirs = m.theirs(b) }},
		{"write", func() {
			for _, g := range theirs {
				g.WriteTo(io.Discard)
			}
		}},
	}
	if !gomidiToo {
		steps = steps[:3]
	}
	took := map[string][]time.Duration{}
	reps := max(1, 20_000/m.events)
	passes := 25
	if m.events > 5_000_000 {
		passes = 7
	}
	for range passes {
		for _, s := range steps {
			runtime.GC()
			start := time.Now()
			for range reps {
				s.do()
			}
			took[s.name] = append(took[s.name], time.Since(start)/time.Duration(reps))
		}
		theirs = nil // their million objects would keep the collector busy in the next pass
	}
	median := func(name string) float64 {
		slices.Sort(took[name])
		return float64(took[name][len(took[name])/2]) / float64(m.events)
	}
	w := median("W")
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(w, "W-ns/event")
	b.ReportMetric(median("decode")/w, "decode/W")
	b.ReportMetric(median("encode")/w, "encode/W")
	b.ReportMetric(float64(cold)/float64(m.events)/w, "cold-decode/W")
	b.ReportMetric(float64(touch)/float64(m.events)/w, "touch/W")
	b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(m.events), "B/event")
	b.ReportMetric(float64(after.Mallocs-before.Mallocs)/float64(m.events), "allocs/event")
	if gomidiToo {
		b.ReportMetric(median("read")/median("decode"), "gomidi-read/decode")
		b.ReportMetric(median("write")/median("encode"), "gomidi-write/encode")
	}
}
