package moves

import (
	"errors"
	"slices"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// pieces resolves an over option and cuts out what an except option names; spans is how many ranges the two came to.
func (e *Env) pieces(over, except where.Spans, in song.Song) (out []song.Piece, spans int, told []remark.Remark, err error) {
	ranges, told, err := over.Resolve(e.SpanContext(in))
	if err != nil {
		err = option.Named("over", err)
	}
	if except.IsZero() {
		return song.Without(ranges, nil), len(ranges), told, err
	}
	cut, more, err2 := except.Resolve(e.SpanContext(in))
	if err2 != nil {
		return nil, 0, nil, errors.Join(err, option.Named("except", err2))
	}
	told = remark.Add(told, more...)
	out = song.Without(ranges, cut)
	shorter := slices.ContainsFunc(out, func(p song.Piece) bool { return p.Range != ranges[p.Of] })
	switch {
	case len(ranges) > 0 && len(out) == 0:
		told = remark.Add(told, remark.Remark{Kind: remark.AllExcepted, Found: except.String()})
	case shorter:
		told = remark.Add(told, remark.Remark{Kind: remark.SpansCut, Found: except.String()})
	}
	return out, len(ranges) + len(cut), told, err
}

// number returns the number by which chance is drawn for a range: the index it has where nothing is cut out, so
// that a cut changes nothing elsewhere.
func (e *Env) number(i int) uint64 {
	if i < len(e.uncut) {
		i = e.uncut[i]
	}
	return uint64(i)
}
