package picture

import (
	"fmt"
	"testing"

	"loopdraft/smf/song"
)

// counter counts the bytes that reach it.
type counter int

func (c *counter) Write(p []byte) (int, error) {
	*c += counter(len(p))
	return len(p), nil
}

func TestOddSongsHaveNoPage(t *testing.T) {
	for rule, s := range map[string]song.Song{
		"no bars":           blank(0, 120, fourFour()),
		"far too many bars": blank(1_000_000, 120, fourFour()),
	} {
		var n counter
		if err := HTML(&n, s, Chart{}); err == nil || n > 0 {
			t.Errorf("%s: found error %v and %d bytes, want an error and nothing written", rule, err, n)
		}
	}
}

// BenchmarkHTML shows that pages cost and weigh in proportion to their notes.
func BenchmarkHTML(b *testing.B) {
	for _, bars := range []int{75, 150, 300, 600} {
		if testing.Short() && bars > 75 {
			break
		}
		s := large(bars, 40, 30)
		notes := 0
		for _, p := range s.Parts {
			notes += len(p.Notes)
		}
		b.Run(fmt.Sprintf("%d notes", notes), func(b *testing.B) {
			b.ReportAllocs()
			var n counter
			for b.Loop() {
				n = 0
				if err := HTML(&n, s, Chart{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
			b.ReportMetric(float64(n)/float64(notes), "bytes/note")
		})
	}
}
