package moves_test

import (
	"fmt"
	"regexp"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/option"
)

func TestEveryOptionSaysItsForm(t *testing.T) {
	named := map[string]string{}
	for _, m := range moves.All() {
		for _, o := range m.Options() {
			f, ok := o.Form()
			if !ok || f.Regexp() == "" && f.Words == nil && !f.Open {
				t.Errorf("%s.%s: its type says no form; give it a method Form", m.Name(), o.Name)
			}
			if text := fmt.Sprint(f); f.Name != "" && named[f.Name] != "" && named[f.Name] != text {
				t.Errorf("%s.%s: two forms are named %s", m.Name(), o.Name, f.Name)
			} else {
				named[f.Name] = text
			}
		}
	}
}

func TestForms(t *testing.T) {
	for _, row := range []struct {
		rule       string
		form       option.Form
		takes, not []string
	}{
		{"lengths of notes", moves.NoteLength{}.Form(), []string{"50%", "1/16"}, []string{"0%", "1/99", "50"}},
		{"deviations", moves.Deviation{}.Form(), []string{"0", "30"}, []string{"31", "-1"}},
		{"intervals", moves.Interval{}.Form(), []string{"-127", "0", "127"}, []string{"128", "-128", "1.5"}},
		{"offsets", moves.Offset{}.Form(), []string{"1/16", "-1/32", "10 ticks", "-1 tick", "100000 ticks"}, []string{"", "10", "0 ticks", "100001 ticks", "--1 tick"}},
		{"tempi", moves.TempoValue{}.Form(), []string{"4", "126.5", "999.000", "96%"}, []string{"3.999", "999.001", "1000", "0%", "126.", "1.2345"}},
	} {
		re := regexp.MustCompile(row.form.Regexp())
		for _, text := range row.takes {
			if !re.MatchString(text) {
				t.Errorf("%s: %q is refused", row.rule, text)
			}
		}
		for _, text := range row.not {
			if re.MatchString(text) {
				t.Errorf("%s: %q is taken", row.rule, text)
			}
		}
	}
}

func TestHintsAreValid(t *testing.T) {
	for _, row := range []struct{ move, option, text, hint string }{
		{"thin", "keep", "50", "50%"},
		{"thin", "keep", "0", ""},
		{"thin", "keep", "150", ""},
		{"double", "velocity", "150", "150%"},
		{"double", "velocity", "1500", ""},
		{"extend", "to", "64", "64 bars"},
		{"extend", "to", "0", ""},
		{"extend", "to", "10000", ""},
		{"extend", "to", "5 minutes", "5m"},
		{"extend", "to", "-5 minutes", ""},
	} {
		m, _ := moves.All().Lookup(row.move)
		err, ok := m.Set(m.New(), row.option, []string{row.text}, false).(*option.Mistake)
		if !ok || err.Hint != row.hint {
			t.Errorf("%s.%s: %s: got %v, want the hint %q", row.move, row.option, row.text, err, row.hint)
			continue
		}
		if row.hint != "" && m.Set(m.New(), row.option, []string{row.hint}, false) != nil {
			t.Errorf("%s.%s: the hint %s is none", row.move, row.option, row.hint)
		}
	}
}

func TestSharesHaveTheirOwnRange(t *testing.T) {
	m, _ := moves.All().Lookup("thin")
	want, _ := m.Option("keep")
	for _, row := range []struct {
		text string
		ok   bool
	}{{"0%", false}, {"0.01%", true}, {"100%", true}, {"100.01%", false}, {"150%", false}} {
		err := m.Set(m.New(), "keep", []string{row.text}, false)
		if ok := err == nil; ok != row.ok {
			t.Errorf("%s: got %v", row.text, err)
		}
		if text := fmt.Sprintf("keep: found %q, want %s", row.text, want.Want); !row.ok && err.Error() != text {
			t.Errorf("got %v, want %s", err, text)
		}
	}
}
