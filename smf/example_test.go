package smf_test

import (
	"bytes"
	"fmt"
	"os"

	"loopdraft/smf"
)

func ExampleDecode() {
	b, err := os.ReadFile("../testdata/smf/rp001-format1.mid")
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := smf.Decode(b)
	if err != nil {
		fmt.Println(err)
		return
	}
	ppq, _ := f.Division.PPQ()
	fmt.Printf("format %d, %d ticks a quarter note\n", f.Format, ppq)
	for i, t := range f.Tracks {
		fmt.Printf("track %d: %d events, ends at tick %d\n", i+1, len(t.Events), t.End)
	}
	// Output:
	// format 1, 96 ticks a quarter note
	// track 1: 2 events, ends at tick 384
	// track 2: 3 events, ends at tick 384
	// track 3: 3 events, ends at tick 384
	// track 4: 5 events, ends at tick 384
}

func ExampleRead() {
	cut := bytes.NewReader([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x0B\x00\x90\x3C"))
	_, err := smf.Read(cut)
	fmt.Println(err)
	// Output:
	// track 1, byte 0x19: found the end of the file inside the track chunk, want the rest of the event at byte 0x16
}

func ExampleFile_Encode() {
	f := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	t := &f.Tracks[0]
	t.AppendMeta(0, 0x03, []byte("bass"))
	t.Append(smf.Channel(0, 0x90, 36, 100))
	t.Append(smf.Channel(48, 0x90, 36, 0)) // a note-off, in the form that running status likes
	t.End = 384                            // a bar of 4/4
	b, err := f.Encode()
	fmt.Printf("% x %v\n", b, err)
	// Output:
	// 4d 54 68 64 00 00 00 06 00 00 00 01 00 60 4d 54 72 6b 00 00 00 14 00 ff 03 04 62 61 73 73 00 90 24 64 30 24 00 82 50 ff 2f 00 <nil>
}

func ExampleFile_WriteTo() {
	f := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	var b bytes.Buffer
	n, err := f.WriteTo(&b)
	fmt.Println(n, err)
	// Output:
	// 26 <nil>
}

func ExampleTrack_Pair() {
	var t smf.Track
	t.Append(smf.Channel(0, 0x90, 60, 100))
	t.Append(smf.Channel(24, 0x90, 60, 90)) // struck again while it sounds
	t.Append(smf.Channel(48, 0x80, 60, 64))
	t.Append(smf.Channel(96, 0x80, 60, 64))
	t.Append(smf.Channel(96, 0x80, 60, 64)) // one too many
	p := t.Pair()
	for _, n := range p.Notes {
		fmt.Println(t.Events[n.On].Tick, "to", t.Events[n.Off].Tick)
	}
	fmt.Println("loose:", p.Loose)
	// Output:
	// 0 to 48
	// 24 to 96
	// loose: [4]
}

func ExampleTrack_Long() {
	var t smf.Track
	t.AppendMeta(0, 0x06, []byte("drop"))
	t.AppendSysex(0, 0xF0, []byte{0x7E, 0x7F, 0x09, 0x01, 0xF7})
	for _, e := range t.Events {
		fmt.Printf("%02x % x\n", e.Status(), t.Long(e))
	}
	// Output:
	// ff 64 72 6f 70
	// f0 7e 7f 09 01 f7
}

func ExampleDiff() {
	a := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	b := &smf.File{Format: 0, Division: 96, Tracks: make([]smf.Track, 1)}
	a.Tracks[0].Append(smf.Channel(0, 0x90, 60, 100))
	b.Tracks[0].Append(smf.Channel(0, 0x90, 60, 101))
	fmt.Println(smf.Diff(a, b))
	// Output:
	// track 1: event 1: tick 0, 90 3c 64 and tick 0, 90 3c 65
}

func ExampleTimeline_Locate() {
	l := smf.NewTimeline(96, nil, []smf.MetreAt{{Tick: 768, Metre: smf.Metre{Num: 7, Den: 8}}})
	for _, tick := range []smf.Tick{0, 500, 768, 768 + 7*48} {
		p := l.Locate(tick)
		fmt.Printf("%d: bar %d, beat %d and %d ticks, in %v\n", tick, p.Bar, p.Beat, p.Tick, l.MetreIn(p.Bar))
	}
	// Output:
	// 0: bar 1, beat 1 and 0 ticks, in 4/4
	// 500: bar 2, beat 2 and 20 ticks, in 4/4
	// 768: bar 3, beat 1 and 0 ticks, in 7/8
	// 1104: bar 4, beat 1 and 0 ticks, in 7/8
}

func ExampleMicrosPerQuarter() {
	fmt.Println(smf.MicrosPerQuarter(127_500), "us at 127.5 bpm")
	// Output:
	// 470588 us at 127.5 bpm
}

func ExampleNewTimeline() {
	l := smf.NewTimeline(480,
		[]smf.TempoAt{{Tick: 0, Micros: smf.MicrosPerQuarter(120_000)}, {Tick: 1920, Micros: smf.MicrosPerQuarter(60_000)}},
		nil)
	fmt.Println(l.Micros(1920), l.Micros(3840))
	fmt.Println(l.TickAtMicros(3_000_000))
	// Output:
	// 2000000 6000000
	// 2400
}
