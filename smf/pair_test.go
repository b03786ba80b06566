package smf_test

import (
	"slices"
	"testing"

	"loopdraft/smf"
)

func TestPair(t *testing.T) {
	for _, row := range []struct {
		name, hex string
		notes     []smf.NotePair
		loose     []int
	}{
		{"nothing", "", nil, nil},
		{"both forms of note-off", "00 90 3C 40 10 3C 00  00 90 3C 40 10 80 3C 40",
			[]smf.NotePair{{0, 1}, {2, 3}}, nil},
		{"one key struck twice: first on, first off", "00 90 3C 40 10 3C 41 10 3C 00 10 3C 00",
			[]smf.NotePair{{0, 2}, {1, 3}}, nil},
		{"three at once, and one after", "00 90 3C 40 00 3C 41 00 3C 42 10 3C 00 00 3C 00 00 3C 43 10 3C 00 00 3C 00",
			[]smf.NotePair{{0, 3}, {1, 4}, {2, 6}, {5, 7}}, nil},
		{"the same key on another channel is another note", "00 90 3C 40 00 91 3C 40 10 81 3C 40 10 80 3C 40",
			[]smf.NotePair{{0, 3}, {1, 2}}, nil},
		{"chords, closed in another order", "00 90 3C 40 00 40 40 10 40 00 10 3C 00",
			[]smf.NotePair{{0, 3}, {1, 2}}, nil},
		{"an off before the on of the same tick closes the note before", "00 90 3C 40 10 3C 00 00 3C 40 10 3C 00",
			[]smf.NotePair{{0, 1}, {2, 3}}, nil},
		{"an on before the off of the same tick still waits for its own", "00 90 3C 40 10 3C 40 00 3C 00 10 3C 00",
			[]smf.NotePair{{0, 2}, {1, 3}}, nil},
		{"a note of no length", "00 90 3C 40 00 3C 00", []smf.NotePair{{0, 1}}, nil},
		{"never closed", "00 90 3C 40 10 3C 41 10 3C 00", []smf.NotePair{{0, 2}, {1, -1}}, nil},
		{"offs without notes", "00 90 3C 00 00 80 3C 40 00 90 3C 40 10 3C 00 00 3C 00",
			[]smf.NotePair{{2, 3}}, []int{0, 1, 4}},
		{"other events do not count", "00 90 3C 40 00 A0 3C 00 00 B0 3C 00 00 FF 01 01 3C 10 80 3C 00",
			[]smf.NotePair{{0, 4}}, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := decode(t, file(t, 0, row.hex+" 00 FF 2F 00"))
			got := f.Tracks[0].Pair()
			if !slices.Equal(got.Notes, row.notes) || !slices.Equal(got.Loose, row.loose) {
				t.Errorf("notes %v, loose %v\nwant  %v, loose %v", got.Notes, got.Loose, row.notes, row.loose)
			}
		})
	}
}

// Against the definition, spelled out: for each key a list of open notes, the first of which each
// note-off closes.
func TestPairAgainstItsDefinition(t *testing.T) {
	d := dice(1)
	for range 200 {
		var track smf.Track
		for i := range 1 + d.below(60) {
			track.Append(smf.Channel(smf.Tick(i/3), byte(0x80+d.below(2)<<4+d.below(2)), byte(60+d.below(2)), byte(d.below(3))))
		}
		var want smf.Pairing
		open := map[[2]byte][]int{}
		for i, e := range track.Events {
			key := [2]byte{e.Chan(), e.Data1()}
			switch {
			case e.IsOn():
				open[key] = append(open[key], len(want.Notes))
				want.Notes = append(want.Notes, smf.NotePair{On: i, Off: -1})
			case len(open[key]) == 0:
				want.Loose = append(want.Loose, i)
			default:
				want.Notes[open[key][0]].Off = i
				open[key] = open[key][1:]
			}
		}
		got := track.Pair()
		if !slices.Equal(got.Notes, want.Notes) || !slices.Equal(got.Loose, want.Loose) {
			t.Fatalf("%s\ngot  %v\nwant %v", list(&track), got, want)
		}
	}
}
