package oracle

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// python is Debian's own, for which python3-mido is packaged; another one may stand before it in
// the path.
const python = "/usr/bin/python3"

// How much is tested is said by LOOPDRAFT_ORACLES. Without it tests take what is there and skip the rest, and play
// nothing and open no browser, so that a first run is short whatever is installed. With "require" everything runs and a
// missing tool is a failure. With "long" the large random runs have their full size too.
const (
	require = "require"
	long    = "long"
)

// Size returns how many cases a test of many takes: quick by default, all with LOOPDRAFT_ORACLES=require, and most
// with LOOPDRAFT_ORACLES=long.
func Size(quick, all, most int) int {
	switch os.Getenv("LOOPDRAFT_ORACLES") {
	case require:
		return all
	case long:
		return most
	}
	return quick
}

// Need skips the test unless a tool is there; with LOOPDRAFT_ORACLES=require it fails the test
// instead. A tool is "mido", "jzz", "axe-core" or the name of a program;
// "fluidsynth" needs its sound set as well. Fluidsynth and chromium take minutes of a processor, so
// that tests that need them are skipped unless they are required.
func Need(t testing.TB, tool string) {
	t.Helper()
	if why := missing(tool); why != "" {
		lack(t, why)
	}
}

// Has tells whether a tool is there; with LOOPDRAFT_ORACLES=require a missing one fails the test.
func Has(t testing.TB, tool string) bool {
	t.Helper()
	why := missing(tool)
	if why != "" && required() {
		t.Error(why)
	}
	return why == ""
}

func lack(t testing.TB, why string) {
	t.Helper()
	if required() {
		t.Fatal(why)
	}
	t.Skip(why)
}

func required() bool {
	level := os.Getenv("LOOPDRAFT_ORACLES")
	return level == require || level == long
}

// missing says what has to be done for a tool to be there, nothing if it is.
func missing(tool string) string {
	if (tool == "fluidsynth" || tool == "chromium") && !required() {
		return tool + " takes long: set LOOPDRAFT_ORACLES=require to use it"
	}
	switch tool {
	case "mido":
		// Asking Python itself would take longer than reading a file.
		if _, err := os.Stat("/usr/lib/python3/dist-packages/mido"); err != nil {
			return "mido is not there: install Debian's python3-mido"
		}
	case "jzz":
		if _, err := exec.LookPath("node"); err != nil {
			return "node is not there: install it for the jzz validator"
		}
		dir := os.Getenv("LOOPDRAFT_NODE_MODULES")
		if dir == "" {
			return "LOOPDRAFT_NODE_MODULES is not set: npm install jzz@1.9.6 jzz-midi-smf@1.9.9 somewhere and name that folder"
		}
		if _, err := os.Stat(filepath.Join(dir, "node_modules", "jzz-midi-smf")); err != nil {
			return "no jzz-midi-smf in LOOPDRAFT_NODE_MODULES=" + dir
		}
	case "axe-core":
		if os.Getenv("LOOPDRAFT_NODE_MODULES") == "" {
			return "LOOPDRAFT_NODE_MODULES is not set: npm install axe-core@4.14.1 somewhere and name that folder"
		}
		if _, err := os.Stat(axe()); err != nil {
			return "no axe-core in LOOPDRAFT_NODE_MODULES=" + os.Getenv("LOOPDRAFT_NODE_MODULES")
		}
	case "fluidsynth":
		if _, err := exec.LookPath(tool); err != nil {
			return "fluidsynth is not there: install it"
		}
		if _, err := os.Stat(soundFont); err != nil {
			return "no " + soundFont + ": install Debian's timgm6mb-soundfont"
		}
	default:
		if _, err := exec.LookPath(tool); err != nil {
			return tool + " is not there: install it"
		}
	}
	return ""
}

// axe is the file of axe-core.
func axe() string {
	return filepath.Join(os.Getenv("LOOPDRAFT_NODE_MODULES"), "node_modules", "axe-core", "axe.min.js")
}
