package edit

import "bytes"

// History takes changes of a text back, and makes them again. It keeps what changed, not whole texts. The zero value is
// the history of an empty text.
type History struct {
	text    []byte
	changes []change
	done    int // changes that are in the text; the others were taken back
	held    int // bytes that the changes hold
}

// MostHeld is how many bytes a history holds beside the text: the oldest changes are forgotten over that.
const MostHeld = 8 << 20

// change is that a text has now, from a byte on, where it had was.
type change struct {
	from     int
	was, now []byte
}

func (c change) size() int { return len(c.was) + len(c.now) + 64 }

// NewHistory returns the history of a text in which nothing has changed.
func NewHistory(text []byte) *History { return &History{text: bytes.Clone(text)} }

// Text returns the text as it is. It is not to be written to.
func (h *History) Text() []byte { return h.text }

// Do makes another text of it. What was taken back is forgotten. The same text again is no change.
func (h *History) Do(text []byte) {
	head, tail := 0, 0
	least := min(len(text), len(h.text))
	for head < least && text[head] == h.text[head] {
		head++
	}
	for tail < least-head && text[len(text)-1-tail] == h.text[len(h.text)-1-tail] {
		tail++
	}
	if head == len(text) && head == len(h.text) {
		return
	}
	for _, c := range h.changes[h.done:] {
		h.held -= c.size()
	}
	c := change{head, bytes.Clone(h.text[head : len(h.text)-tail]), bytes.Clone(text[head : len(text)-tail])}
	h.changes = append(h.changes[:h.done], c)
	h.held += c.size()
	for h.held > MostHeld && len(h.changes) > 1 {
		h.held -= h.changes[0].size()
		h.changes[0] = change{} // so that its bytes can go
		h.changes = h.changes[1:]
	}
	h.done, h.text = len(h.changes), bytes.Clone(text)
}

// Undo takes the last change back; false where there is none.
func (h *History) Undo() bool {
	if h.done == 0 {
		return false
	}
	h.done--
	c := h.changes[h.done]
	h.put(c.from, len(c.now), c.was)
	return true
}

// Redo makes the change again that was taken back last; false where there is none.
func (h *History) Redo() bool {
	if h.done == len(h.changes) {
		return false
	}
	c := h.changes[h.done]
	h.done++
	h.put(c.from, len(c.was), c.now)
	return true
}

// put makes a new text, since the old one may have been given away.
func (h *History) put(from, old int, text []byte) {
	h.text = bytes.Join([][]byte{h.text[:from], text, h.text[from+old:]}, nil)
}
