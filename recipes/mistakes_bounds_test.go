package recipes

import (
	"strings"
	"testing"
	"time"
)

// Places in a long line are found from those before them: a recipe in one line is read as quickly as one in many.
func TestARecipeInOneLineIsReadAtOnce(t *testing.T) {
	const n = 30_000
	start := time.Now()
	_, err := Parse("line.yaml", []byte("sections: ["+strings.Repeat("{name: drop, bars: 1}, ", n)+"{name: é, bars: 0}]\n"))
	if err == nil || !strings.Contains(err.Error(), "line.yaml:1:690028: sections[30001].bars: found 0, want 1 to 9999 bars") {
		t.Errorf("got %.200v, want the place of what is wrong", err)
	}
	if took := time.Since(start); took > 5*time.Second { // it is 0.3 s; a minute where each place is found from the start of the line
		t.Errorf("it took %s", took)
	}
}
