package review_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/review"
)

// BenchmarkReview reviews songs of more and more bars without looking for answers, and then one with answers.
func BenchmarkReview(b *testing.B) {
	for _, times := range []int{1, 10, 100} {
		form := strings.TrimPrefix(strings.Repeat(", "+goodForm, times), ", ")
		s := row{music: `
			kick x...x...x...x...
			hat  oxoxoxoxoxoxoxox
			bass ..x-..x-..x-..x-
			pad  x---------------`, sections: form}.song(b, 0)
		notes := 0
		for _, p := range s.Parts {
			notes += len(p.Notes)
		}
		b.Run(fmt.Sprintf("notes=%d", notes), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := review.Review(review.Input{Song: s}, review.Options{Bare: true}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(notes), "ns/note")
		})
	}
	s := row{music: goodMusic, sections: "intro 16, break 8, groove 8, drop 8, build 8, outro 16"}.song(b, 0)
	b.Run("with answers", func(b *testing.B) {
		for b.Loop() {
			if _, err := review.Review(review.Input{Song: s}, review.Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
