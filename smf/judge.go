package smf

import (
	"bytes"
	"fmt"
)

// HeadBytes is how many bytes from the beginning of a file [Judge] looks at.
const HeadBytes = 1 << 16

// Judge tells by the first [HeadBytes] bytes of a file, or by all of a shorter one, whether more of it
// is worth reading: it returns the error of [Decode] where what follows cannot change it, that is
// where the file does not begin with a header, or with no chunk after it.
func Judge(head []byte) error {
	if bytes.HasPrefix(head, []byte("RIFF")) && (len(head) < 12 || string(head[8:12]) == "RMID") {
		return nil // where the file begins in it is found by Decode
	}
	d := decoder{src: head, file: &File{}}
	start, err := d.unwrap()
	if err != nil {
		return err
	}
	claimed, p, err := d.header(start)
	if err != nil {
		return err
	}
	if typ, _ := d.chunkType(p); typ == "" && len(head)-p >= 8 && claimed > 0 {
		return refuse(p, d.glimpse(p), fmt.Sprintf("a chunk: track 1 of %d", claimed))
	}
	return nil
}
