package oracle

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"loopdraft/smf"
)

// lump is one named piece of a WAD.
type lump struct {
	name string
	data []byte
}

const (
	wadHeader = 12 // bytes: "IWAD" or "PWAD", the number of lumps, where the directory stands
	wadEntry  = 16 // bytes a lump in the directory: where it stands, its size, its name padded with zeros
)

// lumpsOf reads a WAD, which is the archive that games of the Doom engine keep their data in: a header, lumps, and
// a directory of them, with 32-bit numbers, the low byte first (doomwiki.org, "WAD"). A lump's data alias b. What
// the bytes do not hold is refused with an [*smf.Error] that says where.
func lumpsOf(b []byte) ([]lump, error) {
	refuse := func(offset int, found, want string, args ...any) error {
		return &smf.Error{Offset: int64(offset), Found: found, Want: fmt.Sprintf(want, args...)}
	}
	if len(b) < wadHeader {
		return nil, refuse(len(b), "the end of the file", "%d bytes of header", wadHeader)
	}
	if kind := string(b[:4]); kind != "IWAD" && kind != "PWAD" {
		return nil, refuse(0, fmt.Sprintf("%q", kind), `"IWAD" or "PWAD", the start of a WAD`)
	}
	size := uint64(len(b))
	number := func(at uint64) uint64 { return uint64(binary.LittleEndian.Uint32(b[at:])) }
	count, directory := number(4), number(8)
	if directory > size {
		return nil, refuse(8, fmt.Sprintf("a directory at byte %#x", directory), "one inside the %d bytes of the file", size)
	}
	if most := (size - directory) / wadEntry; count > most {
		return nil, refuse(4, fmt.Sprintf("%d lumps", count), "at most %d, then the directory comes to the end of the file", most)
	}
	lumps := make([]lump, 0, count)
	for at := directory; at < directory+wadEntry*count; at += wadEntry {
		start, length := number(at), number(at+4)
		name, _, _ := bytes.Cut(b[at+8:at+wadEntry], []byte{0})
		if length > 0 && start+length > size { // a lump of no bytes is a label and stands nowhere
			return nil, refuse(int(at), fmt.Sprintf("lump %q of %d bytes at byte %#x", name, length, start), "one inside the %d bytes of the file", size)
		}
		l := lump{name: string(name)}
		if length > 0 {
			l.data = b[start : start+length]
		}
		lumps = append(lumps, l)
	}
	return lumps, nil
}
