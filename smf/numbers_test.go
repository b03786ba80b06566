package smf_test

import (
	"testing"

	"loopdraft/smf"
)

func TestParseDecimal(t *testing.T) {
	for _, row := range []struct {
		text     string
		decimals int
		want     int64 // -1: none
	}{
		{"126", 3, 126_000}, {"126.5", 3, 126_500}, {"126.125", 3, 126_125}, {"0.004", 3, 4}, {"007", 0, 7}, {"66.7", 2, 6670},
		{"126.1255", 3, -1}, {"126.", 3, -1}, {".5", 3, -1}, {"", 3, -1}, {".", 3, -1}, {"1.5.2", 3, -1}, {"-4", 3, -1}, {"+4", 3, -1},
		{"1.+5", 3, -1}, {" 4", 3, -1}, {"4e3", 3, -1}, {"0x10", 3, -1}, {"1_000", 3, -1}, {"４", 3, -1}, {"7.0", 0, -1},
		{"9223372036854775.807", 3, 9223372036854775807}, {"9223372036854775.808", 3, -1}, {"99999999999999999999", 3, -1},
	} {
		got, ok := smf.ParseDecimal(row.text, row.decimals)
		if ok != (row.want >= 0) || ok && got != row.want {
			t.Errorf("%q with %d decimals: got %d, %v, want %d", row.text, row.decimals, got, ok, row.want)
		}
		if !ok {
			continue
		}
		text := smf.DecimalText(got, row.decimals)
		if again, ok := smf.ParseDecimal(text, row.decimals); !ok || again != got {
			t.Errorf("%q is written as %q, which reads as %d", row.text, text, again)
		}
	}
	for n, want := range map[int64]string{126_500: "126.5", 126_050: "126.05", 120_000: "120", 7: "0.007", 0: "0"} {
		if got := smf.DecimalText(n, 3); got != want {
			t.Errorf("%d thousandths: got %s, want %s", n, got, want)
		}
	}
}

func TestParseTempoAndMetre(t *testing.T) {
	for text, want := range map[string]bool{"4": true, "3.999": false, "999": true, "999.001": false, "fast": false} {
		if _, ok := smf.ParseTempo(text); ok != want {
			t.Errorf("tempo %s: got %v, want %v", text, ok, want)
		}
	}
	for text, want := range map[string]smf.Metre{"7/8": {Num: 7, Den: 8}, "255/64": {Num: 255, Den: 64}, "1/1": {Num: 1, Den: 1}, "0/4": {}, "256/4": {}, "4/3": {}, "4/128": {}, "4/0": {}, "4": {}, "4/4/4": {}, "-4/4": {}, "4 /4": {}} {
		if got, ok := smf.ParseMetre(text); got != want || ok != (want != smf.Metre{}) {
			t.Errorf("metre %s: got %v, %v", text, got, ok)
		}
	}
}
