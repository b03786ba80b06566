package review_test

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// brokenNote is a note that is broken, as somebody counts who has only messages.
type brokenNote struct {
	track, channel, key int
	tick                int64
}

// told counts what is broken in a file as another reader reads it.
type told struct {
	hung, overlaps, empty []brokenNote
	away                  []string // controllers left away from their default, else from what they were at the first note
	markers               int      // off the bar line
}

// heardByMido looks for broken things in messages, by nothing of this project: notes are paired first on,
// first off.
func heardByMido(tracks oracle.Tracks, barLine func(tick int64) bool) told {
	var out told
	for t, events := range tracks {
		open := map[[2]int][]brokenNote{}
		set, early := map[string]int{}, map[string]int{} // by track, channel and controller
		first := map[int]int64{}                         // note of each channel
		for _, e := range slices.Backward(events) {
			if m := e.Message; m[0]&0xF0 == 0x90 && m[2] > 0 {
				first[int(m[0]&0x0F)] = e.Tick
			}
		}
		put := func(e oracle.Event, channel int, name string, value int) {
			name = fmt.Sprintf("%d/%d/%s", t, channel, name)
			set[name] = value
			if e.Tick <= first[channel] {
				early[name] = value
			}
		}
		starts, ends := map[int][]int64{}, map[int][]int64{}
		notes := 0
		for _, e := range events {
			m := e.Message
			kind, channel := int(m[0]&0xF0), int(m[0]&0x0F)
			switch {
			case kind == 0x90 && m[2] > 0:
				key := [2]int{channel, int(m[1])}
				open[key] = append(open[key], brokenNote{t, channel, int(m[1]), e.Tick})
				starts[channel<<7|int(m[1])] = append(starts[channel<<7|int(m[1])], e.Tick)
				notes++
			case kind == 0x80 || kind == 0x90:
				key := [2]int{channel, int(m[1])}
				if len(open[key]) > 0 {
					open[key] = open[key][1:]
					ends[channel<<7|int(m[1])] = append(ends[channel<<7|int(m[1])], e.Tick)
				}
			case kind == 0xB0 && m[1] < 120 && !slices.Contains([]byte{0, 6, 7, 10, 32, 38, 96, 97, 98, 99, 100, 101}, m[1]):
				put(e, channel, fmt.Sprint(m[1]), int(m[2]))
			case kind == 0xE0:
				put(e, channel, "bend", int(m[1])|int(m[2])<<7)
			case kind == 0xD0:
				put(e, channel, "pressure", int(m[1]))
			case m[0] == 0xFF && m[1] == 6 && !barLine(e.Tick):
				out.markers++
			}
		}
		for _, left := range open {
			out.hung = append(out.hung, left...)
		}
		for key, on := range starts { // the n-th on pairs with the n-th off
			last := int64(-1)
			for i, start := range on {
				if start < last {
					out.overlaps = append(out.overlaps, brokenNote{t, key >> 7, key & 127, start})
				}
				end := events[len(events)-1].Tick
				if i < len(ends[key]) {
					end = ends[key][i]
				} else if i+1 < len(on) {
					end = on[i+1]
				}
				last = max(last, end)
			}
		}
		if notes == 0 && t > 0 {
			out.empty = append(out.empty, brokenNote{track: t})
		}
		for name, v := range set {
			word := name[strings.LastIndex(name, "/")+1:]
			home, known := map[string]int{"1": 0, "11": 127, "64": 0, "65": 0, "66": 0, "67": 0, "bend": 8192, "pressure": 0}[word]
			if !known {
				home, known = early[name]
			}
			far, least := max(v-home, home-v), 1
			if word == "bend" {
				least = 128
			}
			pedalUp := slices.Contains([]string{"64", "65", "66", "67"}, word) && v < 64
			var channel int
			fmt.Sscanf(name, "%d/%d", new(int), &channel)
			if _, plays := first[channel]; plays && known && far >= least && !pedalUp {
				out.away = append(out.away, fmt.Sprintf("%s=%d", name, v))
			}
		}
	}
	for _, list := range []*[]brokenNote{&out.hung, &out.overlaps} {
		slices.SortFunc(*list, func(a, b brokenNote) int {
			return cmp.Or(cmp.Compare(a.track, b.track), cmp.Compare(a.tick, b.tick), cmp.Compare(a.channel, b.channel), cmp.Compare(a.key, b.key))
		})
	}
	slices.Sort(out.away)
	return out
}

