package oracle

// Score is how well boundaries that were heard match those that are right: precision, recall, and F,
// their harmonic mean, each 0..1.
type Score struct{ P, R, F float64 }

// ScoreOf scores boundaries in rising order by their hit rate (MIREX structural segmentation, 2009): each
// right one is matched with at most one that was heard, at most a window away, as many as can be. What
// there is none of scores 0.
func ScoreOf(right, heard []float64, window float64) Score {
	hits, i := 0, 0
	for _, h := range heard { // on a line the first that fits is never a wrong choice
		for i < len(right) && right[i] < h-window {
			i++
		}
		if i < len(right) && right[i] <= h+window {
			hits, i = hits+1, i+1
		}
	}
	if hits == 0 {
		return Score{}
	}
	n := float64(hits)
	return Score{n / float64(len(heard)), n / float64(len(right)), 2 * n / float64(len(heard)+len(right))}
}

// Mean returns the mean of scores, figure by figure.
func Mean(scores []Score) Score {
	var m Score
	for _, s := range scores {
		m.P, m.R, m.F = m.P+s.P, m.R+s.R, m.F+s.F
	}
	n := float64(len(scores))
	return Score{m.P / n, m.R / n, m.F / n}
}
