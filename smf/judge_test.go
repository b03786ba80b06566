package smf_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"loopdraft/smf"
)

// endless gives a beginning, then one byte for ever, and counts what was read of it.
type endless struct {
	begin []byte
	then  byte
	read  int
}

func (e *endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.then
		if e.read < len(e.begin) {
			p[i] = e.begin[e.read]
		}
		e.read++
	}
	return len(p), nil
}

// What is no MIDI file by its first bytes is read no further, however long it is.
func TestWhatIsNoMIDIFileIsNotReadOn(t *testing.T) {
	header := "MThd\x00\x00\x00\x06\x00\x01\x00\x02\x00\x60"
	for what, begin := range map[string]string{
		"zeros":                      "",
		"a RIFF file of sound":       "RIFF\xff\xff\xff\x7fWAVEfmt ",
		"a film":                     "\x00\x00\x00\x20ftypisom",
		"a header of 5 bytes":        "MThd\x00\x00\x00\x05",
		"division 0":                 header[:12] + "\x00\x00",
		"a header and zeros":         header,
		"a header of too many bytes": "MThd\x7f\x00\x00\x00",
	} {
		r := &endless{begin: []byte(begin)}
		_, err := smf.Read(r)
		var refusal *smf.Error
		if !errors.As(err, &refusal) {
			t.Errorf("%s: %v is no refusal", what, err)
		}
		if r.read > smf.HeadBytes {
			t.Errorf("%s: %d bytes were read, want at most %d", what, r.read, smf.HeadBytes)
		}
	}
}

// Judge refuses nothing that Decode takes, and says what Decode says.
func TestJudgeAgreesWithDecode(t *testing.T) {
	header := "MThd\x00\x00\x00\x06\x00\x01\x00\x01\x00\x60"
	track := "MTrk\x00\x00\x00\x04\x00\xff\x2f\x00"
	none := strings.Replace(header, "\x00\x01\x00\x60", "\x00\x00\x00\x60", 1)
	for _, file := range []string{
		"", "MTh", "RIFF", "RIFFxxxxRMI", "RIFF\x20\x00\x00\x00RMIDdata\x1a\x00\x00\x00" + header + track,
		header, header + track, header + "XFIH\x00\x00\x00\x00" + track, none, none + "\x00\x00\x00\x00\x00\x00\x00\x00",
		header + "\x00\x00\x00\x00\x00\x00\x00\x00" + track, header + "MT", "RIFF\x20\x00\x00\x00WAVE", "text",
		"MThd\x00\x00\x00\x08\x00\x01\x00\x01\x00\x60\x01\x02" + track,
	} {
		_, want := smf.Decode([]byte(file))
		got := smf.Judge([]byte(file))
		if got != nil && fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%q: judged %v, decoded %v", file, got, want)
		}
	}
}

// A file whose header is long is judged by its beginning and read whole.
func TestFileOverTheHead(t *testing.T) {
	body := strings.Repeat("\x00\x90\x3c\x40\x60\x80\x3c\x40", smf.HeadBytes/8) + "\x00\xff\x2f\x00"
	n := len(body)
	file := "MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk" + string([]byte{byte(n >> 24), byte(n >> 16), byte(n >> 8), byte(n)}) + body
	f, err := smf.Read(bytes.NewReader([]byte(file)))
	if err != nil || len(f.Tracks[0].Events) != smf.HeadBytes/4 {
		t.Fatalf("read %v, %v", f, err)
	}
	failing := io.MultiReader(strings.NewReader(file[:smf.HeadBytes+10]), io.LimitReader(brokenReader{}, 1))
	if _, err := smf.Read(failing); !errors.Is(err, errBroken) {
		t.Errorf("an error after the head: got %v, want %v", err, errBroken)
	}
	if _, err := smf.Read(brokenReader{}); !errors.Is(err, errBroken) {
		t.Errorf("an error in the head: got %v, want %v", err, errBroken)
	}
}

var errBroken = errors.New("broken")

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, errBroken }
