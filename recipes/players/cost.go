package players

// These are the costs, in thousandths. The figures were found by trying them on real loops, of which more than half
// were not seen while they were chosen; common practice, no source.
const (
	outside        = 50        // each tenth of a percent outside the range
	outsideInBreak = 25        // the same in a break
	unmoved        = 3000      // where a phrase begins inside a section: neither a band nor the whole moves audibly
	faintlyMoved   = 1500      // the same, where it moves audibly, but not clearly
	unheard        = 2500      // where a section begins: each step that it lacks to be well apart from the section before it
	entering       = 1200      // each percent of all over freeEntry that enters at once
	changing       = 300       // each part over two that enters or leaves
	restless       = 500       // each part that enters or leaves inside a phrase
	leaving        = 2500      // each part that leaves in a build
	deserting      = 400       // in a drop, each percent of all parts over freeEntry that leaves at once: they come back at once
	missing        = 600       // the most wanted part, if it is missing; the least wanted a third of it
	heardBefore    = 700       // in a break, each part that an earlier break had
	drumInBreak    = 300       // in a break, each drum
	inBreak        = 100       // in a break, each part
	alone          = 24_000    // in a break, all bars in which fewer than two parts sound; a share of them a share of it
	hushed         = 40_000    // all bars of a unit in which nobody sounds; a share of them a share of it
	unpitched      = 10_000    // in a break, each of the two pitched parts that are missing
	lower          = 3000      // in a break, a last unit that is no stronger than the first
	falls          = 20_000    // in a build that would fall, a unit that is no weaker than the last one was
	foreign        = 6000      // no part is heard that only the loop of the section has, though one may
	resting        = 3000      // the strongest part is heard in less than half of the bars
	stale          = 400       // each percent of a drop's notes over freshDrop that the groove before it plays already
	idle           = 2500      // in a course, nobody joins though somebody may
	beatless       = 6000      // in a course, after its first unit, no part of the beat plays though one may
	faint          = 20        // in a course, each tenth of a percent under leastInCourse
	nobody         = 1_000_000 // no part plays
)

// freeEntry is the share of all parts, or of all sounds if that is more, in percent, that may enter at once at no cost.
const freeEntry = 24

// freshDrop is the share of a drop's notes, in percent, that the groove before it may play at no cost.
const freshDrop = 70

// leastInCourse is the share of full, in tenths of a percent, that a unit of a course has after its first.
const leastInCourse = 450

// What moves by 2 dB in this model moves by at least 1 dB in a render as a rule. The ratios are 10^(-2/10) and 10^(-1.5/10), in
// thousandths.
const (
	audible = 631
	plain   = 501 // 10^(-3/10): one part in the place of a like one moves less in a render
	rises   = 708
)

// moves tells whether a band or the whole changes from a to b so far that the lesser is under a ratio of the
// greater, in thousandths.
func moves(a, b Power, full, ratio int64) bool {
	return differ(a[0], b[0], full, ratio) || differ(a[1], b[1], full, ratio) || differ(a[2], b[2], full, ratio) || differ(a.Sum(), b.Sum(), full, ratio)
}

// differ tells whether the lesser of two powers is under a ratio of the greater, in thousandths. What is under a
// hundred-thousandth of full counts as that much.
func differ(a, b, full, ratio int64) bool {
	floor := full / 100_000
	a, b = a+floor, b+floor
	return min(a, b) < max(a, b)/1000*ratio
}

// wellApart is how many steps of [apart] lie between two sections whose line is heard without fail.
const wellApart = 4

// fourDecibels is 10^(-4/10), in thousandths.
const fourDecibels = 398

// apart tells how clearly one hears the line between two stretches: a step for each band that moves audibly, and another
// where it moves by twice as much.
func apart(a, b Power, full int64) int {
	n := 0
	for band := range a {
		for _, ratio := range [...]int64{audible, fourDecibels} {
			if differ(a[band], b[band], full, ratio) {
				n++
			}
		}
	}
	return n
}

// blurred returns what it costs that the line between two sections is hard to hear.
func blurred(a, b Power, full int64) int64 {
	return unheard * int64(max(wellApart-apart(a, b, full), 0))
}
