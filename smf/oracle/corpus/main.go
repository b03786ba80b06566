// Command corpus lays real songs and loops cut out of them for tests; see [oracle.LayCorpus]. It is no part of the
// program: .ci/corpus runs it.
//
//	go run ./smf/oracle/corpus DIR MUSIC WAD...
//
// DIR is the folder to make, MUSIC a folder of MIDI files, WAD an archive that has some in it.
package main

import (
	"fmt"
	"os"

	"loopdraft/smf/oracle"
)

func main() {
	if len(os.Args) < 4 {
		fmt.Fprintln(os.Stderr, "usage: corpus DIR MUSIC WAD...")
		os.Exit(2)
	}
	if err := oracle.LayCorpus(os.Args[1], os.Args[2], os.Args[3:]); err != nil {
		fmt.Fprintln(os.Stderr, "corpus:", err)
		os.Exit(1)
	}
}
