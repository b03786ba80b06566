// Command loopdraft turns a loop, read from a Standard MIDI File, into a track of full length.
//
//	loopdraft draft harbour-lights.mid
//
// "loopdraft help" lists the commands. The package parses flags, reads and writes files and prints;
// what happens to the music is the business of the packages below it, which know no files, no clock
// and no terminal.
package main

import "os"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv))
}
