package recipes_test

import (
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
)

// FuzzDraft drafts random recipes on arbitrary files: never a panic, and the laws hold.
func FuzzDraft(f *testing.F) {
	for i, in := range demoLoops(f) {
		data, err := in.File.Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, uint64(i))
	}
	f.Fuzz(func(t *testing.T, data []byte, seed uint64) {
		file, err := smf.Decode(data)
		if err != nil {
			return
		}
		for _, track := range file.Tracks { // long files take long and show nothing more
			if len(track.Events) > 400 || track.End > 1<<16 {
				return
			}
		}
		c := newChooser(seed)
		text := c.recipe()
		r, err := recipes.Parse("random.yaml", []byte(text))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		r.Builtin = c.IntN(3) == 0 && hasLength(r) // as every built-in recipe has
		checkLaws(t, []recipes.Input{{Name: "fuzz.mid", File: file}}, r, recipes.Options{})
		if t.Failed() {
			t.Log(text)
		}
	})
}
