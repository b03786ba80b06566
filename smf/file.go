package smf

// File is a Standard MIDI File in memory: everything that stood in the bytes, in its order.
type File struct {
	Format   uint16
	Division Division
	Tracks   []Track
	Chunks   []Chunk   // chunks other than MThd and MTrk, in file order
	Warnings []Warning // what Decode repaired
}

// Track is one MTrk chunk: its events in file order, and its end. The end-of-track event is not
// among the events: End is its tick.
type Track struct {
	Events []Event
	End    Tick
	bytes  []byte // payloads of long events: a length as VLQ, then the bytes
}

// Chunk is a chunk of an unknown type, kept and written back in its place.
type Chunk struct {
	Before int     // stands before the track of this index; len(Tracks): after the last
	Type   [4]byte // four ASCII characters
	Data   []byte
}

// Division is the header's third word: ticks per quarter note, or SMPTE frames (bit 15 set).
type Division uint16

// PPQ returns the ticks per quarter note, and false for SMPTE time.
func (d Division) PPQ() (Tick, bool) { return Tick(d & 0x7FFF), d&0x8000 == 0 }
