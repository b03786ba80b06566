package where_test

import (
	"testing"

	"loopdraft/moves/where"
	"loopdraft/smf"
)

func TestLengths(t *testing.T) {
	three := smf.NewTimeline(480, nil, []smf.MetreAt{{Tick: 2 * 1920, Metre: smf.Metre{Num: 3, Den: 4}}})
	for _, row := range []struct {
		rule, text string
		from       smf.Tick
		end        smf.Tick // of a stretch that starts at from
		start      smf.Tick // of one that ends there
	}{
		{"bars along bar lines", "2 bars", 1920, 1920 + 1920 + 1440, 0},
		{"beats", "3 beats", 1920, 1920 + 1440, 480},
		{"beats over a metre change", "5 beats", 3840, 3840 + 2400, 3840 - 2400},
		{"a note value in any metre", "3/16", 3840, 3840 + 360, 3840 - 360},
		{"a stretch cannot start before the song", "9 bars", 1920, 1920*2 + 8*1440, 0},
		{"nor by beats", "9 beats", 1920, 1920 + 9*480, 0},
		{"nor by note values", "9/1", 1920, 1920 * 10, 0},
	} {
		l := where.LengthOf(row.text)
		if got := l.End(three, row.from); got != row.end || l.Err() != nil {
			t.Errorf("%s: %s after %d ends at %d, want %d", row.rule, l, row.from, got, row.end)
		}
		if got := l.Start(three, row.from); got != row.start {
			t.Errorf("%s: %s before %d starts at %d, want %d", row.rule, l, row.from, got, row.start)
		}
	}
}

func parseLength(texts ...string) (where.Length, error) {
	var l where.Length
	err := l.UnmarshalTexts(texts)
	return l, err
}

func TestLengthTexts(t *testing.T) {
	for _, row := range []struct{ rule, text, want string }{
		{"one bar", "bar", "1 bar"},
		{"several", "8 bar", "8 bars"},
		{"one beat", "1 beats", "1 beat"},
		{"a note value stays as written", "2/4", "2/4"},
	} {
		l, err := parseLength(row.text)
		if err != nil || l.String() != row.want {
			t.Errorf("%s: %q is written %q (%v), want %q", row.rule, row.text, l, err, row.want)
		}
	}
	var none where.Length
	if !none.IsZero() || none.String() != "" || none.Texts() != nil || none.End(smf.NewTimeline(480, nil, nil), 7) != 7 {
		t.Errorf("the zero value is no length: %q", none)
	}
	if err := none.UnmarshalTexts([]string{"8 bars"}); err != nil || !none.Equal(where.LengthInBars(8)) {
		t.Errorf("got %q, %v", none, err)
	}
	if where.LengthOf("8").Err() == nil || where.LengthOf("8").IsZero() {
		t.Error("a literal that cannot be read has no error")
	}
	for _, texts := range [][]string{{}, {"1 bar", "2 bars"}} {
		if _, err := parseLength(texts...); err == nil {
			t.Errorf("%q was taken for a length", texts)
		}
	}
}
