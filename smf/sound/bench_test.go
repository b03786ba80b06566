package sound

import (
	"bytes"
	"io"
	"runtime"
	"testing"
	"time"
)

// again reads some bytes over and over, without keeping more than one copy.
type again struct {
	head, body []byte
	times      int
}

func (a *again) Read(p []byte) (int, error) {
	if len(a.head) == 0 {
		if a.times == 0 {
			return 0, io.EOF
		}
		a.head, a.times = a.body, a.times-1
	}
	n := copy(p, a.head)
	a.head = a.head[n:]
	return n, nil
}

// hours returns an hour of 44.1 kHz stereo, read from a minute of it, in each format; of MP3 it is six minutes. With -short,
// which asks whether it runs, it is a minute, and of MP3 some seconds.
func hours(b *testing.B) map[string]func() io.Reader {
	p := newPlayer(44100, 60)
	p.club(0, 128, 32, middle)
	pcm := p.pcm()
	head := wavFile(1, 44100, 2, 16, nil)
	copy(head[40:], "\xff\xff\xff\xff")
	minutes, mp3 := 60, exampleMP3(b, "classic.mp3")
	if testing.Short() {
		minutes, mp3 = 1, mp3[:300_000]
	}
	return map[string]func() io.Reader{
		"wav": func() io.Reader { return &again{head, pcm, minutes} },
		"mp3": func() io.Reader { return bytes.NewReader(mp3) },
	}
}

// BenchmarkListenRatio hears an hour of 44.1 kHz stereo (six minutes of MP3) and reports the seconds an hour
// takes, how many times as long as decoding alone it takes, and the most memory in use.
func BenchmarkListenRatio(b *testing.B) {
	for what, file := range hours(b) {
		b.Run(what, func(b *testing.B) {
			for b.Loop() {
				start := time.Now()
				s, err := open(file())
				if err != nil {
					b.Fatal(err)
				}
				l, r := make([]float64, framesInOneRead), make([]float64, framesInOneRead)
				for err == nil {
					_, err = s.read(l, r)
				}
				decoding := time.Since(start)
				runtime.GC()
				start = time.Now()
				h, err := Listen(file(), Options{})
				if err != nil {
					b.Fatal(err)
				}
				hearing := time.Since(start)
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				b.ReportMetric(hearing.Seconds()*3600/h.Seconds, "s/hour")
				b.ReportMetric(hearing.Seconds()/decoding.Seconds(), "x-decoding")
				b.ReportMetric(float64(m.Sys)/(1<<20), "MiB")
			}
		})
	}
}
