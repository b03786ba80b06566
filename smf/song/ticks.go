package song

// HalfUp returns a/b rounded to the nearest integer, halves up; b is positive.
func HalfUp(a, b int64) Tick {
	twice := 2*a + b
	q := twice / (2 * b)
	if twice%(2*b) < 0 {
		q--
	}
	return Tick(q)
}
