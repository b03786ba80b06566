package listen

import (
	"errors"
	"fmt"
	"strings"

	"loopdraft/smf"
)

// defaultBPM is the tempo of a file that has none, in thousandths (RP-001 p. 5).
const defaultBPM = 120_000

// assume puts a tempo and a metre at tick 0 of the first track of a file that has none: what the
// options say, else a tempo that a file's name says, else 120 and 4/4; of several loops the first one's.
func (c *cutting) assume() error {
	if len(c.file.Tracks) == 0 {
		return errors.New("found no notes, want a loop")
	}
	o := c.opts
	if o.BPM != 0 && (o.BPM < smf.SlowestTempo || o.BPM > smf.FastestTempo) {
		return fmt.Errorf("bpm: found %s, want %s to %s", tempoText(o.BPM), tempoText(smf.SlowestTempo), tempoText(smf.FastestTempo))
	}
	var like *smf.Timeline // of the first of several loops
	if o.Like != nil {
		var err error
		if like, _, err = o.Like.File.Timeline(); err != nil {
			return err
		}
		o.BPM, o.Metre = 0, like.MetreIn(1)
	}
	ppq, _ := c.file.Division.PPQ()
	var add []func(*smf.Track)
	if t, had := c.firstValue(smf.MetaTempo); !had {
		bpm, why := c.assumedTempo()
		micros, text := smf.MicrosPerQuarter(bpm), tempoText(bpm)
		if like != nil {
			micros, why = like.TempoAt(0), "as in "+o.Like.Name
			text = bpmText(micros)
		}
		c.tell("no tempo in the file: %s bpm %s", text, why)
		add = append(add, func(t *smf.Track) { t.AppendMeta(0, smf.MetaTempo, tempoBytes(micros)) })
	} else if o.BPM != 0 && string(t) != string(tempoBytes(smf.MicrosPerQuarter(o.BPM))) {
		c.tell("the file has a tempo of its own: %s bpm is not used", tempoText(o.BPM))
	}
	metre := smf.Metre{Num: 4, Den: 4}
	if o.Metre != (smf.Metre{}) {
		metre = o.Metre
		if tl := smf.NewTimeline(ppq, nil, []smf.MetreAt{{Metre: metre}}); tl.MetreIn(1) != metre {
			return fmt.Errorf("metre: found %s, want 1 to 255 over 1, 2, 4 .. 64, in bars of whole ticks", metre)
		}
	}
	if m, had := c.firstValue(smf.MetaMetre); !had {
		why := "assumed"
		if o.Metre != (smf.Metre{}) {
			why = "as asked"
		}
		if like != nil {
			why = "as in " + o.Like.Name
		}
		c.tell("no metre in the file: %s %s", metre, why)
		add = append(add, func(t *smf.Track) { t.AppendMeta(0, smf.MetaMetre, metreBytes(metre)) })
	} else if like == nil && o.Metre != (smf.Metre{}) && string(m[:2]) != string(metreBytes(metre)[:2]) {
		c.tell("the file has a metre of its own: %s is not used", metre)
	}
	if len(add) > 0 {
		c.file.Tracks[0] = inFront(&c.file.Tracks[0], add)
	}
	return nil
}

// inFront returns a track with events at tick 0 before all others.
func inFront(t *smf.Track, add []func(*smf.Track)) smf.Track {
	store := append([]byte(nil), t.LongStore()...)
	u := smf.TrackFromStore(make([]smf.Event, 0, len(t.Events)+len(add)), 0, store)
	for _, f := range add {
		f(&u)
	}
	u.Events = append(u.Events, t.Events...)
	u.End = t.End
	return u
}

// firstValue returns the payload of the first event of a type in the file that makes sense; the rest
// is for the timeline to judge.
func (c *cutting) firstValue(kind byte) ([]byte, bool) {
	need := 3 // bytes that matter: a tempo has three, a metre two
	if kind == smf.MetaMetre {
		need = 2
	}
	for i := range c.file.Tracks {
		t := &c.file.Tracks[i]
		for _, e := range t.Events {
			if k, meta := e.MetaType(); meta && k == kind {
				if b := t.Long(e); len(b) >= need && strings.Trim(string(b[:need]), "\x00") != "" && (kind != smf.MetaMetre || b[0] > 0 && b[1] <= 6) {
					return b, true
				}
			}
		}
	}
	return nil, false
}

func (c *cutting) assumedTempo() (bpm int64, why string) {
	if c.opts.BPM != 0 {
		return c.opts.BPM, "as asked"
	}
	for _, name := range c.opts.Names {
		if bpm := nameTempo(name); bpm != 0 {
			return bpm, "by the name " + quoted(name)
		}
	}
	return defaultBPM, "assumed"
}

// nameTempo returns the tempo that a file's name says, in thousandths of a beat a minute, 0 if none:
// a number next to "bpm", as in "loop 132bpm.mid", "132 bpm", "bpm-132" and "127.5 bpm".
func nameTempo(name string) int64 {
	name = strings.ToLower(name)
	for from := 0; ; {
		i := strings.Index(name[from:], "bpm")
		if i < 0 {
			return 0
		}
		i += from
		const between = " _-"
		if bpm := numberAtEnd(strings.TrimRight(name[:i], between)); bpm != 0 {
			return bpm
		}
		if bpm := numberAtStart(strings.TrimLeft(name[i+3:], between+"=")); bpm != 0 {
			return bpm
		}
		from = i + 3
	}
}

const digitsAndPoint = "0123456789."

func numberAtEnd(s string) int64 {
	return readTempo(s[len(strings.TrimRight(s, digitsAndPoint)):])
}

func numberAtStart(s string) int64 {
	return readTempo(s[:len(s)-len(strings.TrimLeft(s, digitsAndPoint))])
}

// readTempo reads digits with at most three decimals, in thousandths; 0 if it is no tempo of music.
func readTempo(s string) int64 {
	bpm, ok := smf.ParseTempo(strings.Trim(s, "."))
	if !ok || bpm < 20_000 { // fewer is a number of bars or a date (common practice, no source)
		return 0
	}
	return bpm
}

func tempoText(thousandths int64) string { return smf.DecimalText(thousandths, 3) }

func tempoBytes(micros uint32) []byte {
	return []byte{byte(micros >> 16), byte(micros >> 8), byte(micros)}
}

// metreBytes writes a metre with a click a beat and 8 thirty-seconds a quarter (RP-001 p. 10).
func metreBytes(m smf.Metre) []byte {
	power := byte(0)
	for 1<<power < m.Den {
		power++
	}
	return []byte{byte(m.Num), power, byte(max(1, 96/m.Den)), 8}
}
