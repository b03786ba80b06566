// Package oracle gives tests what nobody of this project made: MIDI files from other people's
// packages, and other programs that read or play MIDI files. Only tests import it, and
// the program under corpus, which lays files for them.
//
// Nothing of it is needed to build or to use the project. A test that asks for what is not
// installed is skipped and says so; with LOOPDRAFT_ORACLES=require in the environment it fails
// instead, so that a machine that should have everything shows what it lacks.
//
//	midicsv, python3-mido, openttd-openmsx   Debian packages of these names
//	jzz 1.9.6, jzz-midi-smf 1.9.9            from npm; LOOPDRAFT_NODE_MODULES names the folder
//	                                         that has node_modules in it
//	axe-core 4.14.1                          from npm, in the same folder: rules of accessibility for pages
//	fluidsynth, timgm6mb-soundfont           Debian packages: a General MIDI synthesizer, its sounds
//	freedoom, openttd-openmsx                Debian packages, out of which .ci/corpus lays songs and loops;
//	                                         LOOPDRAFT_CORPUS names the folder
//	abcmidi                                  Debian package: tunes with known parts, made MIDI files
//	github.com/go-audio/midi v1.0.0          a Go module, for its fixtures
package oracle
