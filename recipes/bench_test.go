package recipes

import "testing"

func BenchmarkParseClub(b *testing.B) {
	text, _ := BuiltinText("club")
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse("club", text); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDraftClub drafts an eight-bar loop of eleven parts to 192 bars.
func BenchmarkDraftClub(b *testing.B) {
	var in []Input
	for _, d := range demoLoops(b) {
		if d.Name == "harbour-lights.mid" {
			in = append(in, d)
		}
	}
	r := club(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Draft(in, r, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWriteRecipe(b *testing.B) {
	got, err := Draft([]Input{loopOf(b, clubRows())}, club(b), Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		got.WriteRecipe()
	}
}
