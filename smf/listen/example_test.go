package listen_test

import (
	"fmt"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

func Example() {
	drums, bass := smf.Track{}, smf.Track{}
	for b := range smf.Tick(4) {
		drums.Append(smf.Channel(b*96, 0x99, 36, 110))
		drums.Append(smf.Channel(b*96+24, 0x89, 36, 64))
		bass.Append(smf.Channel(b*96+48, 0x90, 33, 100))
		bass.Append(smf.Channel(b*96+90, 0x80, 33, 64))
	}
	file, inputs, _, err := listen.Join([]listen.Input{
		{Name: "drums.mid", File: &smf.File{Division: 96, Tracks: []smf.Track{drums}}},
		{Name: "bass.mid", File: &smf.File{Division: 96, Tracks: []smf.Track{bass}}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	file, loop, told, err := listen.FindLoop(file, listen.LoopOptions{InputOfTrack: inputs, BPM: 128_000})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := song.From(file)
	if err != nil {
		fmt.Println(err)
		return
	}
	_, report, err := listen.Hear(s, listen.Options{Loop: loop})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(loop.Bars, "bar")
	for _, line := range told {
		fmt.Println(line)
	}
	for _, p := range report.Parts {
		fmt.Println(p.Part, p.Role, p.Job, p.Evidence)
	}
	// Output:
	// 1 bar
	// no tempo in the file: 128 bpm as asked
	// no metre in the file: 4/4 assumed
	// kick kick beat [GM key 36, Bass Drum 1]
	// bass bass bass [track name "bass" says bass low (median key 33) one note at a time nothing pitched is lower]
}

func ExampleStructureOf() {
	bars := func(n int, bar string) string { return strings.Repeat(bar+"|", n) }
	s, err := song.ParseGrid("kick " + bars(7, "x...x...x...x...") + bars(1, "x...x...........") + bars(8, "x...x...x...x...") +
		"\nhat " + bars(8, "................") + bars(8, "..x...x...x...x."))
	if err != nil {
		fmt.Println(err)
		return
	}
	st, err := form.StructureOf(s, 8)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, bar := range st.Boundaries {
		b := st.Bars[bar-1]
		fmt.Printf("bar %d, strength %.1f\n", bar, b.Strength)
		for _, c := range b.Changes {
			fmt.Println(s.Parts[c.Part].Name, c.What)
		}
		for _, p := range b.Preparing {
			fmt.Println("prepared by", s.Parts[p].Name)
		}
	}
	// Output:
	// bar 9, strength 0.4
	// hat in or out
	// prepared by kick
}
