// Package lay lays a loop out over the bars of a song. Start with [Lay]: it takes a loop and blocks of bars,
// one a section, and returns the song in which every part plays all the time.
//
// # What repeats
//
// Laying out copies the loop pass by pass. Set-up (events that are not notes at tick 0, or within the
// first beat and before the channel's first note) is written once. In later passes:
//
//   - notes repeat with their polyphonic pressure;
//   - controllers, bend and channel pressure repeat, and the start value is sent again where a pass
//     ended on another; the start value is the last at or before the channel's first note, else the
//     default of General MIDI, else none is sent;
//   - bank select and program are one unit, as are a parameter (RPN, NRPN) and its data, which are sent
//     again as a whole and followed by the null parameter;
//   - mode messages (120 to 127) repeat where they stand and are never sent again;
//   - tempo, metre and key signature repeat, on whatever track they stand;
//   - system exclusive messages, texts, markers and everything else stand in the first pass only.
//
// Several loops lie on one song, a tape, one after another, and each block names the one it plays. Where the loop
// changes under a channel what is in force in the new one is sent, as far as it differs; what it does not set is as the
// first loop begins, else at its default. An early note leads into the first bar of its own loop. Texts and the like
// stand in the first pass of their loop.
//
// A section that begins inside the loop sends everything in force at that place. A note that rings
// over the end of a pass is cut where its key starts again, else it rings. An onset less than a 1/64
// note before a bar line belongs to the bar after it. The last pass is cut at the song's end, where
// held pedals are released and bends come home.
package lay
