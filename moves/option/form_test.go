package option_test

import (
	"loopdraft/moves/option"
	"regexp"
	"strconv"
	"testing"
)

func TestForms(t *testing.T) {
	for _, row := range []struct {
		rule       string
		form       option.Form
		takes, not []string
	}{
		{"seeds", option.Seed{}.Form(), []string{"0", "18446744073709551615"}, []string{"", "-1", "18446744073709551616", "1e3"}},
		{"shares", option.Form{Pattern: option.SharePattern(0, 10*option.Whole)}, []string{"0%", "66.7%", "99.99%", "1000%", "1000.00%"}, []string{"", "50", "1000.1%", "1001%", "5.%", "1.234%", "-1%"}},
		{"shares that are not nothing", option.Form{Pattern: option.SharePattern(1, option.Whole)}, []string{"0.01%", "0.1%", "0.10%", "1%", "100.0%"}, []string{"0%", "0.0%", "0.00%", "100.01%", "101%"}},
		{"two shares", option.Shares{}.Form(), []string{"40%..105%", "40%"}, []string{"40..105%", "40%-105%", "40%..", "40%..105%..3%"}},
		{"note values", option.NoteValue{}.Form(), []string{"1/16", "64/64"}, []string{"1/65", "0/4", "1/0", "1", "1/4/4"}},
		{"controllers", option.ControllerName{}.Form(), []string{"1", "5", "33", "119"}, []string{"0", "6", "32", "38", "96", "101", "120", "cutof"}},
		{"values of controllers", option.ControlValue{}.Form(), []string{"0", "16383", "35%", "home+40", "home-16383"}, []string{"16384", "-1", "home40", "home+16384", "hom"}},
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

func TestDigitsBetweenIsExact(t *testing.T) {
	for _, r := range []struct{ low, high uint64 }{{0, 0}, {0, 9}, {0, 127}, {1, 1}, {1, 64}, {7, 31}, {39, 95}, {96, 101}, {99, 1001}, {100, 999}, {123, 4567}, {1, 9999}} {
		re := regexp.MustCompile("^(?:" + option.DigitsBetween(r.low, r.high) + ")$")
		for n := range uint64(11_000) {
			if want := n >= r.low && n <= r.high; re.MatchString(strconv.FormatUint(n, 10)) != want || re.MatchString("00"+strconv.FormatUint(n, 10)) != want {
				t.Fatalf("%d to %d: %d is taken: %v", r.low, r.high, n, !want)
			}
		}
	}
}
