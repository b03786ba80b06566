// Package sound hears the beat of a recording and measures its bars: what listen reads off notes, as far
// as it can be had from samples.
//
// Start with [Listen]. It takes WAV, FLAC or MP3 and reads it once, from front to back, keeping a few
// numbers for every 11.6 ms or so, not the samples. From these it finds the tempo, which is taken as
// constant, and the first downbeat, where they are not given, then measures each bar: the level of five
// bands, whether there is a kick and a low end, brightness, and how often something is struck.
//
// Levels are in dB of full scale, times in seconds from the first sample, frequencies in Hz. Both sides
// of a stereo recording count by their power, so that nothing cancels.
//
// It knows nothing of parts or of pitch, follows no tempo that changes, and finds no metre: beats per
// bar are told.
package sound
