package song

// KeysUsed returns the keys its notes have, in rising order.
func KeysUsed(notes []Note) []uint8 {
	var seen Keys
	for _, n := range notes {
		seen[n.Key>>6&1] |= 1 << (n.Key & 63)
	}
	return seen.List()
}
