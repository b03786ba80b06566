package moves

// Bjorklund spreads k hits over n places as evenly as they go, the first place hit: k heads and n-k
// rests; the rests left over are appended to the heads for as long as more than one is left. k and n
// at or below 0 give no hit and no place, k over n a hit in every place.
//
// Toussaint, The Euclidean Algorithm Generates Traditional Musical Rhythms, BRIDGES 2005, pp. 47-56.
func Bjorklund(k, n int) []bool {
	if n <= 0 {
		return nil
	}
	out := make([]bool, 0, n)
	if k <= 0 {
		return out[:n]
	}
	heads, rests := min(k, n), max(n-k, 0)
	head, rest := []bool{true}, []bool{false}
	for rests > 1 {
		joined := append(append(make([]bool, 0, len(head)+len(rest)), head...), rest...)
		if heads > rests {
			heads, rests, head, rest = rests, heads-rests, joined, head
			continue
		}
		// Every head gets the same rest for as long as there are enough of them. That is done in one go, so that
		// one hit in a million places takes no million rounds.
		times := max(1, (rests-1)/heads)
		for range times - 1 {
			joined = append(joined, rest...)
		}
		rests -= times * heads
		head = joined
	}
	for range heads {
		out = append(out, head...)
	}
	for range rests {
		out = append(out, rest...)
	}
	return out
}
