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

func TestOnlyWhatIsLikelyNotMeantWarns(t *testing.T) {
	if !remark.NothingPlays.Warns() || !remark.OwnWarning.Warns() || remark.NoPart.Warns() || remark.NoGap.Warns() || remark.Own.Warns() {
		t.Error("remarks that warn and remarks that tell are not told apart")
	}
}
