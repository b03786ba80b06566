package recipes_test

import (
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
)

func BenchmarkParseClub(b *testing.B) {
	text, _ := recipes.BuiltinText("club")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := recipes.Parse("club", text); err != nil {
			b.Fatal(err)
		}
	}
}

// harbourLights is an eight-bar loop of eleven parts.
func harbourLights(b *testing.B) []recipes.Input {
	for _, d := range demoLoops(b) {
		if d.Name == "harbour-lights.mid" {
			return []recipes.Input{d}
		}
	}
	b.Fatal("found no harbour-lights.mid")
	return nil
}

// BenchmarkDraftClub drafts an eight-bar loop of eleven parts to 192 bars.
func BenchmarkDraftClub(b *testing.B) {
	in := harbourLights(b)
	r := club(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := recipes.Draft(in, r, recipes.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkTakesClub makes twenty takes of that draft, one after the other.
func BenchmarkTakesClub(b *testing.B) {
	in := harbourLights(b)
	r := club(b)
	b.ReportAllocs()
	for b.Loop() {
		takes, err := recipes.NewTakes(in, r, recipes.Options{})
		if err != nil {
			b.Fatal(err)
		}
		for k := range 20 {
			if _, err := takes.Draft(k + 1); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func BenchmarkWriteRecipe(b *testing.B) {
	got, err := recipes.Draft([]recipes.Input{loopOf(b, clubRows())}, club(b), recipes.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		got.WriteRecipe()
	}
}

// BenchmarkReviewClub reviews that draft as a draft and as a file, without looking for answers.
func BenchmarkReviewClub(b *testing.B) {
	r := club(b)
	got, err := recipes.Draft([]recipes.Input{loopOf(b, clubRows())}, r, recipes.Options{})
	if err != nil {
		b.Fatal(err)
	}
	o := review.Options{Checks: r.Checks(), Bare: true}
	for _, in := range []struct {
		as string
		review.Input
	}{{"draft", got.ToReview()}, {"file", review.Input{Song: got.Song}}} {
		b.Run(in.as, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := review.Review(in.Input, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
