package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Of thousands of mistakes in a recipe a hundred are told, and how many more there are.
func TestAHundredMistakesAreTold(t *testing.T) {
	recipe := filepath.Join(t.TempDir(), "many.yaml")
	for _, row := range []struct {
		mistakes int
		last     string
	}{{100, `unknown key "k99"`}, {30_000, "many.yaml: 29900 more mistakes"}} {
		var text, said strings.Builder
		for i := range row.mistakes {
			fmt.Fprintf(&text, "k%d: 1\n", i)
		}
		if err := os.WriteFile(recipe, []byte(text.String()), 0o666); err != nil {
			t.Fatal(err)
		}
		loop := filepath.Join("..", "..", "testdata", "loops", "kick-bass.mid")
		code := run([]string{"draft", loop, "--recipe", recipe}, nil, io.Discard, &said, func(string) string { return "" })
		told := strings.Count(said.String(), "unknown key")
		at := strings.LastIndex(said.String(), program+": ")
		if code != exitFailure || told != 100 || at < 0 || !strings.Contains(said.String()[at:], row.last) {
			t.Errorf("%d mistakes: got exit code %d, %d told, the last %q; want 100, the last %q", row.mistakes, code, told, said.String()[max(at, 0):], row.last)
		}
	}
}
