package moves_test

import (
	"testing"

	"loopdraft/moves"
)

func TestBars(t *testing.T) {
	m, _ := moves.All().Lookup("freshen")
	for _, row := range []struct{ text, want string }{
		{"1 bar", ""}, {"8 bars", ""}, {"9999 bars", ""},
		{"10000 bars", `every: found "10000 bars", want a length of 1 to 9999 bars such as 8 bars`},
		{"0 bars", `every: found "0 bars", want a length of 1 to 9999 bars such as 8 bars`},
		{"8", `every: found "8", want a length of 1 to 9999 bars such as 8 bars; did you mean "8 bars"?`},
		{"2 beats", `every: found "2 beats", want a length of 1 to 9999 bars such as 8 bars`},
		{"1/2", `every: found "1/2", want a length of 1 to 9999 bars such as 8 bars`},
	} {
		got := ""
		if err := m.Set(m.New(), "every", []string{row.text}, false); err != nil {
			got = err.Error()
		}
		if got != row.want {
			t.Errorf("%s: got %q, want %q", row.text, got, row.want)
		}
	}
}

func TestWords(t *testing.T) {
	m, _ := moves.All().Lookup("lead-in")
	for _, row := range []struct {
		texts []string
		want  string // the error, "" for none
	}{
		{[]string{"fill"}, ""},
		{[]string{"fill", "roll", "fill"}, ""},
		{[]string{"fill", "rol"}, `with: found "rol", want one of kick-out, bass-out, double, fill, roll, swell, ride, gap; did you mean "roll"?`},
		{nil, "with: found an empty list, want one of kick-out, bass-out, double, fill, roll, swell, ride, gap"},
	} {
		got := ""
		if err := m.Set(m.New(), "with", row.texts, true); err != nil {
			got = err.Error()
		}
		if got != row.want {
			t.Errorf("%q: got %q, want %q", row.texts, got, row.want)
		}
	}
}
