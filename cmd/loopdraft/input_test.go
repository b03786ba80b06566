package main

import (
	"bytes"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
)

// endless is a stream of one byte without end that counts what is read of it.
type endless struct {
	of   byte
	read int
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.of
	}
	e.read += len(p)
	return len(p), nil
}

// TestInputIsReadNoFurther: what is no MIDI file is read to 64 KiB, a recipe to a byte over 1 MiB.
func TestInputIsReadNoFurther(t *testing.T) {
	for _, tt := range []struct {
		rule string
		args []string
		of   byte
		most int
		want string
	}{
		{"a MIDI file", []string{"parts", "-"}, 0, smf.HeadBytes, `loopdraft: standard input: byte 0x0: found "\x00\x00\x00\x00\x00\x00\x00\x00", want "MThd", the start of a Standard MIDI File`},
		{"a reference", []string{"study", "-"}, 0, smf.HeadBytes, `loopdraft: standard input: byte 0x0: found "\x00\x00\x00\x00\x00\x00\x00\x00", want "MThd", the start of a Standard MIDI File`},
		{"a recipe", []string{"draft", "../../testdata/loops/kick-bass.mid", "--recipe", "-"}, '#', recipes.MaxBytes + bytes.MinRead, "loopdraft: standard input: found more bytes, want at most 1048576"},
	} {
		in, diagnostics := &endless{of: tt.of}, &log{}
		code := run(tt.args, in, diagnostics, diagnostics, func(string) string { return "" })
		if got := strings.TrimSpace(diagnostics.String()); code != exitFailure || got != tt.want {
			t.Errorf("%s: exit code %d, said %q, want %q", tt.rule, code, got, tt.want)
		}
		if in.read > tt.most {
			t.Errorf("%s: %d bytes were read, want at most %d", tt.rule, in.read, tt.most)
		}
	}
}

// TestNoMoreFilesThanADraftHas: files are counted before they are read.
func TestNoMoreFilesThanADraftHas(t *testing.T) {
	for _, tt := range []struct {
		files int
		want  string
	}{
		{recipes.MaxFiles, "loopdraft: none.mid: found no such file, want a MIDI file"},
		{recipes.MaxFiles + 1, "loopdraft: draft: found 1001 files, want at most 1000"},
	} {
		args := []string{"draft"}
		for range tt.files {
			args = append(args, "none.mid")
		}
		said := &log{}
		run(args, nil, said, said, func(string) string { return "" })
		if got, _, _ := strings.Cut(said.String(), "\n"); got != tt.want {
			t.Errorf("%d files: said %q, want %q", tt.files, got, tt.want)
		}
	}
}
