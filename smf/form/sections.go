package form

import (
	"math"
	"slices"

	"loopdraft/smf/song"
)

// HeardSection is a section of a song and why it is taken for what it is.
type HeardSection struct {
	song.Section
	Stretch Stretch  // what sounds in it
	Sure    float64  // 0..1: the share of the signs of its kind that are there; 1 where its name says the kind
	Signs   []string // those that are there, such as "kick out"; the name where it says the kind
	Found   bool     // it was found by ear; otherwise it stands in the song or its markers
}

// Sections returns the sections of a song without gaps, from where the music begins: its own, else those of its
// markers, else what lies between the boundaries that were heard. A kind that neither the song nor the name tells
// is heard, see [KindsOf]. Sections that were found by ear are named after their kinds.
func Sections(s song.Song, st Structure) []HeardSection {
	return new(Sectioning).By(st, st.Signs(s))
}

// Sectioning is [Sections] for who asks for the sections between other boundaries, again and again.
type Sectioning struct {
	out       []HeardSection
	stretches []Stretch
}

// By returns the sections of a song by the signs that [Structure.Signs] gave. The next call writes over them.
func (s *Sectioning) By(st Structure, signs []Signs) []HeardSection {
	sections, found := st.Sections, false
	if len(sections) == 0 {
		sections, found = between(st.first(), st.Boundaries, len(st.Bars)), true
	}
	out := slices.Grow(s.out[:0], len(sections))[:len(sections)]
	stretches := slices.Grow(s.stretches[:0], len(sections))[:len(sections)]
	s.out, s.stretches = out, stretches
	for i, sec := range sections {
		out[i] = HeardSection{Section: sec, Found: found}
		stretches[i] = stretchOf(signs, sec)
	}
	kinds := KindsOf(stretches)
	for i := range out {
		sec := &out[i]
		sec.Stretch = stretches[i]
		if sec.Kind == song.NoKind {
			sec.Kind = song.KindOf(song.MarkerName(sec.Name))
		}
		if sec.Kind != song.NoKind {
			sec.Sure, sec.Signs = 1, []string{"its name"}
			continue
		}
		sec.Kind, sec.Sure, sec.Signs = kinds[i].Kind, kinds[i].Sure, kinds[i].Signs
		if sec.Found {
			sec.Name = string(sec.Kind)
		}
	}
	return out
}

// Signs are what tells of one bar which kind of section it is in.
type Signs struct {
	Beat, Bass bool    // the beat (kick, or what takes its place) and the bass sound
	Drums      float64 // onsets of drums
	Loudness   float64 // 0..1, of the loudest bar's
}

// Signs returns the signs of each bar of the song whose structure it is.
func (st Structure) Signs(s song.Song) []Signs {
	out := make([]Signs, len(st.Bars))
	loudest := st.Energy.Loudest()
	for b, bar := range st.Bars {
		out[b].Loudness = float64(st.Energy.Bars[b].Sum().Share(loudest)) / 1000
		for _, i := range bar.Parts {
			out[b].Beat = out[b].Beat || s.Parts[i].Job == song.JobBeat
			out[b].Bass = out[b].Bass || s.Parts[i].Job == song.JobBass
		}
	}
	for _, p := range s.Parts {
		if p.Pitched() || p.Role == song.RoleTrigger {
			continue
		}
		for b, onsets := range onsetsByBar(s, p) {
			if b < len(out) {
				out[b].Drums += float64(onsets)
			}
		}
	}
	return out
}

// Stretch sums up the signs of a section.
type Stretch struct {
	Bars       int
	Beat, Bass float64 // share of its bars in which they sound
	Drums      float64 // onsets of drums a bar
	Denser     float64 // Drums of its last quarter over those of its first: 0 to +Inf, 1 where there are none
	Loudness   float64 // mean of its bars, 0..1
	Rise       float64 // loudness of its last quarter less that of its first, -1..1
}

// stretchOf sums up bars; those past the last one are left out.
func stretchOf(signs []Signs, sec song.Section) Stretch {
	bars := signs[min(sec.Bar-1, len(signs)):min(sec.Bar-1+sec.Bars, len(signs))]
	if len(bars) == 0 {
		return Stretch{Denser: 1}
	}
	return StretchOf(bars)
}