// damaged returns a file without every 37th channel event, note-offs among them, and without controllers and
// bends in its second half.
func damaged(t *testing.T, data []byte) []byte {
	t.Helper()
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range f.Tracks {
		tr := &f.Tracks[i]
		events := slices.DeleteFunc(slices.Clone(tr.Events), func(e smf.Event) bool {
			n++
			late := e.Tick > tr.End/2 && e.IsChannel() && !e.IsOn() && !e.IsOff()
			return late || e.IsChannel() && n%37 == 0
		})
		*tr = smf.TrackFromStore(events, tr.End, tr.LongStore())
	}
	out, err := f.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestBrokenThingsOfRealFiles holds the rules for broken things against what is counted in the messages that
// an independent reader finds in 31 real songs, and in the same with events left out: note for note,
// controller for controller, by tracks and by markers.
func TestBrokenThingsOfRealFiles(t *testing.T) {
	var files []oracle.File
	var paths []string
	songs := oracle.Songs(t)
	if len(songs) != 31 {
		t.Fatalf("found %d files, want 31", len(songs))
	}
	every := oracle.Size(14, 1, 1) // a first run takes some of them, none with an empty track
	for i := 0; i < len(songs); i += every {
		files, paths = append(files, songs[i]), append(paths, songs[i].Path)
	}
	for _, f := range slices.Clone(files) {
		f.Name, f.Bytes = "damaged "+f.Name, damaged(t, f.Bytes)
		f.Path = filepath.Join(t.TempDir(), "damaged.mid")
		if err := os.WriteFile(f.Path, f.Bytes, 0o644); err != nil {
			t.Fatal(err)
		}
		files, paths = append(files, f), append(paths, f.Path)
	}
	broken := []review.Check{&review.Hung{}, &review.Overlap{}, &review.ControllerHome{Steps: 1}, &review.EmptyTrack{}, &review.MarkerOnLine{}}
	sum := map[string]int{}
	for i, reading := range oracle.MidoEach(t, paths...) {
		if reading.Err != nil {
			t.Logf("%s: mido does not read it: %v", files[i].Name, reading.Err)
			sum["unread"]++
			continue
		}
		f, err := smf.Decode(files[i].Bytes)
		if err != nil {
			t.Fatal(err)
		}
		s, err := song.From(f)
		if err != nil {
			t.Fatal(err)
		}
		if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
			t.Fatal(err)
		}
		got, err := review.Review(review.Input{Song: s}, review.Options{Checks: broken, Bare: true})
		if err != nil {
			t.Fatal(err)
		}
		want := heardByMido(reading.Tracks, func(tick int64) bool { return s.Time().IsBarLine(song.Tick(tick)) })
		compareNotes(t, files[i].Name, s, ofRule(got, "hung"), want.hung)
		compareNotes(t, files[i].Name, s, ofRule(got, "overlap"), want.overlaps)
		var away []string
		for _, f := range ofRule(got, "controller") {
			id, err := option.ParseController(f.About)
			if err != nil {
				t.Fatal(err)
			}
			word := map[song.Controller]string{song.Bend: "bend", song.Pressure: "pressure"}[id]
			if word == "" {
				word = fmt.Sprint(int(id))
			}
			p := s.Parts[s.Index(f.Parts[0])]
			away = append(away, fmt.Sprintf("%d/%d/%s=%.0f", p.Track, p.Channel, word, f.Found))
		}
		slices.Sort(away)
		if !slices.Equal(away, want.away) {
			t.Errorf("%s: away from home are %v, the other reader has %v", files[i].Name, away, want.away)
		}
		if n := len(ofRule(got, "empty-track")); n != len(want.empty) {
			t.Errorf("%s: %d empty tracks, the other reader has %d", files[i].Name, n, len(want.empty))
		}
		if n := len(ofRule(got, "marker")); n != want.markers {
			t.Errorf("%s: %d markers off the line, the other reader has %d", files[i].Name, n, want.markers)
		}
		sum["hung"] += len(want.hung)
		sum["overlaps"] += len(want.overlaps)
		sum["away"] += len(want.away)
		sum["empty"] += len(want.empty)
		sum["markers"] += want.markers
	}
	t.Logf("agreed on %v", sum)
	if sum["hung"] == 0 || sum["overlaps"] == 0 || sum["away"] == 0 || sum["empty"] == 0 && every == 1 {
		t.Errorf("nothing was compared: %v", sum)
	}
}

// compareNotes holds findings of broken notes against a list of them: each is in a finding of its part, or of several,
// and bars, and findings count as many as there are.
func compareNotes(t *testing.T, file string, s song.Song, got []review.Finding, want []brokenNote) {
	t.Helper()
	counts := make([]int, len(got))
	for _, n := range want {
		at := slices.IndexFunc(got, func(f review.Finding) bool {
			bar := s.Time().BarOf(s.Counted(song.Tick(n.tick)))
			return bar >= f.First && min(bar, s.Bars()) <= f.Last && slices.ContainsFunc(f.Parts, func(name string) bool {
				p := s.Parts[s.Index(name)]
				return p.Track == n.track && int(p.Channel) == n.channel &&
					slices.ContainsFunc(p.Notes, func(m song.Note) bool { return int64(m.Start) == n.tick && int(m.Key) == n.key })
			})
		})
		if at < 0 {
			t.Errorf("%s: the other reader has %+v, we have none", file, n)
			continue
		}
		counts[at]++
	}
	for i, f := range got {
		if counts[i] != int(f.Found) {
			t.Errorf("%s: %s, the other reader has %d", file, tell(f), counts[i])
		}
	}
}
