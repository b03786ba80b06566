// Command loopdraft turns a loop, read from a Standard MIDI File, into a track of full length.
//
//	loopdraft draft harbour-lights.mid
//
// "loopdraft help" lists the commands. The package parses flags, reads and writes files and prints;
// what happens to the music is the business of the packages below it, which know no files, no clock
// and no terminal.
package main

import (
	"os"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
)

func main() {
	collectLate()
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv))
}

// collectLate has each collection of memory wait until 16 MB were taken, four times as many as by default: a draft
// takes less, and each collection costs it as much as a step. Where more than twice as much is in use, the next one comes
// when half of that was taken again, half of the default: of 10 million notes that is a quarter less memory, for no more time.
func collectLate() {
	if os.Getenv("GOGC") != "" {
		return
	}
	const late, often, room = 400, 50, 16 << 20 // percent, percent, bytes
	debug.SetGCPercent(late)
	var collected func(int)
	again := func() { runtime.AddCleanup(new(*int), collected, 0) } // nobody holds it: the next collection finds it
	collected = func(int) {
		inUse := []metrics.Sample{{Name: "/gc/heap/live:bytes"}}
		metrics.Read(inUse)
		debug.SetGCPercent(int(min(max(room*100/max(inUse[0].Value.Uint64(), 1), often), late)))
		again()
	}
	again()
}