// StretchOf sums up the signs of the bars of a section, at least one.
func StretchOf(bars []Signs) Stretch {
	out := Stretch{Bars: len(bars)}
	n := float64(len(bars))
	for _, b := range bars {
		if b.Beat {
			out.Beat += 1 / n
		}
		if b.Bass {
			out.Bass += 1 / n
		}
		out.Drums += b.Drums / n
		out.Loudness += b.Loudness / n
	}
	quarter := max(len(bars)/4, 1)
	var drums, loudness [2]float64
	for i := range quarter {
		first, last := bars[i], bars[len(bars)-1-i]
		drums[0], drums[1] = drums[0]+first.Drums, drums[1]+last.Drums
		loudness[0], loudness[1] = loudness[0]+first.Loudness, loudness[1]+last.Loudness
	}
	out.Rise = (loudness[1] - loudness[0]) / float64(quarter)
	switch {
	case drums[0] > 0:
		out.Denser = drums[1] / drums[0]
	case drums[1] > 0:
		out.Denser = math.Inf(1)
	default:
		out.Denser = 1
	}
	return out
}

// Guess is a kind of section, and how sure it is.
type Guess struct {
	Kind  song.Kind
	Sure  float64  // 0..1: the share of the signs of its kind that are there
	Signs []string // those that are there
}

// Numbers of the kinds; common practice, no source. Half the onsets is the rule of a breakdown, see [KindsOf].
const (
	halfOfBars  = 0.5
	fullShare   = 0.8 // share of the loudest section's loudness from which a section is a core
	fullest     = 0.9 // the same for a drop
	quieter     = 0.9
	halfOnsets  = 0.5
	risesBy     = 0.08
	denserBy    = 1.4
	shortBuild  = 8    // bars; what takes the beat out and rises for longer is a breakdown that ends in a build-up
	withoutBeat = 0.75 // share of the loudest section's loudness under which a section is a breakdown, where there is no beat to go by
)

// KindsOf tells the kinds of sections from what sounds in them, in the order they come. The definitions
// are those of writing on dance music: a breakdown takes many layers out, the drums first (J. W. Smith,
// Twentieth-Century Music, 2025); a build-up leads from it to the return of bass drum and bass, with
// rolls and rises (Solberg, Dancecult 6(1), 2014; Iler, University of North Texas, 2011); the core, here
// groove or drop, is where beat and bass play in full, a drop where they come back, and at the fullest after that
// (Butler, Unlocking the Groove, 2006, from memory); what leads up to the first core is intro, what
// leads away from the last is outro. The numbers are common practice, no source.
func KindsOf(in []Stretch) []Guess {
	k := kinds{in: in}
	for _, s := range in {
		k.loudest = max(k.loudest, s.Loudness)
		k.beat = k.beat || s.Beat >= halfOfBars
		k.bass = k.bass || s.Bass >= halfOfBars
	}
	first, last := len(in), -1
	for i := range in {
		if k.core(i) {
			first, last = min(first, i), i
		}
	}
	out := make([]Guess, len(in))
	for i := range in {
		kind := k.kind(i, first, last)
		out[i] = k.guess(i, kind)
	}
	return out
}

// kinds are sections whose kinds are being told.
type kinds struct {
	in         []Stretch
	loudest    float64
	beat, bass bool // there is one in the song
}

// core tells whether a section is loud and has beat and bass, as far as the song has them.
func (k kinds) core(i int) bool {
	s := k.in[i]
	return s.Loudness > 0 && s.Loudness >= fullShare*k.loudest && !k.beatOut(i) && !(k.bass && s.Bass < halfOfBars)
}

// beatOut tells whether the beat rests in a section; where the song has none, whether it is quiet.
func (k kinds) beatOut(i int) bool {
	if !k.beat {
		return k.in[i].Loudness < withoutBeat*k.loudest
	}
	return k.in[i].Beat < halfOfBars
}

