package smf

// maxVLQ is the largest variable-length quantity: 28 bits in four bytes (RP-001 p. 2).
const maxVLQ = 0x0FFFFFFF

// appendVLQ appends v as a variable-length quantity: seven bits a byte, the highest group first,
// bit 7 set on all bytes but the last (RP-001 p. 2). It wants v at most maxVLQ.
func appendVLQ(dst []byte, v uint32) []byte {
	switch {
	case v < 1<<7:
		return append(dst, byte(v))
	case v < 1<<14:
		return append(dst, byte(v>>7)|0x80, byte(v)&0x7F)
	case v < 1<<21:
		return append(dst, byte(v>>14)|0x80, byte(v>>7)|0x80, byte(v)&0x7F)
	default:
		return append(dst, byte(v>>21)|0x80, byte(v>>14)|0x80, byte(v>>7)|0x80, byte(v)&0x7F)
	}
}

// readVLQ reads the variable-length quantity at the start of b and returns it with the number of
// bytes it takes: 1 to 4; 0 if b ends inside it; -1 if it does not end within four bytes.
// Leading 80h bytes, about which RP-001 is silent, count to the four and are otherwise accepted.
func readVLQ(b []byte) (v uint32, n int) {
	for n < len(b) {
		c := b[n]
		v = v<<7 | uint32(c&0x7F)
		n++
		if c < 0x80 {
			return v, n
		}
		if n == 4 {
			return 0, -1
		}
	}
	return 0, 0
}
