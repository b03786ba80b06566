package moves_test

import (
	"testing"

	"loopdraft/moves"
)

func TestWords(t *testing.T) {
	m, _ := moves.Lookup("lead-in")
	for _, row := range []struct {
		texts []string
		want  string // the error, "" for none
	}{
		{[]string{"fill"}, ""},
		{[]string{"fill", "roll", "fill"}, ""},
		{[]string{"fill", "rol"}, `with: found "rol", want one or more of kick-out, bass-out, double, fill, roll, swell, ride, gap; did you mean "roll"?`},
		{nil, "with: found an empty list, want one or more of kick-out, bass-out, double, fill, roll, swell, ride, gap"},
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
