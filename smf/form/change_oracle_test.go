package form_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
)

// TestNeighbouringPhrasesOfSongs prints how often neighbouring blocks of 8 bars of finished songs differ: in what is
// played alone, and so that it is heard. Blocks are counted from the first bar in which anything is struck; those that
// are not whole are left out.
func TestNeighbouringPhrasesOfSongs(t *testing.T) {
	var table strings.Builder
	var shares []int
	played, heard, all := 0, 0, 0
	files := oracle.OtherSongs(t)
	for _, f := range oracle.MarkedSongs(t) {
		files = append(files, f.File)
	}
	for _, f := range files {
		s := songIn(t, f.Bytes)
		e := energyOf(t, s)
		first := 1 + slices.IndexFunc(e.Bars, func(p form.Powers) bool { return !p.Sum().Silent() })
		var lines []int
		for bar := first + 8; bar+7 <= s.Bars(); bar += 8 {
			lines = append(lines, bar)
		}
		if len(lines) == 0 {
			continue
		}
		bare := s
		bare.Parts = nil
		rule := form.DefaultLineRule(8)
		p, h := 0, 0
		for i := range lines {
			if len(rule.ChangesAt(s, bare, form.Energy{}, lines)[i]) > 0 {
				p++
			}
			if len(rule.ChangesAt(s, bare, e, lines)[i]) > 0 {
				h++
			}
		}
		fmt.Fprintf(&table, "%-28s %3d lines, %3d %% change in notes, %3d %% are heard to change\n", f.Name, len(lines), 100*p/len(lines), 100*h/len(lines))
		played, heard, all, shares = played+p, heard+h, all+len(lines), append(shares, 100*h/len(lines))
	}
	slices.Sort(shares)
	t.Logf("neighbouring blocks of 8 bars:\n%sof %d lines %d %% change in notes, %d %% are heard to change; median of the songs %d %%", table.String(), all, 100*played/all, 100*heard/all, shares[len(shares)/2])
	// Most lines of finished songs are heard to change: a rule by which they do not asks too much.
	if 3*heard < 2*all || heard > played {
		t.Errorf("%d of %d lines are heard to change, %d change in notes", heard, all, played)
	}
}
