package moves

import (
	"math/bits"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// Keep is what is left of a part's onsets: a share of them, or those on beats of each bar.
type Keep struct {
	Share option.Share // 0.01% to 100%; 0 where it is beats
	beats uint64       // bit n-1 stands for beat n
}

// KeepShare returns a share that is kept.
func KeepShare(s option.Share) Keep { return Keep{Share: s} }

// KeepBeats returns beats, 1 to 64, on which onsets are kept.
func KeepBeats(beats ...int) Keep {
	var k Keep
	for _, n := range beats {
		k.beats |= 1 << (n - 1)
	}
	return k
}

const (
	leastKept = option.Share(1) // 0.01%
	mostBeats = 64
)

// beatList returns the beats, from 1 and rising; none where it is a share.
func (k Keep) beatList() []int {
	var out []int
	for left := k.beats; left != 0; left &= left - 1 {
		out = append(out, bits.TrailingZeros64(left)+1)
	}
	return out
}

// on tells whether a note is struck on one of the beats, less than a 1/32 note before or after it.
func (k Keep) on(in song.Song, n song.Note) bool {
	tl := in.Time()
	at := n.Start
	bar := tl.BarOf(at)
	for _, beat := range k.beatList() {
		if beat > tl.MetreIn(bar).Num {
			break
		}
		if near(tl.PPQ(), at-tl.BarStart(bar)-song.Tick(beat-1)*tl.BeatTicks(bar)) || beat == 1 && near(tl.PPQ(), at-tl.BarStart(bar+1)) {
			return true
		}
	}
	return false
}

// near tells whether ticks are less than a 1/32 note.
func near(ppq, off song.Tick) bool { return 8*max(off, -off) < ppq }

// UnmarshalTexts reads a share, or beats such as beats 1 and 3.
func (k *Keep) UnmarshalTexts(texts []string) error {
	bad := &option.Mistake{Found: strconv.Quote(texts[0]), Want: k.Want()}
	word, numbers, ok := strings.Cut(texts[0], " ")
	if !ok || word != "beat" && word != "beats" {
		share, err := option.ParseShare(texts[0])
		if err != nil || share < leastKept || share > option.Whole {
			switch _, fits := option.ParseInt(texts[0]); {
			case fits:
				bad.Hint = hintOf(texts[0] + "%")
			case texts[0] == "first beat" || texts[0] == "the one":
				bad.Hint = "beat 1"
			}
			return bad
		}
		*k = KeepShare(share)
		return nil
	}
	var out Keep
	for _, text := range strings.Split(numbers, " and ") {
		n, ok := option.ParseInt(text)
		if !ok || n < 1 || n > mostBeats || strings.HasPrefix(text, "+") {
			if comma := strings.NewReplacer(", and ", " and ", ", ", " and ", ",", " and ").Replace(texts[0]); comma != texts[0] {
				bad.Hint = hintOf(comma)
			}
			return bad
		}
		out.beats |= 1 << (n - 1)
	}
	*k = out
	return nil
}

// hintOf returns a text that may be meant, if it can be read; else "".
func hintOf(text string) string {
	if new(Keep).UnmarshalTexts([]string{text}) != nil {
		return ""
	}
	return text
}

// String returns the text as a recipe has it.
func (k Keep) String() string {
	beats := k.beatList()
	if len(beats) == 0 {
		return k.Share.String()
	}
	var texts []string
	for _, n := range beats {
		texts = append(texts, strconv.Itoa(n))
	}
	if len(texts) == 1 {
		return "beat " + texts[0]
	}
	return "beats " + strings.Join(texts, " and ")
}

func (k Keep) Texts() []string { return []string{k.String()} }
func (k Keep) IsZero() bool    { return k == Keep{} }

func (k Keep) Want() string {
	return "a percentage from 0.01% to 100%, or beats such as beat 1 or beats 1 and 3"
}

// Form says what is kept looks like.
func (k Keep) Form() option.Form {
	n := option.DigitsBetween(1, mostBeats)
	return option.Form{Pattern: option.SharePattern(leastKept, option.Whole) + "|beats? " + n + "(?: and " + n + ")*"}
}
