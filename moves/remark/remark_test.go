package remark_test

import (
	"testing"

	"loopdraft/moves/remark"
)

func TestARemarkIsKeptOnce(t *testing.T) {
	a := remark.Remark{Kind: remark.NoGap, Bar: 9}
	b := remark.Remark{Kind: remark.NoGap, Bar: 17}
	if got := remark.Add(nil, a, b, a); len(got) != 2 || !got[0].Equal(a) || !got[1].Equal(b) {
		t.Errorf("got %v, want %v and %v", got, a, b)
	}
}

// A long list is looked through otherwise than a short one, to the same end.
func TestARemarkOfManyIsKeptOnce(t *testing.T) {
	var all []remark.Remark
	for bar := range 100 {
		for _, part := range []string{"kick", "hat"} {
			all = append(all, remark.Remark{Kind: remark.NothingCopied, Parts: []string{part}, Bar: bar / 2})
		}
	}
	got := remark.Add(remark.Add(nil, all[:90]...), all...)
	if len(got) != 100 {
		t.Fatalf("got %d remarks, want 100: each of 50 bars with each of two parts", len(got))
	}
	for i, r := range got {
		if want := all[i/2*4+i%2]; !r.Equal(want) {
			t.Errorf("remark %d is %v, want %v", i, r, want)
		}
	}
}

func TestOnlyWhatIsLikelyNotMeantWarns(t *testing.T) {
	if !remark.NothingPlays.Warns() || !remark.OwnWarning.Warns() || remark.NoPart.Warns() || remark.NoGap.Warns() || remark.Own.Warns() {
		t.Error("remarks that warn and remarks that tell are not told apart")
	}
}