func (k kinds) kind(i, first, last int) song.Kind {
	switch {
	case len(k.in) == 1, k.loudest == 0:
		return song.KindGroove
	case i < first && (i == 0 || k.opening(i)):
		return song.KindIntro
	case i > last && k.closing(i):
		return song.KindOutro
	case k.beatOut(i) || k.bass && k.in[i].Bass < halfOfBars && i+1 < len(k.in) && k.core(i+1) && k.rises(i):
		if i+1 < len(k.in) && !k.beatOut(i+1) && (k.rises(i) && k.in[i].Bars <= shortBuild || i > 0 && k.beatOut(i-1)) {
			return song.KindBuild
		}
		return song.KindBreak
	case k.core(i) && i > 0 && (k.beatOut(i-1) || k.in[i].Loudness >= fullest*k.loudest && k.wasOut(i)):
		return song.KindDrop
	}
	return song.KindGroove
}

// wasOut tells whether the beat has rested since it first played.
func (k kinds) wasOut(i int) bool {
	played := false
	for j := range i {
		if played && k.beatOut(j) {
			return true
		}
		played = played || !k.beatOut(j)
	}
	return false
}

// opening tells whether nothing but introductions comes before a section that is one: beat or bass have
// not yet played together.
func (k kinds) opening(i int) bool {
	for j := 0; j <= i; j++ {
		if !k.beatOut(j) && k.bass && k.in[j].Bass >= halfOfBars {
			return false
		}
		if j > 0 && k.beatOut(j) && !k.beatOut(j-1) {
			return false // a break
		}
	}
	return k.bass || k.in[i].Loudness < fullShare*k.loudest
}

// closing tells whether from a section on nothing comes back.
func (k kinds) closing(i int) bool {
	for j := i; j < len(k.in); j++ {
		if k.in[j].Loudness > quieter*k.loudest && !(k.bass && k.in[j].Bass < halfOfBars) && j > i {
			return false
		}
		if j > i && k.beatOut(j-1) && !k.beatOut(j) {
			return false
		}
	}
	return true
}

func (k kinds) rises(i int) bool { return k.in[i].Rise >= risesBy || k.in[i].Denser >= denserBy }

// guess counts the signs of a kind.
func (k kinds) guess(i int, kind song.Kind) Guess {
	s := k.in[i]
	before, after := Stretch{}, Stretch{}
	if i > 0 {
		before = k.in[i-1]
	}
	if i+1 < len(k.in) {
		after = k.in[i+1]
	}
	type sign struct {
		there bool
		text  string
	}
	beatOut, bassOut := k.beat && k.beatOut(i), k.bass && s.Bass < halfOfBars
	var signs []sign
	switch kind {
	case song.KindIntro:
		signs = []sign{{i == 0, "starts the song"}, {s.Loudness < quieter*k.loudest, "quieter than the fullest"}, {s.Bass < halfOfBars, "bass out"}, {s.Rise > 0, "grows"}}
	case song.KindOutro:
		signs = []sign{{i == len(k.in)-1, "ends the song"}, {s.Loudness < before.Loudness, "quieter than before"}, {s.Bass < halfOfBars, "bass out"}, {s.Rise < 0, "thins out"}}
	case song.KindBreak:
		signs = []sign{{beatOut, "kick out"}, {bassOut, "bass out"}, {s.Drums <= halfOnsets*before.Drums, "at most half the drum onsets of before"}, {s.Loudness < quieter*before.Loudness, "quieter than before"}}
	case song.KindBuild:
		signs = []sign{{beatOut || bassOut, "kick or bass out"}, {s.Rise >= risesBy, "gets louder"}, {s.Denser >= denserBy, "drums get denser"}, {after.Loudness > s.Loudness, "leads to something louder"}}
	case song.KindDrop:
		signs = []sign{{k.beat && !beatOut, "kick in"}, {k.bass && !bassOut, "bass in"}, {s.Loudness >= fullest*k.loudest, "among the fullest"}, {i > 0 && k.beatOut(i-1), "after a stretch without kick"}}
	default:
		signs = []sign{{k.beat && !beatOut, "kick in"}, {k.bass && !bassOut, "bass in"}, {s.Loudness >= fullShare*k.loudest, "nearly as full as the fullest"}}
	}
	g := Guess{Kind: kind}
	for _, sign := range signs {
		if sign.there {
			g.Signs = append(g.Signs, sign.text)
		}
	}
	g.Sure = float64(len(g.Signs)) / float64(len(signs))
	return g
}
