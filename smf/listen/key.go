package listen

import (
	"math/bits"

	"loopdraft/smf/song"
)

// Key is a tonic and a mode.
type Key struct {
	Tonic uint8 // pitch class 0..11, 0 is C
	Minor bool
}

// String returns the key's name, such as "F# minor", spelled with the fewest accidentals.
func (k Key) String() string {
	if k.Minor {
		return [12]string{"C", "C#", "D", "Eb", "E", "F", "F#", "G", "G#", "A", "Bb", "B"}[k.Tonic%12] + " minor"
	}
	return [12]string{"C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B"}[k.Tonic%12] + " major"
}

// Degree returns the semitones above the tonic of a step of the scale: degree 1 is the tonic, 8 the
// octave; minor is natural minor. Degrees below 1 count as 1.
func (k Key) Degree(degree int) int {
	steps := [7]int{0, 2, 4, 5, 7, 9, 11}
	if k.Minor {
		steps = [7]int{0, 2, 3, 5, 7, 8, 10}
	}
	n := max(degree, 1) - 1
	return 12*(n/7) + steps[n%7]
}

// KeyOf returns the key of a song by the method of Krumhansl and Schmuckler: how long each pitch class
// sounds in the pitched parts is correlated with the profile of each major and minor key. The profiles
// are those of dance music by Faraldo et al. Of equal keys the minor one is taken, since most dance
// music is minor, then the first from C upwards. Vocals and key switches (keys under 24 held for a bar
// or longer, more than an octave below the part's other keys) do not count. It is false where nothing
// pitched plays and where all pitch classes sound equally long.
func KeyOf(s song.Song) (Key, bool) {
	major, minor := danceProfiles()
	return keyOf(durations(s), major, minor)
}

// profile holds a weight for each semitone above the tonic; only their proportions matter.
type profile [12]int64

// danceProfiles returns edma major and minor, times 100: Faraldo, Gomez, Jorda, Herrera, Key estimation
// in electronic dance music, ECIR 2016, as Essentia has them.
func danceProfiles() (major, minor profile) {
	return profile{100, 29, 50, 40, 60, 56, 32, 80, 31, 45, 42, 39},
		profile{100, 31, 44, 58, 33, 49, 29, 78, 43, 29, 53, 32}
}

// durations returns for how many ticks each pitch class sounds.
func durations(s song.Song) [12]int64 {
	var out [12]int64
	for _, p := range s.Parts {
		if !p.Pitched() || p.Role == song.RoleVocal {
			continue
		}
		lowest := 128 // of the keys that can be no switch
		for _, n := range p.Notes {
			if n.Key >= switchesBelow {
				lowest = min(lowest, int(n.Key))
			}
		}
		for _, n := range p.Notes {
			if lowest < 128 && lowest-int(n.Key) > 12 && longSwitch(s, n) {
				continue
			}
			out[n.Key%12] += int64(max(n.End-n.Start, 1))
		}
	}
	return out
}

// switchesBelow is the key under which a long lone note may choose a way of playing instead of
// sounding. Common practice, no source.
const switchesBelow = 24

func longSwitch(s song.Song, n song.Note) bool {
	tl := s.Time()
	return n.Key < switchesBelow && tl != nil && n.End-n.Start >= tl.BarTicks(tl.BarOf(n.Start))
}

// keyOf returns the key whose profile correlates best with the durations.
func keyOf(durations [12]int64, major, minor profile) (Key, bool) {
	var most int64
	for _, d := range durations {
		most = max(most, d)
	}
	for ; most >= 1<<24; most >>= 1 { // so that sums of products fit
		for i := range durations {
			durations[i] >>= 1
		}
	}
	if durations == [12]int64{} || even(durations) {
		return Key{}, false
	}
	var best Key
	var top correlation
	for i, p := range [2]profile{minor, major} {
		for tonic := range uint8(12) {
			if c := correlate(durations, p, tonic); i == 0 && tonic == 0 || c.over(top) {
				best, top = Key{tonic, i == 0}, c
			}
		}
	}
	return best, true
}

func even(durations [12]int64) bool {
	for _, d := range durations {
		if d != durations[0] {
			return false
		}
	}
	return true
}

// correlation is Pearson's, but for the root of the variance of the durations, which is the same for
// every key: products over the root of variance. Integers decide exactly where a float would round.
type correlation struct{ products, variance int64 }

func correlate(durations [12]int64, p profile, tonic uint8) correlation {
	var sum, of, products, squares int64
	for i, weight := range p {
		d := durations[(i+int(tonic))%12]
		sum += d
		of += weight
		products += d * weight
		squares += weight * weight
	}
	return correlation{12*products - sum*of, 12*squares - of*of}
}

// over tells whether the correlation is greater than another.
func (c correlation) over(d correlation) bool {
	if (c.products < 0) != (d.products < 0) {
		return d.products < 0
	}
	a, b := square(c.products, d.variance), square(d.products, c.variance)
	if c.products < 0 {
		a, b = b, a
	}
	for i := range a {
		if a[i] != b[i] {
			return a[i] > b[i]
		}
	}
	return false
}

// square returns x*x*by, by positive, in words from the highest.
func square(x, by int64) [3]uint64 {
	if x < 0 {
		x = -x
	}
	hi, lo := bits.Mul64(uint64(x), uint64(x))
	mid, low := bits.Mul64(lo, uint64(by))
	high, rest := bits.Mul64(hi, uint64(by))
	mid, carry := bits.Add64(mid, rest, 0)
	return [3]uint64{high + carry, mid, low}
}
