package oracle

import (
	"bufio"
	"bytes"
	_ "embed"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// Event is an event as a reader saw it: its tick from the start, and its message. A meta event is
// FFh, type, length as a variable-length quantity, payload; a system exclusive packet is its
// status and payload, the closing F7h included. Ends of track are events too.
type Event struct {
	Tick    int64
	Message []byte
}

// Tracks are the tracks of a file as a reader saw them.
type Tracks [][]Event

// MIDICSV reads a file with midicsv. The error is what the program complained about.
func MIDICSV(t testing.TB, path string) (Tracks, error) {
	t.Helper()
	Need(t, "midicsv")
	out, complaint := run("midicsv", path)
	if complaint != nil {
		return nil, complaint
	}
	return parseCSV(out)
}

// parseCSV turns the text form back into messages.
func parseCSV(text []byte) (Tracks, error) {
	r := csv.NewReader(bytes.NewReader(text))
	r.FieldsPerRecord = -1
	r.TrimLeadingSpace = true
	r.ReuseRecord = true
	var tracks Tracks
	for {
		row, err := r.Read()
		if errors.Is(err, io.EOF) {
			return tracks, nil
		}
		if err != nil {
			return nil, err
		}
		if len(row) < 3 {
			return nil, fmt.Errorf("short row %q", row)
		}
		switch row[2] {
		case "Header", "End_of_file":
			continue
		case "Start_track":
			tracks = append(tracks, nil)
			continue
		}
		tick, err := strconv.ParseInt(row[1], 10, 64)
		if err != nil {
			return nil, err
		}
		m, err := rowMessage(row[2], row[3:])
		if err != nil {
			return nil, fmt.Errorf("row %q: %w", row, err)
		}
		if len(tracks) == 0 {
			return nil, fmt.Errorf("row %q outside of a track", row)
		}
		n := len(tracks) - 1
		tracks[n] = append(tracks[n], Event{tick, m})
	}
}

// rowMessage makes the message of one row of the text form.
func rowMessage(kind string, args []string) ([]byte, error) {
	if typ, ok := map[string]byte{
		"Text_t": 1, "Copyright_t": 2, "Title_t": 3, "Instrument_name_t": 4,
		"Lyric_t": 5, "Marker_t": 6, "Cue_point_t": 7,
	}[kind]; ok {
		if len(args) != 1 {
			return nil, errors.New("want one text")
		}
		return meta(typ, unescape(args[0])), nil
	}
	if kind == "Key_signature" && len(args) == 2 {
		sharps, err := strconv.Atoi(args[0])
		mode := byte(0)
		if args[1] == "minor" {
			mode = 1
		}
		return meta(0x59, []byte{byte(sharps), mode}), err
	}
	n := make([]int, len(args))
	b := make([]byte, len(args))
	for i, s := range args {
		v, err := strconv.Atoi(s)
		if err != nil {
			return nil, err
		}
		n[i], b[i] = v, byte(v)
	}
	// The widths of payloads that are numbers, and of channel messages with their channel.
	type form struct {
		lead byte // a status, or the type of a meta event
		args int
	}
	metas := map[string]form{
		"End_track": {0x2F, 0}, "Sequence_number": {0, 1}, "MIDI_port": {0x21, 1}, "Channel_prefix": {0x20, 1},
		"Time_signature": {0x58, 4}, "Tempo": {0x51, 1}, "SMPTE_offset": {0x54, 5},
	}
	if f, ok := metas[kind]; ok {
		if len(args) != f.args {
			return nil, fmt.Errorf("%d numbers, want %d", len(args), f.args)
		}
		switch kind {
		case "Tempo":
			b = []byte{byte(n[0] >> 16), byte(n[0] >> 8), byte(n[0])}
		case "Sequence_number":
			b = []byte{byte(n[0] >> 8), byte(n[0])}
		}
		return meta(f.lead, b), nil
	}
	channels := map[string]form{
		"Note_off_c": {0x80, 3}, "Note_on_c": {0x90, 3}, "Poly_aftertouch_c": {0xA0, 3}, "Control_c": {0xB0, 3},
		"Program_c": {0xC0, 2}, "Channel_aftertouch_c": {0xD0, 2}, "Pitch_bend_c": {0xE0, 2},
	}
	if f, ok := channels[kind]; ok {
		if len(args) != f.args {
			return nil, fmt.Errorf("%d numbers, want %d", len(args), f.args)
		}
		if kind == "Pitch_bend_c" {
			b = []byte{b[0], byte(n[1] & 0x7F), byte(n[1] >> 7)}
		}
		return append([]byte{f.lead | b[0]}, b[1:]...), nil
	}
	switch {
	case kind == "Sequencer_specific" && len(n) > 0 && n[0] == len(n)-1:
		return meta(0x7F, b[1:]), nil
	case kind == "Unknown_meta_event" && len(n) > 1 && n[1] == len(n)-2:
		return meta(b[0], b[2:]), nil
	case kind == "System_exclusive" && len(n) > 0 && n[0] == len(n)-1:
		return append([]byte{0xF0}, b[1:]...), nil
	case kind == "System_exclusive_packet" && len(n) > 0 && n[0] == len(n)-1:
		return append([]byte{0xF7}, b[1:]...), nil
	}
	return nil, errors.New("unknown row")
}

// meta makes a meta event's message. The length is written here and not by the package that is
// tested.
func meta(typ byte, data []byte) []byte {
	m := []byte{0xFF, typ}
	for shift := 21; shift > 0; shift -= 7 {
		if len(data)>>shift > 0 {
			m = append(m, byte(len(data)>>shift)|0x80)
		}
	}
	return append(append(m, byte(len(data)&0x7F)), data...)
}

// unescape undoes the backslashes of the text form: \ooo in octal, \\.
func unescape(s string) []byte {
	var b []byte
	for i := 0; i < len(s); i++ {
		if s[i] == '\\' && i+3 < len(s) {
			if v, err := strconv.ParseUint(s[i+1:i+4], 8, 8); err == nil {
				b = append(b, byte(v))
				i += 3
				continue
			}
		}
		if s[i] == '\\' && i+1 < len(s) {
			i++
		}
		b = append(b, s[i])
	}
	return b
}

//go:embed mido.py
var midoScript string

// Mido reads a file with mido. The error is what it complained about.
func Mido(t testing.TB, path string) (Tracks, error) {
	t.Helper()
	r := MidoEach(t, path)[0]
	return r.Tracks, r.Err
}

// Reading is what a reader made of a file.
type Reading struct {
	Tracks Tracks
	Err    error
}

// MidoEach is [Mido] for several files in one process, which is much faster.
func MidoEach(t testing.TB, paths ...string) []Reading {
	t.Helper()
	Need(t, "mido")
	out, complaint := run(python, append([]string{"-c", midoScript}, paths...)...)
	if complaint != nil {
		t.Fatalf("mido: %v", complaint)
	}
	readings := make([]Reading, len(paths))
	at := -1 // the reading that the lines belong to
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Buffer(nil, 1<<26)
	for lines.Scan() {
		word, rest, _ := strings.Cut(lines.Text(), " ")
		if word == "file" {
			at++
		}
		if at < 0 || at >= len(readings) {
			t.Fatalf("mido: unexpected line %q", lines.Text())
		}
		r := &readings[at]
		switch word {
		case "file":
		case "error":
			r.Err = errors.New(rest)
		case "track":
			r.Tracks = append(r.Tracks, nil)
		default:
			tick, err := strconv.ParseInt(word, 10, 64)
			m, err2 := hex.DecodeString(rest)
			n := len(r.Tracks) - 1
			if err != nil || err2 != nil || n < 0 {
				t.Fatalf("mido: unexpected line %q", lines.Text())
			}
			r.Tracks[n] = append(r.Tracks[n], Event{tick, m})
		}
	}
	if at != len(readings)-1 || lines.Err() != nil {
		t.Fatalf("mido: read %d of %d files (%v)", at+1, len(readings), lines.Err())
	}
	return readings
}

//go:embed jzz.js
var jzzScript string

// JZZ returns the faults that the validator of jzz-midi-smf finds in a file, one a line, with
// offset and track; nil if there is none. It also minds harmless things: empty names, time
// signatures outside of the first track, data entry without a parameter number.
func JZZ(t testing.TB, path string) []string {
	t.Helper()
	return JZZEach(t, path)[0]
}

// JZZEach is [JZZ] for several files in one process, which is much faster.
func JZZEach(t testing.TB, paths ...string) [][]string {
	t.Helper()
	Need(t, "jzz")
	out, complaint := run("node", append([]string{"-e", jzzScript}, paths...)...)
	if complaint != nil {
		t.Fatalf("jzz: %v", complaint)
	}
	var faults [][]string
	if err := json.Unmarshal(out, &faults); err != nil || len(faults) != len(paths) {
		t.Fatalf("jzz: %d answers for %d files (%v)", len(faults), len(paths), err)
	}
	return faults
}

// Sound fails the test if any of the readers that are there refuses a file that we wrote, or
// finds a fault in it. Key signatures must have mode 0 or 1: mido refuses others.
func Sound(t testing.TB, path string) {
	t.Helper()
	if Has(t, "midicsv") {
		if _, err := MIDICSV(t, path); err != nil {
			t.Errorf("midicsv: %v", err)
		}
	}
	if Has(t, "mido") {
		if _, err := Mido(t, path); err != nil {
			t.Errorf("mido: %v", err)
		}
	}
	if Has(t, "jzz") {
		for _, fault := range JZZ(t, path) {
			t.Errorf("jzz: %s", fault)
		}
	}
}

// run runs a program; what it says on standard error, or its failure, is the complaint.
func run(name string, args ...string) (out []byte, complaint error) {
	cmd := exec.Command(name, args...)
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	err := cmd.Run()
	if text := strings.TrimSpace(stderr.String()); text != "" {
		return stdout.Bytes(), errors.New(text)
	}
	return stdout.Bytes(), err
}
