package song

// Stretch is where a loop lies on a tape, a song on which several loops lie one after another.
type Stretch struct {
	Name   string
	Bar    int    // its first bar on the tape, from 1
	Bars   int    // its length, at least 1
	Cycles []Tick // by track of the tape: the length in ticks after which it repeats, if it is not the loop's; else 0
}
