package song

import "strings"

// Nearest returns the word among the ones given that the written word was most likely meant to be:
// the one fewest typing slips away (a letter missing, added, wrong, or two swapped), the first of
// several. It returns "" if none is close: one slip is allowed in words of two to four letters, two
// up to eight letters, three beyond. Upper and lower case count as the same.
func Nearest(word string, among []string) string {
	written := []rune(strings.ToLower(word))
	best, least := "", slipsAllowed(len(written))+1
	for _, candidate := range among {
		if n := slips(written, []rune(strings.ToLower(candidate)), least); n < least {
			best, least = candidate, n
		}
	}
	return best
}

func slipsAllowed(letters int) int {
	switch {
	case letters < 2:
		return 0
	case letters <= 4:
		return 1
	case letters <= 8:
		return 2
	}
	return 3
}

// slips counts the slips between two words (optimal string alignment distance); words whose
// lengths alone differ by atLeast or more are not compared.
func slips(a, b []rune, atLeast int) int {
	if len(a)-len(b) >= atLeast || len(b)-len(a) >= atLeast {
		return atLeast
	}
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range a {
		row[0] = i + 1
		for j := range b {
			swap := last[j]
			if a[i] != b[j] {
				swap++
			}
			row[j+1] = min(swap, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
