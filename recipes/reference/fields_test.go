package reference_test

import (
	"fmt"
	"math/big"
	"testing"

	"loopdraft/recipes"
	"loopdraft/recipes/reference"

	"github.com/google/go-cmp/cmp"
)

// What a field says of an option holds when the option is set.
func TestFieldsSayWhatIsTaken(t *testing.T) {
	kinds := map[string]int{}
	for _, m := range recipes.Catalogue() {
		for _, f := range reference.Fields(m) {
			takes := func(text string) bool { return m.Set(m.New(), f.Name, []string{text}, false) == nil }
			kinds[f.Kind]++
			if f.Default != "" && !takes(f.Default) {
				t.Errorf("%s.%s does not take its default %q", m.Name(), f.Name, f.Default)
			}
			switch f.Kind {
			case "words":
				for _, w := range f.Words {
					if !takes(w) {
						t.Errorf("%s.%s does not take %q", m.Name(), f.Name, w)
					}
				}
				if takes("nonsense") {
					t.Errorf("%s.%s takes nonsense", m.Name(), f.Name)
				}
			case "number":
				over := new(big.Int).Add(new(big.Int).SetUint64(f.High), big.NewInt(1))
				if !takes(fmt.Sprint(f.Low)) || !takes(fmt.Sprint(f.High)) || takes(fmt.Sprint(f.Low-1)) || takes(over.String()) {
					t.Errorf("%s.%s does not go from %d to %d", m.Name(), f.Name, f.Low, f.High)
				}
			case "part":
				if !takes("hat or kick if any") || takes("hat from 9") {
					t.Errorf("%s.%s does not take parts", m.Name(), f.Name)
				}
			case "span":
				if !takes("last 2 bars of drop") || takes("end") {
					t.Errorf("%s.%s does not take spans", m.Name(), f.Name)
				}
			case "place":
				if !takes("end of drop") || takes("[") {
					t.Errorf("%s.%s does not take places", m.Name(), f.Name)
				}
			}
		}
	}
	for _, kind := range []string{"words", "number", "part", "span", "place", "text"} {
		if kinds[kind] == 0 {
			t.Errorf("no option is a %s", kind)
		}
	}
	t.Log(kinds)
}

func TestFields(t *testing.T) {
	m, _ := recipes.Catalogue().Lookup("shift")
	var got []string
	for _, f := range reference.Fields(m) {
		got = append(got, fmt.Sprint(f.Name, ": ", f.Kind, " ", f.Words, " ", f.Required, " ", f.List))
	}
	want := []string{"part: part [] true true", "over: span [] false true", "except: span [] false true", "by: text [] true false", "edges: words [wrap clip] false false"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}
