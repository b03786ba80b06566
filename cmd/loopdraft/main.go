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
)

func main() {
	collectLate()
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv))
}

// collectLate has the first collection of memory wait until 16 MB were taken, four times as many as by default: a draft
// takes less, and each collection costs it as much as a step. From the first one on they come when half of what is in use
// was taken again, half of the default: of 10 million notes that is a quarter less memory, for no more time.
func collectLate() {
	if os.Getenv("GOGC") != "" {
		return
	}
	const late, often = 400, 50 // percent
	debug.SetGCPercent(late)
	first := new(*int) // nobody holds it: the first collection finds it
	runtime.AddCleanup(first, func(percent int) { debug.SetGCPercent(percent) }, often)
}
