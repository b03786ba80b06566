package form

// MeanOf returns the mean powers of some parts of a table together over bars first to last, counted from 0.
func MeanOf(t Table, parts []int, first, last int) Powers { return t.mean(parts, first, last) }
