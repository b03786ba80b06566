package song_test

import (
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// setUp is a song that opens with a bar of 1/8 at 60 bpm in which nothing plays; two bars of 4/4 at 120 bpm follow, and
// one of 3/4 at 150 bpm. Its marker stands at bar 1.
func setUp(t *testing.T) song.Song {
	t.Helper()
	s := song.Blank(96,
		[]smf.TempoAt{{Micros: 1_000_000}, {Tick: 48, Micros: 500_000}, {Tick: 48 + 768, Micros: 400_000}},
		[]smf.MetreAt{{Metre: smf.Metre{Num: 1, Den: 8}}, {Tick: 48, Metre: smf.Metre{Num: 4, Den: 4}}, {Tick: 48 + 768, Metre: smf.Metre{Num: 3, Den: 4}}}, 48+768+288)
	e := s.Edit()
	e.Insert(0, smf.Channel(0, 0xB0, 7, 100))
	e.InsertMeta(0, 0, byte(smf.MetaMarker), []byte("intro"))
	e.InsertMeta(0, 48+384, byte(smf.MetaMarker), []byte("drop"))
	p := e.NewPart(song.Part{Name: "lead", Role: song.RoleLead})
	for bar := 2; bar <= 4; bar++ {
		e.Place(p, song.Note{Start: s.Time().BarStart(bar), End: s.Time().BarStart(bar) + 96, Key: 60, Vel: 100})
	}
	return e.Song()
}

func TestWhereTheMusicBegins(t *testing.T) {
	s := setUp(t)
	if got := s.FirstBar(); got != 2 {
		t.Errorf("got bar %d, want 2", got)
	}
	if micros, metre := s.Mostly(); micros != 500_000 || metre != (smf.Metre{Num: 4, Den: 4}) {
		t.Errorf("got %d microseconds a quarter and %s, want 500000 and 4/4", micros, metre)
	}
	got := s.MarkedSections()
	if len(got) != 2 || got[0] != (song.Section{Name: "intro", Bar: 2, Bars: 1}) || got[1] != (song.Section{Name: "drop", Bar: 3, Bars: 2}) {
		t.Errorf("got sections %v, want the intro from bar 2, the drop from bar 3", got)
	}
	early := s.Edit()
	early.Place(0, song.Note{Start: 46, End: 60, Key: 64, Vel: 100})
	if got := early.Song().FirstBar(); got != 2 {
		t.Errorf("a note a little before bar 2: got bar %d, want 2", got)
	}
	silent := song.Blank(96, nil, nil, 768)
	if micros, metre := silent.Mostly(); silent.FirstBar() != 1 || micros != 500_000 || metre != (smf.Metre{Num: 4, Den: 4}) {
		t.Errorf("a song without notes: got bar %d, %d and %s", silent.FirstBar(), micros, metre)
	}
}
